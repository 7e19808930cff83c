//! The examples that Kotlin's tests read as well.

use conduct::Motion;
use cycle::{Around, Route};

use super::*;

fn examples(of: &str) -> Vec<Value> {
    let all: Value = serde_json::from_str(include_str!("../../examples.json")).expect("JSON");
    all.get(of)
        .and_then(Value::as_array)
        .expect("a list")
        .clone()
}

/// The news of the examples, in their order.
fn told() -> Vec<PhoneNews> {
    let mut told: Vec<PhoneNews> = [
        Around::Call { on: true },
        Around::Taken { on: false },
        Around::Route { to: Route::Speaker },
        Around::Route {
            to: Route::Earpiece,
        },
        Around::Route { to: Route::Wired },
        Around::Route {
            to: Route::Wireless,
        },
        Around::Route { to: Route::Other },
        Around::Volume { pct: 40 },
        Around::Silent { on: true },
        Around::Saving { on: true },
        Around::Held { on: false },
        Around::Lit { on: false },
        Around::Locked { on: true },
        Around::Front { on: false },
        Around::Page { on: false },
    ]
    .map(PhoneNews::Around)
    .into();
    told.extend([
        PhoneNews::Battery {
            pct: 15,
            charging: false,
        },
        PhoneNews::Light { lux: 300 },
        PhoneNews::Begin {
            ago_ms: 120,
            by_key: false,
        },
        PhoneNews::Begin {
            ago_ms: 1000,
            by_key: true,
        },
        PhoneNews::Devices,
        PhoneNews::Bare,
        PhoneNews::Motion(Motion {
            ago_ms: 5,
            x: -120,
            y: 40,
            z: 9807,
        }),
    ]);
    told
}

/// The wishes of the examples, in their order.
fn wished() -> Vec<Wish> {
    let pulse = |in_ms, len_ms| FeltPulse { in_ms, len_ms };
    vec![
        Wish::Hold {
            lang: "en-US".into(),
            volume_pct: Some(100),
        },
        Wish::Hold {
            lang: "es-419".into(),
            volume_pct: None,
        },
        Wish::LetGo,
        Wish::Screen(true),
        Wish::Screen(false),
        Wish::Feel(vec![pulse(0, 120), pulse(545, 60)]),
        Wish::Feel(vec![]),
        Wish::Brightness(Some(30)),
        Wish::Brightness(None),
        Wish::Motion(true),
        Wish::Share(vec!["/data/user/0/org.carrybeat.app/run.pdf".into()]),
        Wish::Share(vec![
            "/data/user/0/org.carrybeat.app/tables/marks.csv".into(),
            "/data/user/0/org.carrybeat.app/tables/pauses.csv".into(),
        ]),
    ]
}

fn notice(lang: &str) -> Notice {
    let [channel, title, text] = if lang == "en-US" {
        ["Runs", "A run goes on", "Tap to see it"]
    } else {
        ["Casos", "El caso sigue", "Toque para verlo"]
    };
    Notice {
        channel: channel.into(),
        title: title.into(),
        text: text.into(),
    }
}

#[test]
fn each_news_of_the_examples_is_read() {
    let read: Vec<_> = examples("news")
        .iter()
        .map(|example| news(&example.to_string()))
        .collect();
    assert_eq!(read, told().into_iter().map(Some).collect::<Vec<_>>());
}

#[test]
fn each_wish_is_the_command_of_the_examples() {
    let asked: Vec<Value> = wished()
        .iter()
        .map(|wish| {
            let Command { name, args } = command(wish, notice);
            json!({ "command": name, "args": args })
        })
        .collect();
    assert_eq!(asked, examples("wishes"));
}

#[test]
fn what_cannot_be_read_is_told_as_nothing() {
    for odd in [
        "",
        "null",
        "{}",
        "\"devises\"",
        r#"{"around": {"what": "call"}}"#,
        r#"{"around": {"what": "rain", "on": true}}"#,
        r#"{"battery": {"pct": 300, "charging": false}}"#,
        r#"{"light": {"lux": -1}}"#,
    ] {
        assert_eq!(news(odd), None, "{odd}");
    }
}
