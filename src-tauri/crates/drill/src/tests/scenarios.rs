use cycle::{Mark, Ms};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::{parsed, s, small};
use crate::{Begin, CueKind, Heard, Item, LARGEST, Outcome, Scenario, What, dice::draw, walk};

#[test]
fn the_built_in_scenarios_are_read_and_say_all_in_every_tongue_with_a_source_for_each_bound() {
    let mut kinds = Vec::new();
    for (id, text) in Scenario::BUILT_IN {
        let scenario = Scenario::parse(text.as_bytes()).unwrap();
        assert_eq!(scenario.id, *id);
        assert!(
            scenario.end <= Ms::secs(600),
            "a drill of ten minutes at most: {id}"
        );
        assert!(scenario.expect.iter().any(|e| e.must), "{id}");
        for (n, cue) in scenario.cues.iter().enumerate() {
            kinds.push(cue.kind);
            kinds.extend(cue.choices.iter().map(|choice| choice.kind));
            let (_, say) = scenario.cue(n, 0).unwrap();
            assert_ne!(say.of("es-ES"), say.of("en-GB"), "{id} {}", cue.id);
            assert!(!say.of("es-419").is_empty());
        }
        for expected in &scenario.expect {
            assert_ne!(
                expected.name.of("es-419"),
                expected.name.of("en-US"),
                "{id} {}",
                expected.id
            );
        }
        let aims = scenario.measures.iter().map(|m| &m.source);
        let sources: Vec<_> = aims
            .chain(scenario.yardsticks.iter().map(|y| &y.source))
            .collect();
        for source in &sources {
            let (english, spanish) = (source.of("en-US"), source.of("es-ES"));
            assert!(english.len() > 10 && english != spanish, "{id}: {english}");
            // One that points at another says nothing where it stands alone.
            assert!(
                !english.contains("the same") && !spanish.contains("lo mismo"),
                "{id}: {english}"
            );
            let is_told = [" 20", "own", "no source", "S0735"]
                .iter()
                .any(|year| english.contains(year));
            assert!(
                is_told,
                "neither a year nor that it is own: {id}: {english}"
            );
        }
    }
    for kind in CueKind::ALL {
        assert!(
            kinds.contains(kind),
            "no built-in drill has {}",
            kind.word()
        );
    }
    assert_eq!(Scenario::built_in("device_on").unwrap().begin, Begin::Hand);
    assert!(Scenario::built_in("another").is_none());
}

/// A mark of the time before a cue is not taken for an answer to it, nor one after it for the look before it.
#[test]
fn a_first_look_at_the_cup_counts_only_before_anything_was_told() {
    let look = |at| {
        let cup: Mark = serde_json::from_value(json!({"ev": "cup", "d": {"act": "good"}})).unwrap();
        (s(at), cup)
    };
    for (id, told, after) in [("slip_and_off", 60, 70), ("out_to_vehicle", 50, 55)] {
        let scenario = Scenario::built_in(id).unwrap();
        assert!(scenario.cues.iter().all(|cue| cue.after >= s(told)), "{id}");
        let found = |at| {
            let marks = walk(&scenario, 0, &[look(at)], &Heard::default()).marks;
            marks[0].unwrap().at
        };
        assert_eq!(scenario.expect[0].id, "cup_0");
        assert_eq!(found(told - 1), Some(s(told - 1)), "{id}");
        assert_eq!((found(told), found(after)), (None, None), "{id}");
    }
    let scenario = Scenario::built_in("slip_and_off").unwrap();
    let marks = walk(&scenario, 0, &[look(70)], &Heard::default()).marks;
    let cup_1 = scenario
        .expect
        .iter()
        .position(|e| e.id == "cup_1")
        .unwrap();
    assert_eq!(marks[cup_1].unwrap().took(), Some(s(10)));
}

/// Start by Hand marks arrest and hands on at one touch, the device's start that it runs: a mark of a start is there
/// whatever the crew did, and none of it may earn a point.
#[test]
fn no_drill_gives_points_for_the_start_key() {
    for (id, _) in Scenario::BUILT_IN {
        let scenario = Scenario::built_in(id).unwrap();
        let key = match scenario.begin {
            Begin::Hand => cycle::Act::StartByHand,
            Begin::Device => cycle::Act::DeviceAlreadyOn,
        };
        let marks: Vec<(Ms, Mark)> = key
            .marks()
            .into_iter()
            .map(|mark| (Ms::ZERO, mark))
            .collect();
        assert!(!marks.is_empty());
        let found = walk(&scenario, 0, &marks, &Heard::default());
        assert!(
            found.marks.iter().flatten().all(|met| met.at.is_none()),
            "{id}"
        );
    }
}

/// Nobody can be late with what the phone has no key for.
#[test]
fn what_a_built_in_drill_expects_can_be_marked_with_a_key_of_the_phone() {
    let keys: Vec<Mark> = cycle::Act::ALL.iter().flat_map(|act| act.marks()).collect();
    for (id, _) in Scenario::BUILT_IN {
        for expected in Scenario::built_in(id).unwrap().expect {
            let has = keys.iter().any(|mark| expected.wants.is(mark));
            let (first, wants) = (&expected.id, &expected.wants);
            assert!(has, "{id}: no key marks {first}: {wants:?}");
        }
    }
}

#[test]
fn a_dose_before_its_window_is_early() {
    let dose = |at: u32| {
        let drug = json!({"ev": "drug", "d": {"drug": "adrenaline"}});
        (s(at), serde_json::from_value::<Mark>(drug).unwrap())
    };
    let scenario = Scenario::built_in("drugs_and_breaths").unwrap();
    let second = scenario
        .expect
        .iter()
        .position(|e| e.id == "dose_2")
        .unwrap();
    let of = |after: u32| {
        let marks = [dose(30), dose(30 + after)];
        let found = walk(&scenario, 0, &marks, &Heard::default()).marks;
        found[second].unwrap().outcome()
    };
    let [early, in_time, late] = [Outcome::Early, Outcome::InTime, Outcome::Late];
    let found = [100, 179, 180, 300, 301, 401].map(of);
    assert_eq!(
        found,
        [early, early, in_time, in_time, late, Outcome::Forgotten]
    );
}

#[test]
fn a_text_is_had_in_its_language_else_in_its_tongue_else_in_english() {
    let mut value = small();
    value["name"] = json!({"es-419": "A", "es": "B", "en": "C"});
    let name = parsed(&value).name;
    for (lang, text) in [
        ("es-419", "A"),
        ("es-ES", "B"),
        ("en-GB", "C"),
        ("fr-FR", "C"),
    ] {
        assert_eq!(name.of(lang), text);
    }
}

/// Where a value is put, the value, what is named, what is allowed.
const FAULTS: &str = r#"
/format | "drill/2.0.0" | format = "drill/2.0.0" | drill/1.0.0
/id | "A Name" | id = "A Name" | a-z, 0-9 and _
/name | {} | name = nothing | a text by language
/name | {"english": "x", "e": "x"} | name = "e" | a language's tag
/scene | {"en": "two\nlines"} | scene.en | on one line
/end_s | 0 | end_s = 0 | 1 to 1800
/pass_percent | 101 | pass_percent = 101 | 1 to 100
/cues/0/id | "off" | expect[0].id = "off" | stands once
/cues/0/id | "start" | cues[0].id = "start" | not "start"
/cues/0/from | "then" | cues[0].from = "then" | a mark that is expected
/cues/0/after_s | 95 | cues[0].after_s + vary_s = 104 | 0 to 100
/cues/1/latest_s | null | cues[1].latest_s = nothing | may never come
/cues/1/choices/1/id | "one" | cues[1].choices[1].id = "one" | once
/expect/0/from | "then" | expect[0].from = "then" | above this one
/expect/0/ev | "heartbeat" | expect[0].ev = "heartbeat" | compr_stop
/expect/0/d | {"reason": "tea"} | expect[0].d = {"reason":"tea"} | a whole mark
/expect/0/d | {"reason": "rhythm_check", "on": true} | expect[0].d | a whole mark
/expect/1/needs | ["go"] | expect[1].needs[0] = "go" | another mark
/expect/1/earliest_s | 6 | expect[1].earliest_s = 6 | 0 to 5
/expect/1/until_s | 4 | expect[1].until_s = 4 | 5 to 1800
/expect/1/weight | 0 | expect[1].weight = 0 | 1 to 10
"#;

/// What is wrong is named with its place, what was found and what is allowed; everything at once.
#[test]
fn each_fault_of_a_scenario_is_named() {
    let mut seen = 0;
    for case in FAULTS.trim().lines() {
        let parts: Vec<&str> = case.split(" | ").collect();
        let [place, wrong, found, allowed] = parts.as_slice() else {
            panic!("{case}")
        };
        let mut value = small();
        let (parent, key) = place.rsplit_once('/').unwrap();
        let parent = value.pointer_mut(parent).unwrap();
        let wrong = serde_json::from_str(wrong).unwrap();
        match key.parse::<usize>() {
            Ok(n) => parent[n] = wrong,
            Err(_) => parent[key] = wrong,
        }
        let faults = Scenario::parse(value.to_string().as_bytes()).unwrap_err();
        let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let found = format!("scenario: {found}");
        let is_it = |s: &String| s.contains(&found) && s.contains(allowed);
        assert!(said.iter().any(is_it), "{place}: {said:?}");
        seen += 1;
    }
    assert_eq!(seen, 21);
    let mut two = small();
    two["end_s"] = json!(9999);
    two["letter"] = json!("");
    assert_eq!(
        Scenario::parse(two.to_string().as_bytes())
            .unwrap_err()
            .len(),
        2
    );
}

#[test]
fn what_is_of_another_shape_is_refused_by_line_and_column_and_too_much_by_its_size() {
    let fault = |text: &str| {
        Scenario::parse(text.as_bytes())
            .unwrap_err()
            .remove(0)
            .to_string()
    };
    assert!(
        fault("{\n \"format\": 1}").starts_with("scenario: line 2, column "),
        "{}",
        fault("{\n \"format\": 1}")
    );
    let mut value = small();
    value["unknown"] = json!(1);
    assert!(fault(&value.to_string()).contains("unknown field `unknown`"));
    assert!(fault("").contains("line 1, column 0"));
    let large = " ".repeat(LARGEST + 1);
    assert_eq!(
        fault(&large),
        "scenario: file = 65537 bytes, allowed: 65536 bytes at most"
    );
    let mut many = small();
    many["cues"] = (0..41)
        .map(|n| json!({"id": format!("c{n}"), "after_s": n, "say": {"en": "x"}}))
        .collect();
    many["expect"][0]["from"] = json!("c0");
    many["expect"][1]["from"] = json!("c1");
    assert!(fault(&many.to_string()).contains("cues = 41 of them, allowed: 40 at most"));
}

#[test]
fn measures_need_a_bound_within_reach_and_a_choice_that_there_is() {
    let mut value = small();
    value["measures"] = json!([
        {"what": "longest_pause_s", "weight": 1, "source": {"en": "own"}},
        {"what": "fraction", "least": -1, "weight": 1, "source": {"en": "own"}},
        {"what": "fraction", "least": 0.5, "weight": 1, "source": {"en": ""}, "only": {"cue": "then", "choice": "three"}}]);
    let faults = Scenario::parse(value.to_string().as_bytes()).unwrap_err();
    let places: Vec<&str> = faults.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(
        places,
        [
            "measures[0].most",
            "measures[1].least",
            "measures[2].source.en",
            "measures[2].only"
        ]
    );
    assert_eq!(What::ALL.len(), 14);
    assert_eq!(Item::RolesSaid.word(), "roles_said");
}

#[test]
fn seed_nought_varies_nothing_and_others_reach_every_value() {
    assert!((0..100).all(|place| draw(0, place, 9) == 0));
    let mut seen = [0_u32; 10];
    for seed in 1..=1000 {
        seen[usize::try_from(draw(seed, 3, 9)).unwrap()] += 1;
    }
    // 100 each are expected; a fair die strays by 30 in less than one of a thousand.
    assert!(seen.iter().all(|n| (70..=130).contains(n)), "{seen:?}");
    assert_eq!(draw(7, 2, 0), 0);
    assert!((1..50).any(|seed| draw(seed, 1, 9) != draw(seed, 2, 9)));
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_fall(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(Scenario::parse(&bytes).is_err());
    }

    /// A scenario with one value replaced is read or refused, never anything else.
    #[test]
    fn one_value_replaced_never_makes_the_reader_fall(n in 0_usize..60, with in 0_u8..6) {
        let mut value = small();
        let mut places = Vec::new();
        leaves(&value, "", &mut places);
        let place = &places[n % places.len()];
        *value.pointer_mut(place).unwrap() = match with {
            0 => json!(null),
            1 => json!(u32::MAX),
            2 => json!("start"),
            3 => json!(""),
            4 => json!([]),
            _ => json!({"en": "x"}),
        };
        drop(Scenario::parse(value.to_string().as_bytes()));
    }
}

fn leaves(value: &Value, at: &str, into: &mut Vec<String>) {
    let mut each = |key: String, inner: &Value| {
        let place = format!("{at}/{key}");
        into.push(place.clone());
        leaves(inner, &place, into);
    };
    for (key, inner) in value.as_object().into_iter().flatten() {
        each(key.clone(), inner);
    }
    for (n, inner) in value.as_array().into_iter().flatten().enumerate() {
        each(n.to_string(), inner);
    }
}
