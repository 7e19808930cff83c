#![expect(
    clippy::arithmetic_side_effects,
    reason = "expected values are plain arithmetic; a test may overflow"
)]

use super::*;

const HZ: u32 = 48_000;
const BLOCK: u32 = 512;
const BLOCK_NS: i64 = 512_000_000 / 48;

/// A device that plays blocks back to back, heard 20 ms after they are asked for, and whose stamps
/// waver. The run clock is 7 s ahead of the stream's.
struct Device {
    follow: Follow,
    frame: u64,
    /// Stream time at which the next block is asked for, in thousandths of ns.
    now_ps: i64,
    /// How much slower than it says the device plays, ppm.
    slow_ppm: i64,
    waver_ns: i64,
    /// What the stamps say beside the truth.
    lie_ns: i64,
    /// Every other fifth of a second the blocks are asked for so much sooner.
    ragged_ns: i64,
    seed: u64,
    moves: Vec<Moved>,
    line: Option<Timeline>,
}

const OFFSET_NS: i64 = 7_000_000_000;
const AHEAD_NS: i64 = 20_000_000;

impl Device {
    fn new(waver_ns: i64, slow_ppm: i64) -> Self {
        let mut follow = Follow::new(HZ);
        follow.set_offset(OFFSET_NS);
        Self {
            follow,
            frame: 0,
            now_ps: 1_000_000_000_000,
            slow_ppm,
            waver_ns,
            lie_ns: 0,
            ragged_ns: 0,
            seed: 1,
            moves: Vec::new(),
            line: None,
        }
    }

    fn waver(&mut self) -> i64 {
        self.seed = self
            .seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let part = i64::try_from(self.seed >> 33).unwrap();
        part % (2 * self.waver_ns + 1) - self.waver_ns
    }

    fn block(&mut self, is_underrun: bool) {
        let now = self.now_ps / 1000;
        let heard = now + AHEAD_NS + self.lie_ns + self.waver();
        let is_sooner = self.frame / u64::from(BLOCK) / 20 % 2 == 1;
        let now = now - if is_sooner { self.ragged_ns } else { 0 };
        let moved = self.follow.look(Stamp {
            frame: self.frame,
            frames: BLOCK,
            now_ns: u64::try_from(now).unwrap(),
            heard_ns: u64::try_from(heard).unwrap(),
            is_underrun,
        });
        if let Some((line, moved)) = moved {
            self.line = Some(line);
            self.moves.push(moved);
        }
        self.frame += u64::from(BLOCK);
        self.now_ps += BLOCK_NS * 1000 + BLOCK_NS * self.slow_ppm / 1000;
    }

    fn play(&mut self, seconds: i64) {
        for _ in 0..seconds * 1_000_000_000 / BLOCK_NS {
            self.block(false);
        }
    }

    /// The next block is asked for when the buffer has been empty for so long; then it is filled up at once.
    fn starve(&mut self, us: i64) {
        let mut heard = self.now_ps / 1000 + AHEAD_NS + us * 1000;
        let mut now = heard;
        while heard - now < AHEAD_NS {
            self.now_ps = now * 1000;
            self.lie_ns = heard - now - AHEAD_NS;
            self.block(false);
            heard += BLOCK_NS;
            now += 100_000;
        }
        self.now_ps = (heard - AHEAD_NS) * 1000;
        self.lie_ns = 0;
    }

    fn stall(&mut self, ms: i64) {
        self.now_ps += ms * 1_000_000_000;
    }

    /// How late the next frame will be heard against what the line promises, microseconds.
    fn off_us(&self) -> i64 {
        let promised = i64::try_from(self.line.unwrap().tick(self.frame)).unwrap() * 1_000_000 / 48;
        let truly = self.now_ps / 1000 + AHEAD_NS + OFFSET_NS;
        (truly - promised - self.follow.latency_ns()) / 1000
    }
}

#[test]
fn a_line_is_begun_within_a_quarter_second() {
    let mut device = Device::new(1_000_000, 0);
    for _ in 0..23 {
        device.block(false);
    }
    assert_eq!(device.moves, [Moved::Begun]);
    assert!((device.follow.latency_ns() - AHEAD_NS).abs() <= 1_000_000);
}

#[test]
fn stamps_that_waver_by_2_ms_move_nothing_in_ten_minutes() {
    let mut device = Device::new(2_000_000, 0);
    device.play(600);
    assert_eq!(device.moves, [Moved::Begun]);
}

#[test]
fn a_loss_is_made_good_in_the_first_block_after_it() {
    for ms in [100, 300, 500, 2000] {
        let mut device = Device::new(1_000_000, 0);
        device.play(10);
        let before = device.off_us();
        device.stall(ms);
        device.block(false);
        assert_eq!(device.moves.len(), 2, "{ms} ms");
        assert!(
            (device.off_us() - before).abs() < 2500,
            "{ms} ms: {}",
            device.off_us()
        );
        device.play(5);
        let after = (device.off_us() - before).abs();
        assert!(after <= 1500, "{ms} ms: {after} us after it has settled");
    }
}

/// What a sound server's stamps were off the truth by after a loss of 12 ms, measured: ms since, us. It reckons with what
/// it saw in the last seconds.
#[rustfmt::skip]
const RECKONED: [(i64, i64); 12] = [
    (0, 3730), (500, 2810), (850, 840), (1200, -370), (1560, -3200), (1920, -4750),
    (2270, -6340), (2990, -8640), (3700, -11_580), (4050, -13_060), (5000, -6000), (6500, 0),
];

/// The same after a loss of 15 ms on a machine with 40 busy programs a core, measured: they run off by 10 ms a second and
/// are pulled back.
#[rustfmt::skip]
const RUN_OFF: [(i64, i64); 22] = [
    (0, 10_100), (220, 9500), (450, 7500), (690, 3400), (910, 1500), (1140, -500), (1490, -7250), (2050, -13_500),
    (2390, -17_300), (2500, -16_200), (2960, -22_000), (3870, -30_100), (3980, -21_300), (5460, -32_600), (5580, -15_700),
    (6940, -23_300), (7050, -10_900), (7960, -14_400), (8800, -9000), (9900, -5000), (11_000, -2000), (12_000, 0),
];

#[test]
fn what_a_server_reckons_wrongly_after_a_loss_does_not_move_the_line_far() {
    let mut device = Device::new(300_000, 0);
    // Where the asking tells nothing.
    device.ragged_ns = 8_000_000;
    let (worst, _, off) = reckoned(&mut device, &RECKONED);
    assert!(worst <= 4200, "{worst} us at worst");
    assert!(off <= 1200, "{off} us after 12 s");
}

#[test]
fn stamps_that_run_off_after_a_loss_do_not_take_the_line_along() {
    for lies in [&RUN_OFF[..], &RECKONED[..]] {
        let mut device = Device::new(300_000, 0);
        let (_, worst, off) = reckoned(&mut device, lies);
        assert!(worst <= 2000, "{worst} us at worst, half a second on");
        assert!(off <= 1200, "{off} us after 12 s");
        // Once they stay they are believed again, also where the sound has become later alone.
        let before = device.off_us();
        device.lie_ns = 0;
        device.play(10);
        assert!((device.off_us() - before).abs() <= 1200);
        let moves = device.moves.len();
        device.lie_ns = 7_000_000;
        device.play(2);
        assert_eq!(device.moves.len(), moves + 1, "{:?}", device.moves);
    }
}

/// Plays 12 s after a loss while the stamps lie so: how far the line was off at worst, at worst half a second after the
/// loss, and in the end, us.
fn reckoned(device: &mut Device, lies: &[(i64, i64)]) -> (i64, i64, i64) {
    device.play(10);
    let before = device.off_us();
    device.stall(60);
    let begun = device.now_ps / 1_000_000_000;
    let (mut worst, mut later) = (0, 0);
    for _ in 0..12_000_000_000 / BLOCK_NS {
        let ms = device.now_ps / 1_000_000_000 - begun;
        let next = lies.iter().position(|(at, _)| *at > ms);
        let next = next.unwrap_or(lies.len() - 1).max(1);
        let ((t0, y0), (t1, y1)) = (lies[next - 1], lies[next]);
        device.lie_ns = 1000 * (y0 + (y1 - y0) * (ms.min(t1) - t0) / (t1 - t0));
        device.block(false);
        let off = (device.off_us() - before).abs();
        worst = worst.max(off);
        later = later.max(if ms > 500 { off } else { 0 });
    }
    (worst, later, (device.off_us() - before).abs())
}

#[test]
fn what_was_set_in_haste_is_set_right_once_the_stamps_stay() {
    let mut device = Device::new(100_000, 0);
    device.ragged_ns = 8_000_000;
    device.play(10);
    let before = device.off_us();
    device.stall(300);
    // The first stamps after the loss are 8 ms off, and so is the line.
    device.lie_ns = 8_000_000;
    for _ in 0..40 {
        device.block(false);
    }
    assert!((device.off_us() - before).abs() > 7000);
    for left in (0..90).rev() {
        device.lie_ns = 8_000_000 * left / 90;
        device.block(false);
    }
    device.play(2);
    let off = (device.off_us() - before).abs();
    assert!(off <= 1200, "{off} us");
}

#[test]
fn many_small_losses_do_not_add_up() {
    let mut device = Device::new(500_000, 0);
    device.play(10);
    let before = device.off_us();
    for n in 1..=20 {
        device.starve(3000);
        device.play(2);
        let off = (device.off_us() - before).abs();
        assert!(off <= 2000, "{off} us after {n} losses of 3 ms");
    }
}

#[test]
fn after_the_buffer_ran_dry_nothing_is_trusted_until_a_stamp_agrees() {
    for stale in 0..3 {
        let mut device = Device::new(500_000, 0);
        device.play(10);
        let before = device.off_us();
        device.stall(300);
        // The first stamps are those of before the stall.
        for _ in 0..stale {
            device.lie_ns = -300_000_000;
            device.block(false);
            assert!(device.follow.is_in_doubt(), "{stale} stale stamps");
        }
        device.lie_ns = 0;
        device.block(false);
        assert!(device.follow.is_in_doubt(), "{stale} stale stamps");
        device.block(false);
        assert!(!device.follow.is_in_doubt(), "{stale} stale stamps");
        let off = (device.off_us() - before).abs();
        assert!(off < 2000, "{stale} stale stamps: {off} us");
    }
}

/// A stall of 300 ms as a sound server's stamps told it, measured: us since the sound went on, and how far
/// ahead of being heard each block of 682 frames was given. The sound itself went on at once and stayed;
/// the server said "empty" for 20 blocks, then counted up.
#[rustfmt::skip]
const COUNTS_LATE: [(i64, i64); 30] = [
    (0, 0), (170, 0), (190, 0), (10_660, 0), (20_720, 0),
    (40_710, 0), (50_830, 0), (71_020, 0), (81_090, 0), (91_140, 0),
    (111_320, 0), (121_430, 0), (141_530, 0), (151_720, 0), (161_800, 0),
    (181_810, 0), (191_870, 0), (211_900, 0), (221_900, 0), (232_010, 3710),
    (252_170, 17_920), (262_070, 32_120), (282_080, 30_670), (292_170, 34_770), (312_510, 28_650),
    (322_620, 32_850), (332_670, 36_900), (352_780, 31_000), (362_880, 35_100), (383_010, 29_170),
];

#[test]
fn a_server_that_counts_late_after_a_stall_moves_the_line_once() {
    const FRAMES: u32 = 682;
    let mut follow = Follow::new(HZ);
    follow.set_offset(OFFSET_NS);
    let mut first = 0_u64;
    let mut seen = Vec::new();
    let mut block = |follow: &mut Follow, now_ns: i64, ahead_ns: i64| {
        let moved = follow.look(Stamp {
            frame: first,
            frames: FRAMES,
            now_ns: u64::try_from(now_ns).unwrap(),
            heard_ns: u64::try_from(now_ns + ahead_ns).unwrap(),
            is_underrun: false,
        });
        seen.extend(moved.map(|m| m.1));
        first += u64::from(FRAMES);
        follow.is_in_doubt()
    };
    let span = i64::from(FRAMES) * 1_000_000_000 / i64::from(HZ);
    let mut now = 1_000_000_000;
    for _ in 0..400 {
        block(&mut follow, now, 37_000_000);
        now += span;
    }
    // The last block but this many ns had sounded when the sound went on.
    now += 300_000_000;
    let mut doubted = Vec::new();
    for (at, ahead) in COUNTS_LATE {
        doubted.push(block(&mut follow, now + at * 1000, ahead * 1000));
    }
    let sure = doubted.iter().position(|d| !d);
    assert_eq!(sure, Some(21), "the first block whose stamp agrees");
    assert!(doubted.iter().skip(21).all(|d| !d), "{doubted:?}");
    assert!(
        matches!(seen[..], [Moved::Begun, Moved::Jumped(ns)] if (ns - 263_000_000).abs() < 1_000_000),
        "{seen:?}"
    );
}

#[test]
fn what_seems_to_come_earlier_is_believed_when_it_lasts() {
    let mut device = Device::new(500_000, 0);
    device.play(10);
    device.stall(300);
    // The server says at first that a block more is in the buffer than there is.
    device.lie_ns = 10_700_000;
    for _ in 0..3 {
        device.block(false);
    }
    device.lie_ns = 0;
    for _ in 0..12 {
        device.block(false);
    }
    assert!(device.off_us().abs() > 8_000, "{}", device.off_us());
    device.play(1);
    assert!(device.off_us().abs() < 1_500, "{}", device.off_us());
}

#[test]
fn stamps_that_waver_by_more_than_a_loss_do_not_silence_the_beat() {
    let mut device = Device::new(0, 0);
    device.play(10);
    device.stall(300);
    let mut doubted = 0;
    for n in 0..400 {
        device.lie_ns = if n % 2 == 0 { 0 } else { 9_000_000 };
        device.block(false);
        doubted += u32::from(device.follow.is_in_doubt());
    }
    assert!(doubted <= 8, "{doubted} of 400 blocks");
}

#[test]
fn stamps_that_say_nothing_any_more_do_not_silence_the_beat() {
    let mut device = Device::new(0, 0);
    device.play(10);
    device.stall(60);
    // From here on each block is to be heard at once, whatever the buffer holds.
    device.lie_ns = -AHEAD_NS;
    let mut doubted = 0;
    for _ in 0..1000 {
        device.block(false);
        doubted += u32::from(device.follow.is_in_doubt());
    }
    assert!(doubted <= 32, "{doubted} of 1000 blocks");
}

#[test]
fn a_device_that_never_tells_what_its_buffer_holds_is_not_doubted() {
    let mut device = Device::new(4_000_000, 0);
    device.lie_ns = -AHEAD_NS;
    device.waver_ns = 0;
    for n in 0..4000 {
        // Asked for in pairs: 5 ms early, 5 ms late.
        let early = if n % 2 == 0 { 0 } else { 4_000_000_000 };
        device.now_ps += early;
        device.block(false);
        device.now_ps -= early;
        assert!(!device.follow.is_in_doubt(), "block {n}");
    }
    assert_eq!(device.moves, [Moved::Begun]);
}

/// A sound server that opens a stream before it plays or counts says at first that all is heard at once.
#[test]
fn a_stream_that_tells_nothing_at_first_is_begun_with_what_it_tells_then() {
    let mut device = Device::new(0, 0);
    device.lie_ns = -AHEAD_NS;
    for _ in 0..30 {
        device.block(false);
    }
    assert_eq!(device.moves, []);
    device.lie_ns = 0;
    device.play(10);
    assert_eq!(device.moves, [Moved::Begun]);
    assert_eq!(device.follow.latency_ns(), AHEAD_NS);
    assert!(device.off_us().abs() <= 21, "{} us", device.off_us());
}

#[test]
fn a_stream_that_never_tells_anything_is_begun_after_a_second() {
    let mut device = Device::new(0, 0);
    device.lie_ns = -AHEAD_NS;
    device.play(1);
    assert_eq!(device.moves, []);
    device.play(1);
    assert_eq!(device.moves, [Moved::Begun]);
    assert!(!device.follow.is_told());
}

/// The crew hears one grid, whatever stream plays it.
#[test]
fn the_next_stream_is_heard_as_long_after_run_time_as_the_one_before() {
    for kept in [AHEAD_NS - 15_000_000, AHEAD_NS + 15_000_000] {
        let mut device = Device::new(0, 0);
        device.follow = device.follow.after(kept);
        device.play(10);
        assert_eq!(device.follow.latency_ns(), kept);
        // Late by nothing against a line that is heard so long after its run time.
        assert!(device.off_us().abs() <= 21, "{} us", device.off_us());
        device.stall(300);
        device.play(2);
        // Each line begins on a whole frame, 21 us.
        assert!(
            device.off_us().abs() <= 60,
            "{} us after a loss",
            device.off_us()
        );
    }
    // A quicker or a slower device has its own.
    for kept in [AHEAD_NS - 15_000_001, AHEAD_NS + 15_000_001] {
        let mut device = Device::new(0, 0);
        device.follow = device.follow.after(kept);
        device.play(10);
        assert_eq!(device.follow.latency_ns(), AHEAD_NS);
    }
}

#[test]
fn a_jump_takes_the_drift_of_before_with_it() {
    let mut device = Device::new(0, 50);
    device.play(10);
    let start = device.off_us();
    for _ in 0..40 {
        device.play(2);
        device.stall(300);
        device.play(1);
        let off = (device.off_us() - start).abs();
        assert!(off < 1000, "{off} us");
    }
}

#[test]
fn a_reported_underrun_without_loss_moves_nothing() {
    let mut device = Device::new(1_000_000, 0);
    device.play(10);
    device.block(true);
    device.play(10);
    assert_eq!(device.moves, [Moved::Begun]);
}

#[test]
fn a_loss_that_nothing_reports_is_found_within_half_a_second() {
    let mut device = Device::new(1_000_000, 0);
    device.play(10);
    // Less than the buffer, so that it cannot be told from a late callback at once.
    device.stall(12);
    for _ in 0..40 {
        device.block(false);
    }
    assert!(matches!(device.moves[..], [Moved::Begun, Moved::Jumped(_)]));
    assert!(device.off_us().abs() < 2500, "{}", device.off_us());
}

/// The clocks drift apart by so many ppm for an hour: how far the sound is astray at most, us, and the
/// steepest slope.
fn an_hour_of(ppm: i64) -> (i64, i32) {
    let mut device = Device::new(500_000, ppm);
    device.play(1);
    let start = device.off_us();
    let (mut most, mut steepest) = (0, 0);
    for _ in 0..3600 {
        device.play(1);
        most = most.max((device.off_us() - start).abs());
        steepest = steepest.max(device.line.unwrap().ppm().abs());
    }
    assert!(
        device.moves.iter().all(|m| !matches!(m, Moved::Jumped(_))),
        "{ppm} ppm: {:?}",
        device.moves
    );
    (most, steepest)
}

#[test]
fn drift_is_bent_away_and_never_jumped() {
    // A crystal is good for some 50 ppm, a bad one for 200. Noise of the stamps comes on top.
    for (ppm, astray_us) in [(10, 3_300), (50, 3_700), (200, 5_000), (300, 5_800)] {
        for ppm in [ppm, -ppm] {
            // The first look at the device may be wrong by as much as a stamp.
            let (most, steepest) = an_hour_of(ppm);
            assert!(most < astray_us, "{ppm} ppm: {most} us astray");
            let over = i64::from(steepest) - ppm.abs();
            assert!(over < 25 + ppm.abs() / 3, "{ppm} ppm: bent by {steepest}");
        }
    }
}

#[test]
fn a_run_clock_that_leaps_moves_the_line_at_once() {
    let mut device = Device::new(0, 0);
    device.play(10);
    device.follow.set_offset(OFFSET_NS + 3_000_000_000);
    device.block(false);
    let [Moved::Begun, Moved::Jumped(ns)] = device.moves[..] else {
        panic!("{:?}", device.moves);
    };
    assert!((ns - 3_000_000_000).abs() < 1000, "{ns}");
}

#[test]
fn a_run_clock_that_leaps_before_there_is_a_line_leaves_nothing_of_the_old_one_in_it() {
    for blocks in 0..30 {
        let mut device = Device::new(0, 0);
        device.follow.set_offset(9_000_000_000_000);
        for _ in 0..blocks {
            device.block(false);
        }
        device.follow.set_offset(OFFSET_NS);
        for _ in 0..30 {
            device.block(false);
            if device.line.is_some() {
                assert!(
                    device.off_us().abs() < 100,
                    "{blocks} blocks: {}",
                    device.off_us()
                );
            }
        }
        assert!(device.line.is_some());
    }
}

#[test]
fn without_the_run_clock_there_is_no_line() {
    let mut device = Device::new(0, 0);
    device.follow = Follow::new(HZ);
    device.play(2);
    assert_eq!(device.moves, []);
}
