//! Values of marks: what is refused, and the ends of each range, which are not.

use serde_json::{Value, json};

use super::{parse, with};

#[test]
#[expect(clippy::too_many_lines, reason = "one table, one row a fault")]
fn a_wrong_mark_is_named_with_its_value_and_what_is_allowed() {
    let cases: &[(&str, Value, &[&str])] = &[
        (
            "tea",
            json!({}),
            &["mark 2", "ev = \"tea\"", "compr_stop", "amend"],
        ),
        (
            "cue",
            json!({}),
            &["mark 2", "ev = \"cue\"", "the app writes cue itself"],
        ),
        (
            "header",
            json!({}),
            &["mark 2", "the app writes header itself"],
        ),
        (
            "start",
            json!({"way": "hand"}),
            &["mark 2", "start only as the first mark"],
        ),
        (
            "compr_stop",
            json!({}),
            &["mark 2", "d.reason = null, allowed: a value"],
        ),
        (
            "compr_stop",
            json!({"reason": "tea"}),
            &["mark 2", "\"tea\"", "rhythm_check"],
        ),
        (
            "compr_stop",
            json!({"reason": "shock", "mood": 1}),
            &["mark 2", "d.mood = 1", "reason"],
        ),
        (
            "compr_stop",
            json!({"reason": "shock", "mood": false}),
            &["d.mood = false"],
        ),
        (
            "compr_start",
            json!({"by": "manual", "basis": null}),
            &["d.basis = null", "leave the field out"],
        ),
        ("flag", json!([]), &["mark 2", "d = []", "an object"]),
        ("vent", json!({"n": 0}), &["mark 2", "d.n = 0", "1 to 60"]),
        ("vent", json!({"n": 2.5}), &["mark 2", "2.5"]),
        ("vent", json!({"n": 300}), &["mark 2", "300"]),
        (
            "patient",
            json!({"class": "adult", "rescuers": 3}),
            &["d.rescuers = 3", "1 to 2"],
        ),
        (
            "airway",
            json!({"act": "in", "attempt": 11}),
            &["d.attempt = 11", "1 to 10"],
        ),
        (
            "shock",
            json!({"timed": true, "by": "us", "energy_j": 9001}),
            &["9001", "1 to 9000"],
        ),
        (
            "breath_mode",
            json!({"mode": "continuous", "ratio": "30:2"}),
            &["d.ratio = 30:2", "no ratio"],
        ),
        (
            "breath_mode",
            json!({"mode": "ratio", "every_ms": 6000}),
            &["d.every_ms = 6000", "no every_ms"],
        ),
        (
            "breath_mode",
            json!({"mode": "continuous", "every_ms": 10}),
            &["10", "1000 to 60000"],
        ),
        (
            "etco2",
            json!({"value": "35.25", "unit": "mmHg"}),
            &["d.value = \"35.25\"", "1 after"],
        ),
        (
            "etco2",
            json!({"value": "761", "unit": "mmHg"}),
            &["761", "0 to 760"],
        ),
        (
            "etco2",
            json!({"value": "35", "unit": "bar"}),
            &["d.unit = \"bar\"", "mmHg, kPa, pct"],
        ),
        (
            "fit_refused",
            json!({"reason": "late"}),
            &["d.reason = \"late\"", "too_small"],
        ),
        ("fit", json!({"step": "Not A Word"}), &["d.step", "a-z"]),
        (
            "drug",
            json!({"drug": "adrenaline", "dose": "1,0"}),
            &["d.dose = \"1,0\"", "decimal"],
        ),
        (
            "drug",
            json!({"drug": "adrenaline", "route": "po"}),
            &["d.route = \"po\"", "iv, io"],
        ),
        (
            "access",
            json!({"kind": "im"}),
            &["d.kind = \"im\"", "iv, io"],
        ),
        ("vent", json!({"n": 61}), &["d.n = 61"]),
        (
            "heart_rate",
            json!({"band": "above_60"}),
            &["\"above_60\"", "below_60"],
        ),
        (
            "prior_care",
            json!({"shocks": 31}),
            &["d.shocks = 31", "0 to 30"],
        ),
        (
            "prior_care",
            json!({"began_min": 601}),
            &["d.began_min = 601", "0 to 600"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "adrenaline", "n": 1}, {"drug": "b", "n": 31}]}),
            &["d.doses[2].n = 31", "0 to 30"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "adrenaline", "n": 1, "last_min": 601}]}),
            &["d.doses[1].last_min = 601", "0 to 600"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "adrenaline", "n": 0, "last_min": 5}]}),
            &["d.doses[1].last_min = 5", "none was given"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "a", "n": 1}, {"drug": "b", "n": 1}, {"drug": "a", "n": 2}]}),
            &["d.doses = a twice", "each drug once"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "Jo Doe", "n": 1}]}),
            &["d.doses[1].drug = \"Jo Doe\"", "a-z"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "a", "n": 1, "last_min": null}]}),
            &["d.doses[1].last_min = null", "leave the field out"],
        ),
        (
            "prior_care",
            json!({"doses": [{"drug": "a", "n": 1, "by": "us"}]}),
            &["mark 2", "by"],
        ),
        (
            "prior_care",
            json!({"doses": []}),
            &["d.doses = []", "at least one"],
        ),
        (
            "prior_care",
            json!({"doses": (0..13).map(|n| json!({"drug": format!("d{n}"), "n": 1})).collect::<Vec<_>>()}),
            &["d.doses = 13 drugs", "1 to 12"],
        ),
        ("prior_care", json!({"cpr": "doctor"}), &["doctor", "hcp"]),
        (
            "overlay",
            json!({"kind": "drowning", "on": true, "temp_band": "below_30"}),
            &["d.temp_band = below_30", "only in the cold"],
        ),
        ("overlay", json!({"kind": "heat", "on": true}), &["heat"]),
        ("leads", json!({"on": 1}), &["mark 2"]),
        ("ack", json!({"task": "tea"}), &["tea", "still_off"]),
        (
            "decision",
            json!({"what": "stop", "answer": "Dr Doe says yes"}),
            &["d.answer", "1 to 40"],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "8:31:05"}),
            &["d.shown = \"8:31:05\"", "HH:MM:SS"],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "24:00:00"}),
            &["24:00:00"],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "08:60:00"}),
            &["08:60:00"],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "08:31:60"}),
            &["08:31:60"],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "08:31"}),
            &["\"08:31\""],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "+8:31:05"}),
            &["+8:31:05"],
        ),
        (
            "clock_mark",
            json!({"ref": "monitor", "shown": "08:31:05", "precision_s": 3601}),
            &["d.precision_s = 3601", "0 to 3600"],
        ),
        ("note", json!({"code": ""}), &["d.code = \"\""]),
        (
            "note",
            json!({"code": "a".repeat(41)}),
            &["d.code", "1 to 40"],
        ),
        ("note", json!({"code": "caf\u{e9}"}), &["d.code"]),
        (
            "end",
            json!({"outcome": "stopped", "reason": "He was 80."}),
            &["d.reason", "a-z"],
        ),
        (
            "airway",
            json!({"act": "try_end", "attempt": 0}),
            &["d.attempt = 0", "1 to 10"],
        ),
        (
            "airway",
            json!({"act": "try_end", "technique": "By Jo"}),
            &["d.technique", "a-z"],
        ),
        (
            "access",
            json!({"kind": "io", "attempt": 11}),
            &["d.attempt = 11", "1 to 10"],
        ),
        (
            "access",
            json!({"kind": "io", "site": "left tibia"}),
            &["d.site = \"left tibia\"", "a-z"],
        ),
        (
            "fit",
            json!({"step": "under", "reason": "Long way"}),
            &["d.reason = \"Long way\"", "a-z"],
        ),
        (
            "shock",
            json!({"timed": true, "by": "us", "energy_j": 0}),
            &["d.energy_j = 0", "1 to 9000"],
        ),
        (
            "shock",
            json!({"timed": true, "by": "us", "mode": "auto"}),
            &["auto", "aed"],
        ),
        (
            "procedure",
            json!({"act": "begin"}),
            &["d.what = null, allowed: a value"],
        ),
        ("awake", json!({}), &["d.on = null, allowed: a value"]),
        ("power", json!({"act": "empty"}), &["empty", "full"]),
        (
            "sound",
            json!({"what": "lost"}),
            &["lost", "voice_off_2_min"],
        ),
    ];
    for (ev, d, says) in cases {
        let error = parse(&with(ev, d)).unwrap_err();
        for part in *says {
            assert!(error.contains(part), "{ev} {d}: {error:?} lacks {part:?}");
        }
    }
}

#[test]
fn the_ends_of_each_range_are_allowed() {
    let doses = |n: u8, last: u16| json!([{"drug": "adrenaline", "n": n, "last_min": last}]);
    let cases: &[(&str, Value)] = &[
        ("prior_care", json!({})),
        (
            "prior_care",
            json!({"shocks": 0, "began_min": 0, "doses": doses(1, 0)}),
        ),
        (
            "prior_care",
            json!({"shocks": 30, "began_min": 600, "doses": doses(30, 600)}),
        ),
        ("prior_care", json!({"doses": [{"drug": "a", "n": 0}]})),
        (
            "overlay",
            json!({"kind": "cold", "on": true, "temp_band": "above_35"}),
        ),
        ("overlay", json!({"kind": "cold", "on": true})),
        ("overlay", json!({"kind": "trauma", "on": false})),
        (
            "clock_mark",
            json!({"ref": "wall", "shown": "00:00:00", "precision_s": 0}),
        ),
        (
            "clock_mark",
            json!({"ref": "other", "shown": "23:59:59", "precision_s": 3600}),
        ),
        ("note", json!({"code": "a"})),
        ("note", json!({"code": "0_9".repeat(13) + "z"})),
        ("airway", json!({"act": "try_end", "attempt": 1})),
        ("airway", json!({"act": "try_end", "attempt": 10})),
        ("access", json!({"kind": "iv", "attempt": 1})),
        ("access", json!({"kind": "iv", "attempt": 10})),
        (
            "shock",
            json!({"timed": true, "by": "us", "energy_j": 1, "stacked": false}),
        ),
        (
            "shock",
            json!({"timed": true, "by": "others", "energy_j": 9000}),
        ),
        ("vent", json!({"n": 1})),
        ("vent", json!({"n": 60})),
        (
            "drug",
            json!({"drug": "a", "prior": false, "by_other_unit": false}),
        ),
    ];
    for (ev, d) in cases {
        assert!(parse(&with(ev, d)).is_ok(), "{ev} {d}");
    }
}

#[test]
fn a_touch_is_at_most_ten_seconds_old_but_a_true_state_five_minutes() {
    let old = |ev: &str, d: Value, age_ms: u64| {
        parse(&json!({"name": "a test", "marks": [
            {"at_s": 0, "ev": "arrest"},
            {"at_s": 400, "age_ms": age_ms, "ev": ev, "d": d},
        ]}))
    };
    let state = || json!({"state": "hands_off"});
    assert_eq!(
        old("flag", json!({}), 10_000).unwrap().steps[1].age.0,
        10_000
    );
    let error = old("flag", json!({}), 10_001).unwrap_err();
    assert!(
        error.contains("allowed: whole milliseconds, 0 to 10000"),
        "{error}"
    );
    assert_eq!(
        old("state_set", state(), 300_000).unwrap().steps[1].age.0,
        300_000
    );
    let error = old("state_set", state(), 300_001).unwrap_err();
    assert!(
        error.contains("age_ms = 300001, allowed: whole milliseconds, 0 to 300000"),
        "{error}"
    );
    let early = parse(&json!({"name": "a test", "marks": [
        {"at_s": 0, "ev": "arrest"},
        {"at_s": 40, "age_ms": 40_001, "ev": "state_set", "d": state()},
    ]}));
    assert!(early.unwrap_err().contains("0 to 40000"));
}
