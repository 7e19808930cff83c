//! Text broken into lines of a given width.

use chart::Face;

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
        if face.width(&longer, size) <= width {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            let mut longer = line.clone();
            longer.push(c);
            if !line.is_empty() && face.width(&longer, size) > width {
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

/// Widths of columns that together fill no more than `room`: as wide as their text where that fits, else
/// shrunk towards their widest words. `columns` holds the widest word and the widest text of each.
pub(crate) fn widths(columns: &[(f64, f64)], room: f64) -> Vec<f64> {
    let least: f64 = columns.iter().map(|(least, _)| least).sum();
    let most: f64 = columns.iter().map(|(_, most)| most).sum();
    if most <= room {
        return columns.iter().map(|(_, most)| *most).collect();
    }
    if least >= room {
        return columns
            .iter()
            .map(|(least_of, _)| least_of * room / least)
            .collect();
    }
    let share = (room - least) / (most - least);
    columns
        .iter()
        .map(|(least, most)| least + (most - least) * share)
        .collect()
}
