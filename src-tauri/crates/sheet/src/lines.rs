//! Text broken into lines of a given width.

use chart::Face;

/// Sums of widths that are equal may differ in their last digit.
const SAME: f64 = 0.01;

/// Breaks a text at its spaces; a word that is wider than the line is broken where it must be. There is
/// always a line.
pub(crate) fn broken(face: &Face, text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if face.width(&longer, size) <= width + SAME {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            let mut longer = line.clone();
            longer.push(c);
            if !line.is_empty() && face.width(&longer, size) > width + SAME {
                lines.push(std::mem::take(&mut line));
                line.push(c);
            } else {
                line = longer;
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// The widest word of a text.
pub(crate) fn widest_word(face: &Face, text: &str, size: f64) -> f64 {
    let words = text.split_whitespace();
    words.map(|word| face.width(word, size)).fold(0.0, f64::max)
}

/// Widths of columns that together fill no more than `room`. A column that needs no more than its share is as
/// wide as its text; the others shrink towards their widest words. `columns` holds the widest word and the
/// widest text of each.
pub(crate) fn widths(columns: &[(f64, f64)], room: f64) -> Vec<f64> {
    let mut set: Vec<Option<f64>> = vec![None; columns.len()];
    let mut left = room;
    loop {
        let open = || columns.iter().zip(&set).filter(|(_, set)| set.is_none());
        let count = u32::try_from(open().count()).map_or(1.0, f64::from);
        let fair = left / count.max(1.0);
        let least: f64 = open().map(|((least, _), _)| least).sum();
        let next = columns.iter().enumerate().find(|(n, (own, most))| {
            let is_open = set.get(*n).is_some_and(Option::is_none);
            // What is left must hold the others' widest words.
            is_open && *most <= fair && least - own <= left - most
        });
        let Some((n, (_, most))) = next else { break };
        if let Some(slot) = set.get_mut(n) {
            *slot = Some(*most);
            left -= most;
        }
    }
    let open: Vec<(f64, f64)> = columns
        .iter()
        .zip(&set)
        .filter(|(_, set)| set.is_none())
        .map(|(column, _)| *column)
        .collect();
    let mut shrunk = shrunk(&open, left).into_iter();
    let all = set.into_iter().map(|set| set.or_else(|| shrunk.next()));
    all.map(Option::unwrap_or_default).collect()
}

fn shrunk(columns: &[(f64, f64)], room: f64) -> Vec<f64> {
    let least: f64 = columns.iter().map(|(least, _)| least).sum();
    let most: f64 = columns.iter().map(|(_, most)| most).sum();
    if most <= room {
        return columns.iter().map(|(_, most)| *most).collect();
    }
    if least >= room {
        return columns.iter().map(|(own, _)| own * room / least).collect();
    }
    let share = (room - least) / (most - least);
    columns
        .iter()
        .map(|(least, most)| least + (most - least) * share)
        .collect()
}
