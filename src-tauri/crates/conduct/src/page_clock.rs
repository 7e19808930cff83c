//! The page's clock against ours: the quickest message tells the offset.

use cycle::Ms;

use crate::Touch;

/// Messages that the offset is taken over.
const MEMORY: usize = 64;
/// A touch is not older than a held End key with room.
const MAX_AGE_MS: u64 = 4000;

/// Offset of the page's clock, kept over the last messages.
#[derive(Clone, Debug, Default)]
pub(crate) struct PageClock {
    offsets: std::collections::VecDeque<i64>,
}

/// A touch on the monotonic clock, milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Dated {
    pub(crate) down: Ms,
    pub(crate) taken: Ms,
}

impl PageClock {
    /// A message that left the page at `sent_ms` arrived at `arrived_ms`.
    pub(crate) fn heard(&mut self, sent_ms: u64, arrived_ms: u64) {
        let signed = |ms| i64::try_from(ms).unwrap_or(i64::MAX);
        let offset = signed(arrived_ms).saturating_sub(signed(sent_ms));
        // A page that was loaded anew counts from 0 again: what was known is void.
        if self
            .offsets
            .back()
            .is_some_and(|last| offset.abs_diff(*last) > 5000)
        {
            self.offsets.clear();
        }
        if self.offsets.len() >= MEMORY {
            self.offsets.pop_front();
        }
        self.offsets.push_back(offset);
    }

    /// Dates a touch. Never after `arrived_ms`, never absurdly early.
    pub(crate) fn date(&mut self, touch: Touch, arrived_ms: u64) -> Dated {
        self.heard(touch.sent_ms, arrived_ms);
        let offset = self.offsets.iter().min().copied().unwrap_or(0);
        let earliest = arrived_ms.saturating_sub(MAX_AGE_MS);
        let place = |page: u64| {
            page.saturating_add_signed(offset)
                .clamp(earliest, arrived_ms)
        };
        let taken = place(touch.taken_ms);
        Dated {
            down: Ms(place(touch.down_ms).min(taken)),
            taken: Ms(taken),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn touch(down_ms: u64, taken_ms: u64, sent_ms: u64) -> Touch {
        Touch {
            down_ms,
            taken_ms,
            sent_ms,
        }
    }

    #[test]
    fn a_slow_message_does_not_date_a_touch_late() {
        let mut clock = PageClock::default();
        clock.heard(1000, 51_002);
        let dated = clock.date(touch(2000, 2120, 2121), 52_421);
        assert_eq!(
            dated,
            Dated {
                down: Ms(52_002),
                taken: Ms(52_122)
            }
        );
    }

    #[test]
    fn a_touch_is_never_in_the_future_nor_older_than_the_longest_press() {
        let mut clock = PageClock::default();
        let dated = clock.date(touch(9000, 9500, 400), 50_000);
        assert_eq!(dated.taken, Ms(50_000));
        let dated = clock.date(touch(0, 9500, 9500), 60_000);
        assert_eq!(dated.down, Ms(56_000));
    }

    #[test]
    fn a_page_loaded_anew_is_learned_anew() {
        let mut clock = PageClock::default();
        clock.heard(90_000, 100_000);
        let dated = clock.date(touch(10, 110, 111), 200_111);
        assert_eq!(
            dated,
            Dated {
                down: Ms(200_010),
                taken: Ms(200_110)
            }
        );
    }
}
