//! `carrybeat voices`: every fault of a voice pack's folder at once.

use std::path::Path;

use audio::check_voices;
use words::Words;

/// How many clips of which language, or every fault. Without a folder, of the built-in pack.
pub(crate) fn check(folder: Option<&str>) -> Result<String, Vec<String>> {
    let place = folder.unwrap_or("the built-in pack");
    let check = check_voices(folder.map(Path::new));
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
