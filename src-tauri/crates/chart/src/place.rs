//! Labels on levels, so that none lies over another.

/// A label that waits for its place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    /// Where its middle should be.
    pub(crate) middle: f64,
    pub(crate) wide: f64,
    pub(crate) text: String,
    /// Those with more weight have a place first.
    pub(crate) weight: u64,
}

/// A label with its place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Placed {
    /// Its middle.
    pub(crate) middle: f64,
    /// From 0, the uppermost.
    pub(crate) level: u32,
    pub(crate) text: String,
}

/// Puts each label on the first level where it has room, moved inside the room's ends. One that has room on
/// no level is left out: it is told beside the chart.
pub(crate) fn place(labels: &[Label], ends: (f64, f64), gap: f64, levels: u32) -> Vec<Placed> {
    let mut order: Vec<&Label> = labels.iter().collect();
    order.sort_by_key(|label| std::cmp::Reverse(label.weight));
    let mut taken: Vec<(u32, f64, f64)> = Vec::new();
    let mut out = Vec::new();
    for label in order {
        let half = label.wide / 2.0;
        if label.wide > ends.1 - ends.0 {
            continue;
        }
        let middle = label.middle.max(ends.0 + half).min(ends.1 - half);
        let (from, to) = (middle - half - gap, middle + half + gap);
        let free = (0..levels).find(|level| {
            !taken
                .iter()
                .any(|(l, a, b)| l == level && from < *b && *a < to)
        });
        if let Some(level) = free {
            taken.push((level, middle - half, middle + half));
            out.push(Placed {
                middle,
                level,
                text: label.text.clone(),
            });
        }
    }
    out
}
