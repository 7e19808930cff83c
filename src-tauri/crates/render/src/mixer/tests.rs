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
    // 2 ms of 48 kHz.
    assert!(after[Mixer::DELAY + 96..].iter().all(|s| s.abs() < 1e-6));
    let most = largest_step(&after[Mixer::DELAY - 1..]);
    assert!(most < 0.092 / 90.0, "a step of {most}");
}

/// The largest step between two samples.
fn largest_step(samples: &[f32]) -> f32 {
    let steps = samples.windows(2).map(|w| (w[1] - w[0]).abs());
    steps.fold(0.0, f32::max)
}

/// A clip that stands at its height, above zero or below it.
struct Flat(Vec<i16>, Vec<i16>);

impl Clips for Flat {
    fn samples(&self, clip: ClipId) -> &[i16] {
        if clip.0 < 10 { &self.0 } else { &self.1 }
    }
}

/// Every way in which a sound stops before its end: taken back, another voice, no place free. A cut would be a
/// step of 0.046 from one sample to the next, and on the frame where another begins one of 0.09.
#[test]
fn no_sound_is_cut_off_with_a_click() {
    let flat = Flat(vec![1500; 48_000], vec![-1500; 48_000]);
    let play = |id: u32| {
        Message::Play(Play {
            id,
            clip: ClipId(if id < 20 { 9 } else { 10 }),
            bus: if id.is_multiple_of(4) {
                Bus::Voice
            } else {
                Bus::Tone
            },
            start: None,
        })
    };
    for hz in [8000, 48_000, 192_000] {
        let mut seen = Seen::default();
        let mut mixer = Mixer::new(hz, Some(Timeline::IDENTITY));
        let mut out = Vec::new();
        let mut run = |mixer: &mut Mixer, message, frames| {
            mixer.take(message, &mut seen);
            let begins = out.len() + Mixer::DELAY;
            let mut block = vec![0.0; frames];
            mixer.render(&flat, &mut block, &mut seen);
            out.extend(block);
            begins
        };
        let mut edges = vec![0];
        for id in 0..40 {
            edges.push(run(&mut mixer, play(id), 300));
        }
        for id in [36, 38, 39] {
            run(&mut mixer, Message::Revoke(id), 1000);
        }
        edges.push(out.len());
        let cut: Vec<u32> = seen
            .0
            .iter()
            .filter_map(|r| match r {
                Report::Cut(id) => Some(*id),
                Report::Begun { .. } | Report::Late(_) | Report::LeftOut(_) => None,
            })
            .collect();
        assert!(
            cut.contains(&0) && cut.contains(&1) && cut.contains(&39),
            "{cut:?}"
        );
        for piece in edges.windows(2) {
            let most = largest_step(&out[piece[0]..piece[1]]);
            assert!(most < 0.02, "{hz}: a step of {most}");
        }
        let most = largest_step(&out);
        assert!(most < 0.06, "{hz}: a step of {most} where another begins");
    }
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

/// Where the frame of a stream's first line lies on the grid: the beat of a moment ago is still heard at once, one of
/// longer ago is left out, though later in the stream it would be heard as late.
#[test]
fn a_stream_begins_with_a_beat_that_lies_on_the_grid() {
    for (late, is_heard) in [(96, true), (480, false)] {
        let (mut mixer, clips, mut seen) = beating();
        mixer.timeline = None;
        render(&mut mixer, &clips, &mut seen, 5000);
        assert!(seen.0.is_empty(), "no line, no beat");
        let tick = u64::try_from(SECOND + late).unwrap();
        let line = Timeline::new(5000, tick, 0);
        mixer.take(Message::Timeline(line), &mut seen);
        let first = render(&mut mixer, &clips, &mut seen, 2000);
        assert_eq!(first.iter().any(|s| s.abs() > 0.01), is_heard, "{late}");
        // The line bettered by so little leaves nothing out.
        render(&mut mixer, &clips, &mut seen, SECOND - late - 2000 - 100);
        let line = Timeline::new(mixer.frame, u64::try_from(2 * SECOND + 480).unwrap(), 0);
        mixer.take(Message::Timeline(line), &mut seen);
        let next = render(&mut mixer, &clips, &mut seen, 2000);
        assert!(next.iter().any(|s| s.abs() > 0.01), "{late}");
    }
}
