//! The page's clock against ours: the quickest message tells the offset.

use cycle::Ms;

use crate::Touch;

/// Messages that the offset is taken over.
const MEMORY: usize = 64;
/// An older message tells nothing any more: a page's clock may stop while the phone sleeps.
const OLD_MS: u64 = 30_000;
/// Two messages in a row that are off by more tell of a page that was loaded anew.
const ANEW_MS: u64 = 1000;
/// The conductor wakes each second. Later by more than this it slept, and the page's clock may have stood still.
const SLEPT_MS: u64 = 1500;
/// A touch is not older than a held End key with room.
const MAX_AGE_MS: u64 = 4000;

/// Offset of the page's clock, kept over the last messages.
#[derive(Clone, Debug, Default)]
pub(crate) struct PageClock {
    /// Offset and arrival of each message.
    heard: std::collections::VecDeque<(i64, u64)>,
    /// When the conductor was known to be awake last.
    awake_ms: u64,
    /// When it was found to have slept last: a message of before then was sent by another offset.
    woken_ms: u64,
}

/// A touch on the monotonic clock, milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Dated {
    pub(crate) down: Ms,
    pub(crate) taken: Ms,
}

impl PageClock {
    /// The conductor is awake, or something arrived that finds it so. After a sleep all that was heard before is
    /// forgotten. Told with each arrival before it is dated: the first touch may come before anything else wakes.
    pub(crate) fn awake(&mut self, at_ms: u64) {
        if at_ms.saturating_sub(self.awake_ms) > SLEPT_MS {
            self.heard.clear();
            self.woken_ms = at_ms;
        }
        self.awake_ms = self.awake_ms.max(at_ms);
    }

    /// A message that left the page at `sent_ms` arrived at `arrived_ms`.
    pub(crate) fn heard(&mut self, sent_ms: u64, arrived_ms: u64) {
        if arrived_ms < self.woken_ms {
            return;
        }
        while self.heard.len() >= MEMORY
            || self
                .heard
                .front()
                .is_some_and(|(_, at)| arrived_ms.saturating_sub(*at) > OLD_MS)
        {
            self.heard.pop_front();
        }
        self.heard
            .push_back((offset(sent_ms, arrived_ms), arrived_ms));
        self.forget_another_clock();
    }

    /// One late message says nothing; two that agree with each other and with nothing before do.
    fn forget_another_clock(&mut self) {
        let newest: Vec<i64> = self
            .heard
            .iter()
            .rev()
            .take(2)
            .map(|(offset, _)| *offset)
            .collect();
        let &[last, before] = newest.as_slice() else {
            return;
        };
        let apart = |a: i64, b: i64| a.abs_diff(b) > ANEW_MS;
        let earlier = self.heard.iter().rev().skip(2).map(|(offset, _)| *offset);
        if !apart(last, before) && earlier.min().is_some_and(|known| apart(known, last)) {
            let keep = self.heard.len().saturating_sub(2);
            self.heard.drain(..keep);
        }
    }

    /// Dates a touch. Never after `arrived_ms`, never absurdly early.
    pub(crate) fn date(&mut self, touch: Touch, arrived_ms: u64) -> Dated {
        self.heard(touch.sent_ms, arrived_ms);
        let own = offset(touch.sent_ms, arrived_ms);
        let heard = self.heard.iter().map(|(offset, _)| *offset);
        let offset = heard.fold(own, i64::min);
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

/// Between the page's clock and ours, by one message.
fn offset(sent_ms: u64, arrived_ms: u64) -> i64 {
    let signed = |ms| i64::try_from(ms).unwrap_or(i64::MAX);
    signed(arrived_ms).saturating_sub(signed(sent_ms))
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
    fn a_page_loaded_anew_is_learned_anew_from_its_second_message() {
        let mut clock = PageClock::default();
        clock.heard(90_000, 100_000);
        clock.heard(0, 110_000);
        let dated = clock.date(touch(110, 210, 211), 110_211);
        assert_eq!(
            dated,
            Dated {
                down: Ms(110_110),
                taken: Ms(110_210)
            }
        );
    }

    #[test]
    fn one_late_message_among_quick_ones_misdates_nothing() {
        let mut clock = PageClock::default();
        clock.heard(1000, 51_000);
        let dated = clock.date(touch(2000, 2100, 2100), 58_100);
        assert_eq!(dated.taken, Ms(54_100));
        let dated = clock.date(touch(9000, 9100, 9100), 59_100);
        assert_eq!(
            dated,
            Dated {
                down: Ms(59_000),
                taken: Ms(59_100)
            }
        );
    }

    #[test]
    fn what_was_heard_before_a_sleep_is_forgotten() {
        let mut clock = PageClock::default();
        clock.heard(1000, 51_000);
        // The page's clock stood still for a minute.
        let dated = clock.date(touch(3000, 3100, 3100), 113_100);
        assert_eq!(dated.taken, Ms(113_100));
    }

    #[test]
    fn a_sleep_of_seconds_is_noticed_by_the_first_touch_or_before_it() {
        for slept in [3000, 10_000] {
            for before in [None, Some(52_050 + slept)] {
                let mut clock = PageClock::default();
                for second in 0..3 {
                    clock.awake(50_000 + second * 1000);
                    clock.heard(second * 1000, 50_000 + second * 1000);
                }
                // The page's clock stood still from 52 s on.
                if let Some(before) = before {
                    clock.awake(before);
                }
                let arrived = 52_200 + slept;
                clock.awake(arrived);
                let dated = clock.date(touch(2100, 2190, 2200), arrived);
                assert_eq!(dated.down, Ms(52_100 + slept), "{slept} {before:?}");
                assert_eq!(dated.taken, Ms(52_190 + slept), "{slept} {before:?}");
                // What is heard since dates the next one.
                let late = touch(2300, 2400, 2410);
                let dated = clock.date(late, 52_900 + slept);
                assert_eq!(dated.down, Ms(52_300 + slept), "{slept} {before:?}");
            }
        }
    }

    #[test]
    fn messages_that_arrived_before_a_sleep_and_are_read_after_it_tell_nothing_of_touches_after_it()
    {
        let mut clock = PageClock::default();
        clock.awake(50_000);
        clock.heard(0, 50_000);
        // Two arrive as the phone falls asleep for ten seconds; each is read, then the conductor looks at the time.
        for (sent, arrived) in [(100, 50_100), (110, 50_110)] {
            clock.awake(arrived);
            let dated = clock.date(touch(sent - 90, sent - 10, sent), arrived);
            assert_eq!(dated.down, Ms(arrived - 90));
            clock.awake(60_150);
        }
        clock.awake(60_300);
        let dated = clock.date(touch(200, 290, 300), 60_300);
        assert_eq!(dated.down, Ms(60_200));
    }
}
