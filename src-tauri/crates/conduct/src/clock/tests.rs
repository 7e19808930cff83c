use cycle::Ms;
use record::Base;

use super::{Clock, RunClock, WallWatch, boot_id, time_zone, uptime_ms, wall_now};
use crate::fakes::FakeClock;

#[cfg(target_os = "linux")]
#[test]
fn uptime_counts_as_the_kernel_does() {
    // proc(5): the first number of /proc/uptime is the system's uptime in seconds, suspend included.
    let text = std::fs::read_to_string("/proc/uptime").unwrap();
    let kernel = text.split('.').next().unwrap().parse::<u64>().unwrap() * 1000;
    let ours = uptime_ms();
    assert!(
        (kernel..kernel + 5000).contains(&ours),
        "{ours} ms, /proc/uptime says {kernel}"
    );
    let id = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").unwrap();
    assert_eq!(boot_id(), id.trim());
}

#[cfg(unix)]
#[test]
fn the_wall_clock_is_that_of_the_system() {
    let date = |format: &str| {
        let out = std::process::Command::new("date")
            .arg(format)
            .output()
            .unwrap();
        String::from_utf8(out.stdout).unwrap().trim().to_owned()
    };
    let seconds: i64 = date("+%s").parse().unwrap();
    let wall = wall_now();
    let apart = wall.unix_ms() - seconds * 1000;
    assert!(
        (0..5000).contains(&apart),
        "{wall} is {apart} ms from date's"
    );
    assert!(wall.to_string().ends_with(&date("+%:z")), "{wall}");
    assert!(!time_zone().is_empty());
}

#[test]
fn run_time_begins_at_the_finger() {
    let before = uptime_ms();
    let clock = RunClock::begin(Ms(85));
    let began = u64::try_from(clock.zero_ms()).unwrap();
    assert!((before..before + 5000).contains(&(began + 85)));
    let stamp = clock.stamp(Ms(1234), 3);
    assert_eq!((stamp.mono_ms, stamp.proc), (began + 1234, 3));
    assert_eq!(stamp.boot, boot_id());
    let now = clock.now();
    assert!(now >= Ms(85) && clock.now_ns() / 1_000_000 >= now.0);
}

#[test]
fn a_run_begins_exactly_where_the_finger_went_down_and_never_later_than_now() {
    let down = uptime_ms() - 1;
    assert_eq!(
        RunClock::begun(Ms(down)).zero_ms(),
        i64::try_from(down).unwrap()
    );
    let later = RunClock::begun(Ms(down + 60_000)).now();
    assert!(later < Ms(5000), "{later:?}");
}

#[test]
fn a_run_goes_on_by_uptime_in_the_same_boot() {
    let clock = RunClock::begin(Ms(60_000));
    let base = Base {
        boot: boot_id(),
        mono_ms: u64::try_from(clock.zero_ms()).unwrap() + 1000,
        run: Ms(1000),
    };
    let again = RunClock::resume(&base, &clock.stamp(Ms(2000), 0), Ms(2000));
    assert_eq!(again.zero_ms(), clock.zero_ms());
}

#[test]
fn a_run_goes_on_by_the_wall_clock_in_another_boot() {
    let clock = RunClock::begin(Ms::ZERO);
    let mut last = clock.stamp(Ms(7000), 0);
    last.boot = "another".to_owned();
    last.wall = record::Wall::new(last.wall.unix_ms() - 30_000, 0).unwrap();
    let base = Base {
        boot: "another".to_owned(),
        mono_ms: 5,
        run: Ms::ZERO,
    };
    let now = RunClock::resume(&base, &last, Ms(7000)).now();
    assert!((37_000..42_000).contains(&now.0), "{now}");
}

#[test]
fn a_run_may_be_older_than_the_boot() {
    let clock = FakeClock::new();
    let last = clock.stamp(Ms(90_000), 0);
    clock.set(Ms(90_000));
    let base = Base {
        boot: "boot-0".to_owned(),
        mono_ms: 3_600_000,
        run: Ms::ZERO,
    };
    let later = clock
        .reboot("boot-1", Ms(20_000))
        .resume(&base, &last, Ms(90_000));
    // The fake wall clock stood at the run's beginning when the last line was stamped.
    assert_eq!(later.now(), Ms(90_000 + 110_000));
    assert!(later.zero_ms() < 0);
    later.advance(Ms(5));
    assert_eq!((later.now(), later.mono_ms()), (Ms(200_005), 5));
    assert_eq!(later.now_ns(), 200_005_000_000);
    assert_eq!(later.stamp(Ms(200_005), 1).mono_ms, 5);
}

#[test]
fn only_a_set_wall_clock_is_a_jump() {
    let clock = FakeClock::new();
    let mut watch = WallWatch::default();
    assert_eq!(watch.look(&clock), None);
    clock.advance(Ms(86_400_000));
    assert_eq!(watch.look(&clock), None);
    let set = |by: i64| {
        let wall = clock.wall();
        clock.set_wall(record::Wall::new(wall.unix_ms() + by, wall.offset_min()).unwrap());
    };
    set(500);
    assert_eq!(watch.look(&clock), None);
    set(1);
    assert_eq!(watch.look(&clock), Some(501));
    assert_eq!(watch.look(&clock), None);
    set(-3_600_000);
    assert_eq!(watch.look(&clock), Some(-3_600_000));
}
