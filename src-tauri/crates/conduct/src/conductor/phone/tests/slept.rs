//! A touch just after the phone slept. The page's clock stood still meanwhile, ours did not.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "the sums are of a test's own moments, and one that overflowed would fail"
)]

use super::*;
use crate::Touch;

/// A page whose clock stands still while the phone sleeps.
struct Page {
    scene: Scene,
    slept_ms: u64,
}

impl Page {
    /// It has been heard for so long as a start card stands.
    fn new(name: &str) -> Self {
        let mut page = Self {
            scene: Scene::new(name),
            slept_ms: 0,
        };
        page.tick();
        page
    }

    /// Five seconds pass, in which it tells its clock and the conductor wakes.
    fn tick(&mut self) {
        for _ in 0..5 {
            leap::pass(1000);
            let sent_ms = self.clock();
            self.asked(Ask::PageClock { sent_ms });
        }
    }

    fn clock(&self) -> u64 {
        uptime_ms() - self.slept_ms
    }

    fn asked(&mut self, ask: Ask) {
        self.scene.house.asked(uptime_ms(), ask);
        self.scene.wake();
    }

    /// The phone sleeps. Then time alone wakes the conductor, or what comes next finds it as it fell asleep.
    fn sleep(&mut self, ms: u64, wakes_first: bool) {
        leap::pass(ms);
        self.slept_ms += ms;
        if wakes_first {
            self.scene.wake();
        }
    }

    /// A key is touched for a tenth of a second; when its finger went down on our clock.
    fn press(&mut self, act: Act) -> u64 {
        let (down, down_ms) = (uptime_ms(), self.clock());
        leap::pass(100);
        let taken_ms = self.clock();
        let touch = Touch {
            down_ms,
            taken_ms,
            sent_ms: taken_ms,
        };
        self.asked(Ask::Press { act, touch });
        down
    }
}

/// The rule: a touch is dated to the moment at which the finger went down.
#[test]
fn the_first_touch_after_a_sleep_of_seconds_is_dated_to_its_finger() {
    for (slept_ms, wakes_first) in [(3000, true), (3000, false), (10_000, true), (10_000, false)] {
        let mut page = Page::new(&format!("slept-{slept_ms}-{wakes_first}"));
        page.sleep(slept_ms, wakes_first);
        let start = page.press(Act::StartByHand);
        page.tick();
        page.sleep(slept_ms, wakes_first);
        let off = page.press(Act::HandsOff);
        let records = page.scene.records();
        let [run] = records.as_slice() else {
            panic!("{}", records.len())
        };
        let began = run.base.mono_ms.saturating_sub(run.base.run.0);
        let off_at = run.entries.iter().find_map(|entry| match &entry.fact {
            cycle::Fact::Mark(mark) if cycle::mark::kind_of(mark) == "compr_stop" => Some(entry.at),
            cycle::Fact::Mark(_) | cycle::Fact::Amend(_) | cycle::Fact::Deed(_) => None,
        });
        let stopped = began + off_at.unwrap().0;
        for (what, found, wanted) in [("start", began, start), ("hands off", stopped, off)] {
            // What the test itself takes to ask lies between.
            assert!(
                (wanted..wanted + 500).contains(&found),
                "{what} after {slept_ms} ms, woken first {wakes_first}: {found}, {wanted} wanted"
            );
        }
    }
}
