//! `carrybeat voices`: every fault of a voice pack's folder at once.

use std::path::Path;

use audio::{Pack, VoiceCheck, check_built_in, check_voices};
use words::Words;

use crate::tongues;

/// How many clips of which language, or every fault. Without a folder, of the built-in packs, and of the
/// words of every language.
pub(crate) fn check(folder: Option<&str>) -> Result<String, Vec<String>> {
    if let Some(folder) = folder {
        return look(folder, check_voices(Some(Path::new(folder))));
    }
    let (mut said, mut faults) = (Vec::new(), Vec::new());
    let packs = Pack::voices().map(|lang| look("the built-in pack", check_built_in(lang)));
    for one in packs.chain([tongues::check(None)]) {
        match one {
            Ok(line) => said.push(line),
            Err(more) => faults.extend(more),
        }
    }
    if faults.is_empty() {
        Ok(said.join("\n"))
    } else {
        Err(faults)
    }
}

fn look(place: &str, check: VoiceCheck) -> Result<String, Vec<String>> {
    let mut faults: Vec<String> = check.faults.iter().map(ToString::to_string).collect();
    // A pack of a language without a screen has nothing that it could differ from.
    if let Ok(words) = Words::load(&check.pack) {
        for prompt in cycle::Prompt::ALL {
            let id = prompt.word();
            let shown = words.prompt(*prompt);
            for (_, spoken) in check.texts.iter().filter(|(i, _)| i == id) {
                if *spoken != shown {
                    faults.push(format!(
                        "{id}: text {spoken:?}, the screen shows {shown:?}; speak and write the \
                         same words"
                    ));
                }
            }
        }
    } else if !check.pack.is_empty() {
        let known: Vec<_> = Words::languages().collect();
        faults.push(format!(
            "{place}: pack {:?}, allowed: {}; name the language of the screen",
            check.pack,
            known.join(", ")
        ));
    }
    if faults.is_empty() {
        let (clips, pack) = (check.clips, check.pack);
        Ok(format!("{place}: {clips} clips of {pack}, no fault"))
    } else {
        Err(faults)
    }
}
