use super::*;

#[test]
fn a_headset_among_the_outputs_leads() {
    assert_eq!(route(&[]), None);
    assert_eq!(route(&[Route::Speaker]), Some(Route::Speaker));
    assert_eq!(route(&[Route::Wireless]), Some(Route::Wireless));
    assert_eq!(
        route(&[Route::Speaker, Route::Wired]),
        Some(Route::Wired),
        "both sound, but the crew is to know"
    );
}

#[test]
fn shares_become_per_cent_and_what_is_unknown_is_not_told() {
    assert_eq!(pct(0.0), Some(0));
    assert_eq!(pct(0.144), Some(14));
    assert_eq!(pct(0.146), Some(15));
    assert_eq!(pct(1.0), Some(100));
    for unknown in [-1.0, 1.5, f32::NAN, f32::INFINITY] {
        assert_eq!(pct(unknown), None, "{unknown}");
    }
    assert!((share(50) - 0.5).abs() < 1e-12);
    assert!((share(200) - 1.0).abs() < 1e-12, "never over the whole");
}

#[test]
fn a_full_battery_on_its_cable_is_being_charged() {
    let told: Vec<bool> = (-1..5).map(is_charging).collect();
    assert_eq!(told, [false, false, false, true, true, false]);
}

#[test]
fn an_interruption_that_was_slept_through_is_over() {
    assert_eq!(
        Interruption::of(Some(1), Some(0)),
        Some(Interruption::Began)
    );
    assert_eq!(Interruption::of(Some(1), None), Some(Interruption::Began));
    assert_eq!(
        Interruption::of(Some(1), Some(1)),
        Some(Interruption::Missed)
    );
    assert_eq!(Interruption::of(Some(0), None), Some(Interruption::Ended));
    assert_eq!(Interruption::of(None, Some(1)), None);
    assert_eq!(Interruption::of(Some(7), None), None);
}

#[test]
fn the_clock_of_the_system_gives_milliseconds_and_never_less_than_none() {
    assert_eq!(ms_between(100.0, 100.25), 250);
    assert_eq!(ms_between(100.25, 100.0), 0);
    assert_eq!(ms_between(0.0, f64::NAN), 0);
}

#[test]
fn a_phone_on_its_back_is_pushed_out_of_its_screen() {
    let still = motion(0.0, 0.0, -1.0, 3);
    assert_eq!(
        still,
        Motion {
            ago_ms: 3,
            x: 0,
            y: 0,
            z: 9807
        }
    );
    // Upright the system reads -1 along the screen: its top is pushed away from the ground.
    assert_eq!(motion(0.0, -1.0, 0.0, 0).y, 9807);
    assert_eq!(motion(0.5, 0.0, 0.0, 0).x, -4903);
}

#[test]
fn the_four_ways_up_are_the_system_s_bits() {
    for raw in 1..=4 {
        let up = Upright::of(raw).expect("one of the four");
        assert_eq!(up.mask(), 1 << raw, "{up:?}");
    }
    assert_eq!(Upright::of(0), None);
    assert_eq!(Upright::of(5), None);
}
