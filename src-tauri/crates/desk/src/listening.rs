//! `carrybeat listening`: score sheets of the listening test added up.

use std::{fmt::Write as _, fs, io::Write as _, path::Path};

use ::listening::{
    ENOUGH, ENOUGH_TESTS, GATE_PER_CENT, Group, SURELY_PER_CENT, Share, Sheet, TOTALS_BEGIN,
    Verdict, add_up, read, totals,
};

/// What the sheets add up to, each pack and level by itself; with `--csv OUT` as a table as well.
pub(crate) fn add(words: &[&str]) -> Result<String, Vec<String>> {
    let (files, out) = match words {
        [files @ .., "--csv", out] => (files, Some(*out)),
        files => (files, None),
    };
    if files.is_empty() || files.iter().any(|file| file.starts_with("--")) {
        let found = files.join(" ");
        return Err(vec![format!(
            "listening: {found:?}, allowed: one sheet or more, then --csv and a new file; name the files that were \
             exported"
        )]);
    }
    let mut said = String::new();
    let sheets = sheets(files, &mut said)?;
    let groups = add_up(&sheets);
    if let Some(out) = out {
        let table = totals(&groups);
        let written = fs::File::create_new(Path::new(out))
            .and_then(|mut file| file.write_all(table.as_bytes()));
        written.map_err(|e| {
            vec![format!(
                "{out}: {e}; allowed: a new file in a folder with room"
            )]
        })?;
    }
    for group in &groups {
        // Writing to a String cannot fail.
        tell(&mut said, group).unwrap_or_default();
    }
    Ok(said)
}

/// The sheets of the files; what was left out is said. The app writes its totals beside the sheets.
fn sheets(files: &[&str], said: &mut String) -> Result<Vec<Sheet>, Vec<String>> {
    let (mut sheets, mut faults) = (Vec::<Sheet>::new(), Vec::new());
    for file in files {
        if Path::new(file)
            .extension()
            .is_some_and(|ending| ending == "new")
        {
            faults.push(format!(
                "{file}: left by a write that was cut off, allowed: what the app has named .csv; leave it out"
            ));
            continue;
        }
        match fs::read_to_string(file) {
            Err(e) => faults.push(format!("{file}: {e}; name a score sheet that can be read")),
            Ok(text) if text.starts_with(TOTALS_BEGIN) => {
                // Writing to a String cannot fail.
                writeln!(said, "{file}: totals, no sheet; left out").unwrap_or_default();
            }
            Ok(text) => match read(&text) {
                Err(more) => faults.extend(more.iter().map(|fault| format!("{file}: {fault}"))),
                Ok(more) => {
                    for sheet in more {
                        let id = &sheet.facts.sheet;
                        if sheets.iter().any(|known| known.facts.sheet == *id) {
                            faults.push(format!(
                                "{file}: sheet {id} a second time, allowed: each once; leave one of them out"
                            ));
                        } else {
                            sheets.push(sheet);
                        }
                    }
                }
            },
        }
    }
    if sheets.is_empty() && faults.is_empty() {
        faults.push(format!(
            "{}: no sheet among them, allowed: one or more; name the files that were exported",
            files.join(" ")
        ));
    }
    if faults.is_empty() {
        Ok(sheets)
    } else {
        Err(faults)
    }
}

fn tell(said: &mut String, group: &Group) -> std::fmt::Result {
    let Group {
        pack,
        pack_sha256,
        level,
        sheets,
        listeners,
        ..
    } = group;
    let hash = pack_sha256.get(..8).unwrap_or(pack_sha256);
    writeln!(
        said,
        "pack {pack} {hash}, {} dB(A) over the noise: sheets {sheets}, numbers of listeners {listeners}",
        level.db()
    )?;
    writeln!(said, "  all: {}", share(group.all))?;
    writeln!(
        said,
        "  urgent (class A and B): {}; {}",
        share(group.pressing),
        verdict(group.pressing)
    )?;
    for (prompt, of_it) in &group.prompts {
        writeln!(
            said,
            "  {:14}{} of {}",
            prompt.word(),
            of_it.right,
            of_it.asked
        )?;
    }
    for confusion in &group.confusions {
        let taken = confusion.taken_for.map_or("none", cycle::Prompt::word);
        let said_word = confusion.said.word();
        writeln!(said, "  {said_word} taken for {taken}: {}", confusion.times)?;
    }
    Ok(())
}

fn verdict(share: Share) -> String {
    match share.verdict() {
        Verdict::TooFew => format!(
            "too few to judge: {ENOUGH} answers are wanted ({ENOUGH_TESTS} tests), for with fewer the exact 95 % \
             interval of {GATE_PER_CENT} % right reaches below {SURELY_PER_CENT} %"
        ),
        Verdict::Reached => format!("the aim of {GATE_PER_CENT} % is reached"),
        Verdict::NotReached => format!("the aim of {GATE_PER_CENT} % is not reached"),
    }
}

/// `9 of 12 right, 75.0 % (42.8 to 94.6)`: the exact 95 % interval.
fn share(share: Share) -> String {
    let Share { right, asked } = share;
    let (low, high) = share.interval();
    let part = f64::from(u32::try_from(right).unwrap_or(u32::MAX))
        / f64::from(u32::try_from(asked).unwrap_or(u32::MAX).max(1));
    format!(
        "{right} of {asked} right, {:.1} % ({:.1} to {:.1})",
        part * 100.0,
        low * 100.0,
        high * 100.0
    )
}
