//! Wishes on their way to a phone that may not answer. No call of the system is made here, so that it is tested on any
//! machine.

use conduct::Wish;

use crate::late::still_to_feel;

/// A wish and when it was made, on the clock that counts sleep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wished {
    pub(crate) wish: Wish,
    pub(crate) at_ms: u64,
}

/// Asks what is owed and what is new, in order; gives what is owed now. `ask` says whether a wish was done; pulses
/// that waited for others are asked as they are by then.
pub(crate) fn done(
    mut owed: Vec<Wished>,
    new: impl IntoIterator<Item = Wished>,
    now_ms: impl Fn() -> u64,
    mut ask: impl FnMut(&Wish) -> bool,
) -> Vec<Wished> {
    owed.extend(new);
    due(owed)
        .into_iter()
        .filter(|wished| !ask(&wished.by(now_ms())) && lasts(&wished.wish))
        .collect()
}

impl Wished {
    /// What is left of it by now.
    fn by(&self, now_ms: u64) -> Wish {
        match &self.wish {
            Wish::Feel(pulses) => {
                let late = now_ms.saturating_sub(self.at_ms);
                let late = u32::try_from(late).unwrap_or(u32::MAX);
                Wish::Feel(still_to_feel(pulses, late))
            }
            Wish::Hold { .. }
            | Wish::LetGo
            | Wish::Screen(_)
            | Wish::Brightness(_)
            | Wish::Motion(_)
            | Wish::Share(_) => self.wish.clone(),
        }
    }
}

/// Leaves of several wishes in a row what is still to be done: one that stands until the next of its kind is not done
/// if that is there already. The order stays.
fn due(wishes: Vec<Wished>) -> Vec<Wished> {
    let mut later = Vec::new();
    let mut due: Vec<Wished> = wishes
        .into_iter()
        .rev()
        .filter(|wished| {
            let Some(kind) = kind(&wished.wish) else {
                return true;
            };
            let is_last = !later.contains(&kind);
            later.push(kind);
            is_last
        })
        .collect();
    due.reverse();
    due
}

/// Of which another one takes the place; `None` if each is an act of its own.
fn kind(wish: &Wish) -> Option<u8> {
    match wish {
        // Holding and letting go end each other.
        Wish::Hold { .. } | Wish::LetGo => Some(0),
        Wish::Feel(_) => Some(1),
        Wish::Brightness(_) => Some(2),
        Wish::Motion(_) => Some(3),
        Wish::Screen(_) => Some(4),
        Wish::Share(_) => None,
    }
}

/// Whether a wish that failed is worth doing later. Pulses would come at the wrong times, and nobody waits for a
/// share that did not come.
const fn lasts(wish: &Wish) -> bool {
    match wish {
        Wish::Hold { .. }
        | Wish::LetGo
        | Wish::Screen(_)
        | Wish::Brightness(_)
        | Wish::Motion(_) => true,
        Wish::Feel(_) | Wish::Share(_) => false,
    }
}

#[cfg(test)]
mod tests;
