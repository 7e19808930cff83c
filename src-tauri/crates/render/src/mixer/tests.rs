extern crate std;

use std::{vec, vec::Vec};

use beat::{Pattern, Rate, Score};

use super::*;

const HZ: u32 = 48_000;
/// Frame of the beat after the first one, 110 a minute.
const SECOND: usize = 26_181;

/// Every clip sounds throughout for 30 ms.
struct Steady(Vec<i16>);

impl Clips for Steady {
    fn samples(&self, _clip: ClipId) -> &[i16] {
        &self.0
    }
}

#[derive(Default)]
struct Seen(Vec<Report>);

impl Sink for Seen {
    fn report(&mut self, report: Report) {
        self.0.push(report);
    }
}

fn beating() -> (Mixer, Steady, Seen) {
    let (mut mixer, mut seen) = (Mixer::new(HZ, Some(Timeline::IDENTITY)), Seen::default());
    let placed = Placed {
        score: Score {
            rate: Rate::new(110).unwrap(),
            pattern: Pattern::Continuous { breath_ms: 0 },
            quiet_ddb: 0,
        },
        anchor_ms: 0,
        lead: 0,
        from_ms: 0,
        breath_from_ms: 0,
    };
    mixer.take(Message::Score { placed, given: 0 }, &mut seen);
    (mixer, Steady(vec![3000; 1440]), seen)
}

fn render(mixer: &mut Mixer, clips: &Steady, seen: &mut Seen, frames: usize) -> Vec<f32> {
    let mut out = vec![0.0; frames];
    mixer.render(clips, &mut out, seen);
    out
}

#[test]
fn the_rest_of_a_click_does_not_outlast_a_loss() {
    let (mut mixer, clips, mut seen) = beating();
    let before = render(&mut mixer, &clips, &mut seen, SECOND + 500);
    assert!(
        before.last().unwrap().abs() > 0.01,
        "in the middle of the click"
    );
    mixer.break_off();
    let after = render(&mut mixer, &clips, &mut seen, 10_000);
    assert!(after[Mixer::DELAY..].iter().all(|s| s.abs() < 1e-6));
}

#[test]
fn what_falls_due_while_it_is_held_is_left_out_for_good() {
    let (mut mixer, clips, mut seen) = beating();
    render(&mut mixer, &clips, &mut seen, SECOND - 100);
    mixer.hold(true);
    render(&mut mixer, &clips, &mut seen, 200);
    mixer.hold(false);
    let after = render(&mut mixer, &clips, &mut seen, SECOND - 500);
    assert!(after[Mixer::DELAY..].iter().all(|s| s.abs() < 1e-6));
    let left_out = |r: &&Report| matches!(r, Report::LeftOut(Kind::Beat));
    assert_eq!(seen.0.iter().filter(left_out).count(), 1);
    let next = render(&mut mixer, &clips, &mut seen, 2000);
    assert!(next.iter().any(|s| s.abs() > 0.01), "the next one sounds");
}
