#![expect(
    clippy::arithmetic_side_effects,
    reason = "expected values are plain arithmetic; a test may overflow"
)]

use beat::{Kind, Pattern, Placed, Rate, Score};
use proptest::prelude::*;

use crate::{Bus, ClipId, Clips, Gains, Message, Mixer, Play, Report, Sink, Timeline, What};

mod noise;

const HZ: u32 = 48_000;

/// A beat is one full sample and then 30 ms of nothing, so that every onset is one sample of the
/// output; the other clips differ by size and length.
struct TestClips(Vec<Vec<i16>>);

const BEAT: i16 = 16_384;
const BREATH: i16 = 4096;
const VOICE: ClipId = ClipId(4);
const TONE: ClipId = ClipId(5);
const LOUD: ClipId = ClipId(6);

impl TestClips {
    fn new() -> Self {
        let pulse = |size: i16, frames: usize| {
            let mut clip = vec![0; frames];
            clip[0] = size;
            clip
        };
        Self(vec![
            pulse(BEAT, 2112),
            pulse(BEAT, 1632),
            pulse(BEAT, 5760),
            pulse(BREATH, 9600),
            vec![3276; 48_000],
            vec![1000; 4800],
            vec![32_767; 12_000],
        ])
    }
}

impl Clips for TestClips {
    fn samples(&self, clip: ClipId) -> &[i16] {
        self.0.get(usize::from(clip.0)).map_or(&[], Vec::as_slice)
    }
}

#[derive(Default)]
struct Seen(Vec<Report>);

impl Sink for Seen {
    fn report(&mut self, report: Report) {
        self.0.push(report);
    }
}

impl Seen {
    fn beats(&self) -> Vec<u64> {
        self.frames(|what| matches!(what, What::Score(k) if k != Kind::Breath))
    }

    fn frames(&self, wanted: impl Fn(What) -> bool) -> Vec<u64> {
        self.0
            .iter()
            .filter_map(|r| match r {
                Report::Begun { what, frame, .. } if wanted(*what) => Some(*frame),
                Report::Begun { .. } | Report::Late(_) | Report::Cut(_) | Report::LeftOut(_) => {
                    None
                }
            })
            .collect()
    }
}

fn placed(pattern: Pattern) -> Placed {
    Placed {
        score: Score {
            rate: Rate::new(110).unwrap(),
            pattern,
            quiet_ddb: 0,
        },
        anchor_ms: 0,
        lead: 0,
        from_ms: 0,
        breath_from_ms: 0,
    }
}

const RATIO: Pattern = Pattern::Ratio {
    beats: 30,
    window_ms: 4000,
    breaths: 2,
};
const UNBROKEN: Pattern = Pattern::Continuous { breath_ms: 6000 };

struct Rig {
    mixer: Mixer,
    clips: TestClips,
    seen: Seen,
    out: Vec<f32>,
}

impl Rig {
    fn new() -> Self {
        Self {
            mixer: Mixer::new(HZ, Some(Timeline::IDENTITY)),
            clips: TestClips::new(),
            seen: Seen::default(),
            out: Vec::new(),
        }
    }

    fn take(&mut self, message: Message) {
        self.mixer.take(message, &mut self.seen);
    }

    fn score(&mut self, placed: Placed) {
        let given = self.mixer.timeline().unwrap().tick(self.mixer.frame());
        self.take(Message::Score { placed, given });
    }

    fn play(&mut self, id: u32, clip: ClipId, start_ms: Option<u64>) {
        let bus = if clip == VOICE { Bus::Voice } else { Bus::Tone };
        let start = start_ms.map(|ms| ms * 48);
        self.take(Message::Play(Play {
            id,
            clip,
            bus,
            start,
        }));
    }

    /// Renders up to frame `end`, in blocks of `block`.
    fn run(&mut self, end: u64, block: usize) {
        while self.mixer.frame() < end {
            let left = usize::try_from(end - self.mixer.frame()).unwrap();
            let mut out = vec![0.0; left.min(block)];
            self.mixer.render(&self.clips, &mut out, &mut self.seen);
            self.out.extend(out);
        }
    }

    /// Sample of the output on a frame.
    fn at(&self, frame: u64) -> f32 {
        self.out[usize::try_from(frame).unwrap() + Mixer::DELAY]
    }

    /// Frames on which the output is not silent.
    fn heard(&self) -> Vec<u64> {
        let from_zero = self.out[Mixer::DELAY..].iter().zip(0..);
        from_zero
            .filter(|(s, _)| s.abs() > 1e-6)
            .map(|(_, n)| n)
            .collect()
    }
}

/// Source: arithmetic: beat n of 110 a minute lies n * 60 * 48000 / 110 frames after the anchor.
fn grid(n: u64) -> u64 {
    n * 60 * 48_000 / 110
}

#[test]
fn every_beat_is_on_its_frame_in_the_report_and_in_the_output() {
    let mut rig = Rig::new();
    rig.score(placed(Pattern::Continuous { breath_ms: 0 }));
    rig.run(60 * 48_000 + 1000, 512);
    let expected: Vec<u64> = (0..=110).map(grid).collect();
    assert_eq!(rig.seen.beats(), expected);
    let heard = rig.heard();
    assert_eq!(heard, expected);
    assert!(
        heard
            .iter()
            .all(|f| (rig.at(*f) - 0.5).abs() < f32::EPSILON)
    );
}

#[test]
fn a_cycle_of_thirty_is_followed_by_two_breaths_and_the_next_cycle() {
    let mut rig = Rig::new();
    rig.score(placed(RATIO));
    rig.run(977_455, 1024);
    let breaths = rig.seen.frames(|w| w == What::Score(Kind::Breath));
    // 30 periods, then the window's start and half: 2 s.
    assert_eq!(breaths, [grid(30), 30 * 60 * 48_000 / 110 + 96_000]);
    assert_eq!(rig.seen.beats().last(), Some(&977_454));
    assert_eq!(rig.seen.beats().len(), 31);
}

#[test]
fn a_swap_that_keeps_the_grid_neither_loses_nor_doubles_a_beat() {
    // Around beat 3: before it, on its frame, and after it.
    for offset in [-30_i64, -1, 0, 1, 2, 47, 900, 9000] {
        let mut rig = Rig::new();
        rig.score(placed(RATIO));
        let swap = grid(3).checked_add_signed(offset).unwrap();
        rig.run(swap, 64);
        let mut on = placed(UNBROKEN);
        on.from_ms = swap / 48;
        on.breath_from_ms = swap / 48;
        rig.score(on);
        rig.run(grid(8), 512);
        let expected: Vec<u64> = (0..8).map(grid).collect();
        assert_eq!(
            rig.seen.beats(),
            expected,
            "swap {offset} frames from beat 3"
        );
    }
}

#[test]
fn a_swap_told_before_its_moment_keeps_what_lies_before_the_decision() {
    let mut rig = Rig::new();
    rig.score(placed(UNBROKEN));
    rig.run(grid(2) - 500, 64);
    // Decided after beat 2, told 500 frames before it: the mixer lags behind the run clock.
    let given = grid(2) + 200;
    let mut off = placed(Pattern::Silent { breath_ms: 0 });
    off.from_ms = given / 48;
    rig.take(Message::Score { placed: off, given });
    rig.run(grid(6), 512);
    assert_eq!(rig.seen.beats(), [0, grid(1), grid(2)]);
}

#[test]
fn the_rest_of_an_old_score_vanishes() {
    let mut rig = Rig::new();
    rig.score(placed(UNBROKEN));
    rig.run(grid(2) - 500, 64);
    let mut other = placed(UNBROKEN);
    other.anchor_ms = 1200;
    other.from_ms = 1200;
    rig.score(other);
    rig.run(80_000, 512);
    assert_eq!(rig.seen.beats(), [0, grid(1), 1200 * 48]);
}

#[test]
fn a_beat_up_to_20_ms_late_plays_at_once_and_a_later_one_is_left_out() {
    for (late_ms, plays) in [(1, true), (20, true), (21, false), (300, false)] {
        let mut rig = Rig::new();
        let told = (1000 + late_ms) * 48;
        rig.run(told, 512);
        let mut late = placed(UNBROKEN);
        late.anchor_ms = 1000;
        rig.score(late);
        rig.run(told + 4800, 512);
        let expected = if plays { vec![told] } else { vec![] };
        assert_eq!(rig.seen.beats(), expected, "{late_ms} ms late");
    }
}

#[test]
fn beats_that_fall_into_a_loss_are_left_out_and_the_grid_goes_on() {
    let mut rig = Rig::new();
    rig.score(placed(UNBROKEN));
    let lost_at = grid(3) + 5000;
    rig.run(lost_at, 512);
    // 1.5 s of run time are gone: beats 4 and 5 with them.
    rig.take(Message::Timeline(Timeline::new(
        lost_at,
        lost_at + 72_000,
        0,
    )));
    rig.run(grid(9) - 72_000, 512);
    let expected: Vec<u64> = [0, 1, 2, 3]
        .map(grid)
        .into_iter()
        .chain([6, 7, 8].map(|n| grid(n) - 72_000))
        .collect();
    assert_eq!(rig.seen.beats(), expected);
    let left_out = rig
        .seen
        .0
        .iter()
        .filter(|r| matches!(r, Report::LeftOut(_)));
    assert_eq!(left_out.count(), 1, "the way past a loss is one step");
}

#[test]
fn a_timeline_that_steps_back_sounds_nothing_twice() {
    let mut rig = Rig::new();
    rig.score(placed(UNBROKEN));
    rig.run(grid(3) + 100, 512);
    let frame = rig.mixer.frame();
    rig.take(Message::Timeline(Timeline::new(frame, frame - 960, 0)));
    rig.run(grid(5), 512);
    assert_eq!(
        rig.seen.beats(),
        [0, grid(1), grid(2), grid(3), grid(4) + 960]
    );
}

#[test]
fn a_timeline_that_was_wrong_by_hours_costs_nothing_once_it_is_right() {
    let mut rig = Rig::new();
    rig.take(Message::Timeline(Timeline::new(0, 400_000_000, 0)));
    rig.take(Message::Score {
        placed: placed(UNBROKEN),
        given: 0,
    });
    rig.run(1000, 512);
    rig.take(Message::Timeline(Timeline::new(1000, 1000, 0)));
    rig.run(grid(3), 512);
    assert_eq!(
        rig.seen.beats()[rig.seen.beats().len() - 2..],
        [grid(1), grid(2)]
    );
}

#[test]
fn a_new_run_after_rest_sounds_although_its_clock_begins_anew() {
    let mut rig = Rig::new();
    rig.score(placed(UNBROKEN));
    rig.run(grid(10), 512);
    rig.take(Message::Rest);
    let frame = rig.mixer.frame();
    rig.run(frame + 48_000, 512);
    assert_eq!(rig.seen.beats().len(), 10);
    let frame = rig.mixer.frame();
    rig.take(Message::Timeline(Timeline::new(frame, 0, 0)));
    rig.score(placed(UNBROKEN));
    rig.run(frame + grid(2), 512);
    assert_eq!(rig.seen.beats()[10..], [frame, frame + grid(1)]);
}

#[test]
fn without_a_timeline_only_what_is_to_sound_at_once_sounds() {
    let mut rig = Rig::new();
    rig.mixer = Mixer::new(HZ, None);
    let given = 0;
    rig.take(Message::Score {
        placed: placed(UNBROKEN),
        given,
    });
    rig.play(1, TONE, None);
    rig.play(2, TONE, Some(1));
    rig.run(48_000, 512);
    assert_eq!(rig.seen.frames(|_| true), [0]);
}

#[test]
fn a_cue_with_a_moment_begins_on_its_frame() {
    let mut rig = Rig::new();
    rig.play(7, TONE, Some(1234));
    rig.run(100_000, 777);
    assert_eq!(rig.seen.frames(|w| w == What::Cue(7)), [1234 * 48]);
    assert_eq!(rig.heard().first(), Some(&(1234 * 48)));
    assert_eq!(rig.heard().len(), 4800);
}

#[test]
fn a_cue_more_than_80_ms_late_is_dropped_and_told() {
    for (late_ms, plays) in [(1, true), (80, true), (81, false)] {
        let mut rig = Rig::new();
        rig.run((500 + late_ms) * 48, 512);
        rig.play(7, TONE, Some(500));
        rig.run(60_000, 512);
        let began = !rig.seen.frames(|w| w == What::Cue(7)).is_empty();
        assert_eq!(began, plays, "{late_ms} ms");
        assert_eq!(
            rig.seen.0.contains(&Report::Late(7)),
            !plays,
            "{late_ms} ms"
        );
    }
}

#[test]
fn a_cue_taken_back_before_it_begins_is_never_heard() {
    let mut rig = Rig::new();
    rig.play(7, VOICE, Some(100));
    rig.run(4799, 512);
    rig.take(Message::Revoke(7));
    rig.run(20_000, 512);
    assert_eq!(rig.heard(), [0_u64; 0]);
    assert_eq!(rig.seen.0, []);
}

#[test]
fn a_cue_taken_back_while_it_sounds_is_gone_after_10_ms_without_a_step() {
    let mut rig = Rig::new();
    rig.play(7, VOICE, None);
    rig.run(4800, 512);
    rig.take(Message::Revoke(7));
    rig.run(20_000, 512);
    assert!(rig.seen.0.contains(&Report::Cut(7)));
    assert_eq!(rig.heard().last(), Some(&(4800 + 479)));
    let fade = &rig.out[4800 + Mixer::DELAY - 1..4800 + Mixer::DELAY + 481];
    assert!(fade.windows(2).all(|w| w[1] <= w[0] && w[0] - w[1] < 0.001));
}

#[test]
fn a_second_voice_breaks_off_the_first() {
    let mut rig = Rig::new();
    rig.play(1, VOICE, None);
    rig.run(4800, 512);
    rig.play(2, VOICE, None);
    rig.run(80_000, 512);
    assert!(rig.seen.0.contains(&Report::Cut(1)));
    assert_eq!(rig.seen.frames(|w| w == What::Cue(2)), [4800]);
    assert_eq!(rig.heard().last(), Some(&(4800 + 48_000 - 1)));
}

#[test]
fn beats_step_back_8_db_under_a_voice_and_none_is_dropped() {
    let mut rig = Rig::new();
    rig.score(placed(Pattern::Continuous { breath_ms: 0 }));
    rig.play(1, VOICE, Some(100));
    rig.run(grid(4), 512);
    assert_eq!(rig.seen.beats(), [0, grid(1), grid(2), grid(3)]);
    let voice = 3276.0 / 32_768.0;
    // 8 dB: a factor of 0.398.
    let under = rig.at(grid(1)) - voice;
    assert!((under - 0.5 * 0.398_107).abs() < 1e-4, "{under}");
    // Beat 3 lies 1.636 s in, 0.536 s after the voice has ended.
    assert!((rig.at(grid(3)) - 0.5).abs() < 1e-6);
}

#[test]
fn levels_are_decibels_below_full() {
    let mut rig = Rig::new();
    rig.take(Message::Levels(Gains {
        beat_ddb: 60,
        breath_ddb: 200,
        cue_ddb: 0,
    }));
    let mut quiet = placed(Pattern::Continuous { breath_ms: 300 });
    quiet.score.quiet_ddb = 140;
    rig.score(quiet);
    rig.run(20_000, 512);
    // 6 + 14 = 20 dB: a tenth.
    assert!((rig.at(0) - 0.05).abs() < 1e-5);
    assert!((rig.at(14_400) - 0.0125).abs() < 1e-5);
}

/// Source: docs/timing.md, "beat off": the same beats, not played; breath tones stay.
#[test]
fn a_beat_that_is_off_is_no_sound_and_is_not_reported() {
    let mut rig = Rig::new();
    let mut off = placed(Pattern::Continuous { breath_ms: 300 });
    off.score.quiet_ddb = 960;
    rig.score(off);
    rig.run(20_000, 512);
    assert_eq!(rig.seen.beats(), [0_u64; 0]);
    assert!(rig.at(0).abs() < 1e-9 && rig.at(14_400) > 0.01);
}

#[test]
fn nothing_is_louder_than_the_ceiling_and_a_beat_under_it_keeps_its_frame() {
    let mut rig = Rig::new();
    rig.score(placed(Pattern::Continuous { breath_ms: 0 }));
    rig.play(1, LOUD, Some(500));
    rig.play(2, LOUD, Some(510));
    rig.run(grid(3), 512);
    assert!(rig.out.iter().all(|s| s.abs() <= 0.891_252));
    assert_eq!(rig.seen.beats(), [0, grid(1), grid(2)]);
    let before = rig.at(grid(1) - 1);
    assert!(
        rig.at(grid(1)) > before,
        "beat 1 stands out of a limited tone"
    );
}

#[test]
fn too_many_cues_are_told_and_harm_nothing() {
    let mut rig = Rig::new();
    for id in 0..40 {
        rig.play(id, TONE, Some(10));
    }
    rig.run(10_000, 512);
    let late = rig.seen.0.iter().filter(|r| matches!(r, Report::Late(_)));
    assert_eq!((late.count(), rig.seen.frames(|_| true).len()), (24, 16));
}

#[test]
fn a_clip_that_is_not_there_begins_and_ends_and_nothing_hangs() {
    let mut rig = Rig::new();
    rig.play(1, ClipId(200), Some(10));
    rig.run(10_000, 512);
    assert_eq!(rig.seen.frames(|_| true), [480]);
    assert_eq!(rig.heard(), [0_u64; 0]);
}

#[test]
fn a_timeline_maps_both_ways_and_its_slope_is_limited() {
    let line = Timeline::new(1000, 5000, 500);
    assert_eq!(line.frame(5000), 1000);
    assert_eq!(line.frame(5000 + 2_000_000), 1000 + 2_001_000);
    assert_eq!(line.tick(1000 + 2_001_000), 5000 + 2_000_000);
    assert_eq!(line.frame(0), 0);
    assert_eq!(Timeline::new(0, 0, 90_000).ppm(), 1000);
    assert_eq!(Timeline::new(0, 0, -90_000).ppm(), -1000);
}

#[derive(Clone, Debug)]
enum Act {
    Message(Message),
    Run(usize),
}

fn patterns() -> impl Strategy<Value = Pattern> {
    prop_oneof![
        (0u32..3000).prop_map(|breath_ms| Pattern::Silent { breath_ms }),
        (0u32..3000).prop_map(|breath_ms| Pattern::Continuous { breath_ms }),
        (1u16..=30, 500u32..5000, 0u8..=5).prop_map(|(beats, window_ms, breaths)| Pattern::Ratio {
            beats,
            window_ms,
            breaths
        }),
    ]
}

prop_compose! {
    fn scores()(
        pattern in patterns(),
        rate in 60u16..=300,
        quiet_ddb in 0u16..300,
        anchor_ms in 0u64..6000,
        lead in 0u32..10,
        from_ms in 0u64..6000,
        breath_from_ms in 0u64..6000,
        given in 0u64..300_000,
    ) -> Message {
        let score = Score { rate: Rate::new(rate).unwrap(), pattern, quiet_ddb };
        Message::Score {
            placed: Placed { score, anchor_ms, lead, from_ms, breath_from_ms },
            given,
        }
    }
}

fn acts() -> impl Strategy<Value = Act> {
    let message = prop_oneof![
        4 => scores(),
        4 => (0u32..20, 4u8..8, prop::option::of(0u64..300_000)).prop_map(|(id, clip, start)| {
            let clip = ClipId(clip);
            let bus = if clip == VOICE { Bus::Voice } else { Bus::Tone };
            Message::Play(Play { id, clip, bus, start })
        }),
        2 => (0u32..20).prop_map(Message::Revoke),
        1 => (0u16..1000, 0u16..300, 0u16..300).prop_map(|(beat_ddb, breath_ddb, cue_ddb)| {
            Message::Levels(Gains { beat_ddb, breath_ddb, cue_ddb })
        }),
        1 => (0u64..300_000, 0u64..300_000, -2000i32..2000)
            .prop_map(|(f, t, ppm)| Message::Timeline(Timeline::new(f, t, ppm))),
        1 => Just(Message::Rest),
    ];
    prop_oneof![
        message.prop_map(Act::Message),
        (1usize..30_000).prop_map(Act::Run)
    ]
}

fn perform(acts: &[Act], mut block: impl FnMut() -> usize) -> (Vec<f32>, Vec<Report>) {
    let mut rig = Rig::new();
    for act in acts {
        match act {
            Act::Message(message) => rig.take(*message),
            Act::Run(frames) => {
                let end = rig.mixer.frame() + u64::try_from(*frames).unwrap();
                while rig.mixer.frame() < end {
                    let size = u64::try_from(block()).unwrap();
                    let next = end.min(rig.mixer.frame() + size);
                    rig.run(next, usize::MAX);
                }
            }
        }
    }
    (rig.out, rig.seen.0)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn the_output_does_not_depend_on_the_size_of_blocks(
        acts in prop::collection::vec(acts(), 1..40),
        sizes in prop::collection::vec(1usize..=4096, 1..20),
    ) {
        let (out, reports) = perform(&acts, || 4096);
        let mut turn = sizes.iter().cycle();
        let (other_out, other_reports) = perform(&acts, || *turn.next().unwrap());
        prop_assert_eq!(reports, other_reports);
        prop_assert!(out == other_out);
        prop_assert!(out.iter().all(|s| s.abs() <= 0.891_252));
    }
}
