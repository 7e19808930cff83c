//! What goes between Rust and Kotlin, as JSON. `examples.json` beside this folder has one of each; the tests here and
//! those of the Kotlin read it.

use std::path::Path;

use conduct::{FeltPulse, PhoneNews, Wish};
use serde_json::{Value, json};

use crate::Notice;

/// One command of the Kotlin plugin with its arguments.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Command {
    pub(crate) name: &'static str,
    pub(crate) args: Value,
}

/// The command that a wish is.
pub(crate) fn command(wish: &Wish, notice: impl Fn(&str) -> Notice) -> Command {
    let (name, args) = match wish {
        Wish::Hold { lang, volume_pct } => {
            let Notice {
                channel,
                title,
                text,
            } = notice(lang);
            let args = json!({
                "channel": channel, "title": title, "text": text, "volumePct": volume_pct,
            });
            ("hold", args)
        }
        Wish::LetGo => ("letGo", json!({})),
        Wish::Screen(on) => ("screen", json!({ "on": on })),
        Wish::Feel(pulses) => ("feel", json!({ "pulses": felt(pulses) })),
        Wish::Brightness(pct) => ("brightness", json!({ "pct": pct })),
        Wish::Motion(on) => ("motion", json!({ "on": on })),
        Wish::Share(files) => {
            let paths: Vec<String> = files.iter().map(|path| text(path)).collect();
            ("share", json!({ "paths": paths }))
        }
    };
    Command { name, args }
}

fn felt(pulses: &[FeltPulse]) -> Vec<Value> {
    pulses
        .iter()
        .map(|pulse| json!({ "inMs": pulse.in_ms, "lenMs": pulse.len_ms }))
        .collect()
}

/// A path of ours on a phone is always text.
fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// What Kotlin says; `None` if it cannot be read. Then nothing is known, and nothing breaks.
pub(crate) fn news(json: &str) -> Option<PhoneNews> {
    serde_json::from_str(json).ok()
}

#[cfg(test)]
mod tests;
