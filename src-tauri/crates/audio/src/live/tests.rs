#![expect(
    clippy::arithmetic_side_effects,
    reason = "expected values are plain arithmetic; a test may overflow"
)]

use assert_no_alloc::{AllocDisabler, assert_no_alloc};
use beat::{Pattern, Placed, Rate, Score};
use conduct::Levels;
use cycle::{Cue, CueId, CueSound, Prompt, Start, Tone};
use render::What;
use rtrb::RingBuffer;

use super::*;
use crate::pack::Pack;

/// Ends the test process at the first allocation inside [`assert_no_alloc`].
#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

struct Rig {
    live: Live,
    told: Producer<Told>,
    reports: Consumer<Report>,
    gauge: Arc<Gauge>,
    now_ns: u64,
    out: Vec<f32>,
}

const BLOCK_NS: u64 = 512_000_000 / 48;

impl Rig {
    fn new(reports: usize) -> Self {
        let bank = Arc::new(Bank::new(&Pack::built_in(), 48_000).unwrap());
        let (told, from_control) = RingBuffer::new(256);
        let (to_control, reports) = RingBuffer::new(reports);
        let gauge = Arc::new(Gauge::default());
        let live = Live::new(bank, from_control, to_control, Arc::clone(&gauge));
        let mut rig = Self {
            live,
            told,
            reports,
            gauge,
            now_ns: 1_000_000_000,
            out: Vec::with_capacity(48_000 * 120),
        };
        rig.told.push(Told::Offset(-1_000_000_000)).unwrap();
        rig
    }

    fn order(&mut self, order: Order) {
        let now = Ms(self.now_ns / 1_000_000 - 1000);
        self.told.push(Told::Order(now, order)).unwrap();
    }

    /// Run time, ms.
    fn now(&self) -> u64 {
        self.now_ns / 1_000_000 - 1000
    }

    fn play(&mut self, blocks: u64) {
        for _ in 0..blocks {
            let mut block = [0.0; 512];
            assert_no_alloc(|| {
                self.live
                    .stamp(512, self.now_ns, self.now_ns + 2 * BLOCK_NS);
                let (a, b) = block.split_at_mut(256);
                self.live.fill(a);
                self.live.fill(b);
            });
            self.out.extend(block);
            self.now_ns += BLOCK_NS;
        }
    }

    fn began(&mut self) -> Vec<(What, u64)> {
        let mut all = Vec::new();
        while let Ok(report) = self.reports.pop() {
            if let Report::Begun { what, frame, .. } = report {
                all.push((what, frame));
            }
        }
        all
    }
}

fn score(pattern: Pattern, at: u64) -> Order {
    Order::Score(Placed {
        score: Score {
            rate: Rate::new(110).unwrap(),
            pattern,
            quiet_ddb: 0,
        },
        anchor_ms: at,
        lead: 0,
        from_ms: at,
        breath_from_ms: at,
    })
}

fn cue(id: u32, sound: CueSound, start: Start) -> Order {
    Order::Play(Cue {
        id: CueId(id),
        sound,
        start,
        len_ms: 300,
    })
}

#[test]
fn nothing_is_allocated_on_any_path() {
    // Too few places for the reports, so that the way past a full ring is taken too.
    let mut rig = Rig::new(8);
    rig.play(60);
    let patterns = [
        Pattern::Continuous { breath_ms: 1000 },
        Pattern::Ratio {
            beats: 3,
            window_ms: 500,
            breaths: 2,
        },
        Pattern::Silent { breath_ms: 700 },
        Pattern::Silent { breath_ms: 0 },
    ];
    let mut id = 0;
    for pattern in patterns {
        let now = rig.now();
        rig.order(score(pattern, now + 25));
        rig.play(100);
        for prompt in Prompt::ALL {
            let at = Start::At(Ms(rig.now() + 100));
            rig.order(cue(id, CueSound::Voice(*prompt), at));
            rig.order(cue(id + 1, CueSound::Tone(Tone::Attention), Start::Now));
            rig.order(cue(id + 2, CueSound::Voice(*prompt), Start::Now));
            rig.order(cue(id + 3, CueSound::Voice(*prompt), Start::At(Ms(0))));
            rig.play(20);
            rig.order(Order::Revoke(CueId(id)));
            rig.order(Order::Levels(Levels::default()));
            rig.play(5);
            id += 4;
        }
        // More tones at once than there are places, so that the limiter works and some give way.
        for _ in 0..40 {
            rig.order(cue(id, CueSound::Tone(Tone::Attention), Start::Now));
            id += 1;
        }
        rig.play(20);
        // A loss, an underrun, and a clock that leaps.
        rig.now_ns += 300_000_000;
        rig.play(20);
        assert_no_alloc(|| rig.gauge.notice(Trouble::Underrun));
        rig.now_ns += 50_000_000;
        rig.play(20);
        rig.told.push(Told::Zero(-5_000_000)).unwrap();
        rig.told.push(Told::Offset(-900_000_000)).unwrap();
        rig.play(600);
        rig.told.push(Told::Offset(-1_000_000_000)).unwrap();
        rig.told.push(Told::Zero(0)).unwrap();
        rig.play(20);
        rig.order(Order::Rest);
        rig.play(20);
    }
    assert!(rig.gauge.jumps.load(Relaxed) >= 8);
    // Forty tones of 0.89 at once are held down to what the limiter lets through.
    let loudest = rig.out.iter().fold(0.0_f32, |most, s| most.max(s.abs()));
    assert!(
        (0.84..0.8913).contains(&loudest),
        "the limiter worked: {loudest}"
    );
}

#[test]
fn beats_are_whole_periods_apart_and_a_loss_leaves_out_only_what_fell_into_it() {
    let mut rig = Rig::new(1024);
    rig.play(60);
    let anchor = rig.now() + 25;
    rig.order(score(Pattern::Continuous { breath_ms: 0 }, anchor));
    rig.play(300);
    rig.now_ns += 300_000_000;
    rig.play(300);
    let frames: Vec<u64> = rig.began().into_iter().map(|(_, f)| f).collect();
    assert_eq!(rig.gauge.jumps.load(Relaxed), 1);
    // 60 * 48000 / 110 = 26181.8 frames; 300 ms are 14400.
    let odd: Vec<u64> = frames
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|d| d.abs_diff(26_182) > 1)
        .collect();
    assert_eq!(odd.len(), 1, "{frames:?}");
    assert!(
        odd[0].abs_diff(26_182 - 14_400) <= 2 || odd[0].abs_diff(2 * 26_182 - 14_400) <= 2,
        "{odd:?}"
    );
}

#[test]
fn the_first_beat_sounds_in_its_place_25_ms_after_it_was_ordered() {
    let mut rig = Rig::new(1024);
    rig.play(60);
    let (now_ns, now) = (rig.now_ns, rig.now());
    rig.order(score(Pattern::Continuous { breath_ms: 0 }, now + 25));
    let frame = rig.live.mixer.frame();
    rig.play(10);
    let began = rig.began();
    let wanted = frame + (1000 + now + 25) * 48 - now_ns * 48 / 1_000_000;
    assert!(began[0].1.abs_diff(wanted) <= 1, "{began:?}, {wanted}");
}

#[test]
fn a_run_whose_zero_is_told_together_with_its_first_score_begins_with_the_first_beat() {
    let mut rig = Rig::new(1024);
    // Hours after the boot, before any run: the run's zero is the boot.
    rig.told.push(Told::Offset(9_000_000_000_000)).unwrap();
    rig.play(60);
    let zero = rig.now_ns + 9_000_000_000_000;
    rig.told
        .push(Told::Zero(i64::try_from(zero).unwrap()))
        .unwrap();
    let Order::Score(placed) = score(Pattern::Continuous { breath_ms: 0 }, 25) else {
        unreachable!()
    };
    rig.told
        .push(Told::Order(Ms(0), Order::Score(placed)))
        .unwrap();
    let frame = rig.live.mixer.frame();
    rig.play(10);
    let began = rig.began();
    assert!(began[0].1.abs_diff(frame + 25 * 48) <= 1, "{began:?}");
}

#[test]
fn the_latency_counts_what_the_device_takes_and_what_the_limiter_looks_ahead() {
    let mut rig = Rig::new(64);
    rig.play(40);
    // Two blocks of the device, and 142 frames at 48 kHz.
    let expected = i64::try_from(2 * BLOCK_NS + 142_000_000 / 48).unwrap();
    let found = rig.gauge.latency_ns.load(Relaxed);
    assert!(found.abs_diff(expected) < 50_000, "{found}, not {expected}");
}

/// What is played is what was made, sample by sample: neither the gain nor the limiter changes it. A prompt of a run
/// cuts it off.
#[test]
fn a_sound_of_the_listening_test_goes_the_way_of_the_voices_untouched_and_gives_way() {
    let mut rig = Rig::new(64);
    rig.play(60);
    let stimulus = listening::Stimulus {
        prompt: Prompt::Off15,
        level: listening::Level::ALL[0],
        seed: 9,
    };
    let sound = trial::made(&Pack::built_in(), stimulus, 48_000).unwrap();
    let begins = |rig: &mut Rig, id: u32| {
        let told = Told::Trial(CueId(id), Arc::clone(&sound));
        rig.told.push(told).unwrap();
        let from = usize::try_from(rig.live.mixer.frame()).unwrap() + Mixer::DELAY;
        rig.play(1);
        assert_eq!(
            rig.began().last().map(|(what, _)| *what),
            Some(What::Cue(id))
        );
        from
    };
    let from = begins(&mut rig, 900);
    rig.play(u64::try_from(sound.len()).unwrap() / 512 + 8);
    let heard = &rig.out[from..from + sound.len()];
    let off = heard
        .iter()
        .zip(sound.iter())
        .map(|(heard, made)| (heard - f32::from(*made) / 32_768.0).abs())
        .fold(0.0, f32::max);
    assert!(off < 1e-6, "{off}");
    let most = heard.iter().fold(0.0_f32, |most, s| most.max(s.abs()));
    assert!(most > 0.5, "{most}");
    // A voice of a run begins: 10 ms later nothing of the test is heard.
    let from = begins(&mut rig, 901);
    rig.play(30);
    let at = rig.now();
    rig.order(cue(1, CueSound::Tone(Tone::Attention), Start::Now));
    rig.order(Order::Revoke(CueId(901)));
    rig.play(1);
    let (cut, gone) = (rig.out.len(), rig.now());
    assert!(gone > at);
    rig.play(120);
    assert!(rig.out[from + 4800..cut].iter().any(|s| s.abs() > 0.1));
    let after = &rig.out[cut + Mixer::DELAY + 48_000..];
    assert!(after.iter().all(|s| s.abs() < 1e-6), "it goes on");
    let mut rest = Vec::new();
    while let Ok(report) = rig.reports.pop() {
        rest.push(report);
    }
    assert!(rest.contains(&Report::Cut(901)), "{rest:?}");
    let _cut_by_a_voice = begins(&mut rig, 902);
    rig.order(cue(2, CueSound::Voice(Prompt::ChkNow), Start::Now));
    rig.play(4);
    let mut cut = false;
    while let Ok(report) = rig.reports.pop() {
        cut |= report == Report::Cut(902);
    }
    assert!(cut, "a run's voice goes first");
}

/// A stream that was just opened has no line yet, and after a stall the old one is in doubt: the sound waits, so that
/// the moment at which it began can be told. One that is taken back meanwhile never begins.
#[test]
fn a_sound_of_the_listening_test_begins_once_it_can_be_dated() {
    let mut rig = Rig::new(64);
    let sound: Sound = vec![9000_i16; 480].into();
    let tell = |rig: &mut Rig, id: u32| {
        let told = Told::Trial(CueId(id), Arc::clone(&sound));
        rig.told.push(told).unwrap();
    };
    let begun = |rig: &mut Rig| {
        let at = rig.now() * 48;
        rig.play(1);
        let mut found = None;
        while let Ok(report) = rig.reports.pop() {
            if let Report::Begun { what, tick, .. } = report {
                let tick = tick.expect("its date");
                assert!(tick.abs_diff(at) < 96, "{what:?}: {tick}, not {at}");
                found = Some(what);
            }
        }
        found
    };
    tell(&mut rig, 900);
    for block in 0..11 {
        assert_eq!(begun(&mut rig), None, "block {block}");
    }
    assert_eq!(begun(&mut rig), Some(What::Cue(900)), "with the first line");
    rig.play(60);
    rig.now_ns += 100_000_000;
    tell(&mut rig, 901);
    assert_eq!(begun(&mut rig), None, "the buffer ran dry");
    assert_eq!(begun(&mut rig), Some(What::Cue(901)));
    rig.play(60);
    rig.now_ns += 100_000_000;
    tell(&mut rig, 902);
    assert_eq!(begun(&mut rig), None);
    rig.order(Order::Revoke(CueId(902)));
    for _ in 0..60 {
        assert_eq!(begun(&mut rig), None, "taken back");
    }
}

/// Asked for before it is made it is silent, and nothing waits for it.
#[test]
fn noise_lies_under_the_beats_allocates_nothing_and_no_report_is_of_it() {
    let mut rig = Rig::new(1024);
    rig.play(20);
    let bank = Arc::clone(&rig.live.bank);
    rig.order(Order::Noise(true));
    rig.play(20);
    assert!(rig.out.iter().all(|s| *s == 0.0), "it is not made yet");
    bank.make_noise();
    rig.order(score(Pattern::Continuous { breath_ms: 0 }, rig.now()));
    rig.play(100);
    let is_noisy = |rig: &Rig| {
        let last = &rig.out[rig.out.len() - 512..];
        last.iter().any(|s| *s != 0.0)
    };
    let beats = rig.began();
    assert!(beats.iter().all(|(what, _)| matches!(what, What::Score(_))));
    assert_eq!(beats.len(), 2, "{beats:?}");
    assert!(is_noisy(&rig));
    rig.order(Order::Noise(false));
    rig.order(Order::Rest);
    rig.play(60);
    assert!(!is_noisy(&rig));
}

/// Half a second of 48,000 frames a second, of which 100 ms are on their way.
#[test]
fn what_is_filled_and_on_its_way_is_not_heard_yet() {
    let gauge = Gauge::default();
    gauge.fill(24_000, 24_000);
    assert_eq!(
        gauge.heard(48_000),
        24_000,
        "nothing is known of the device"
    );
    gauge.latency_ns.store(100_000_000, Relaxed);
    assert_eq!(gauge.heard(48_000), 19_200);
    gauge.latency_ns.store(1_000_000_000, Relaxed);
    assert_eq!(gauge.heard(48_000), 0);
}

#[test]
fn frames_are_summed_through_two_streams_block_by_block() {
    let mut rig = Rig::new(64);
    rig.play(3);
    let bank = Arc::new(Bank::new(&Pack::built_in(), 48_000).unwrap());
    let ((_told, from_control), (to_control, _reports)) = (RingBuffer::new(8), RingBuffer::new(8));
    let mut next = Live::new(bank, from_control, to_control, Arc::clone(&rig.gauge));
    next.stamp(512, rig.now_ns, rig.now_ns);
    assert_eq!(rig.gauge.frames.load(Relaxed), 512, "of the open stream");
    assert_eq!(rig.gauge.played.load(Relaxed), 4 * 512);
}
