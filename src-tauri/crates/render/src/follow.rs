//! Keeps the timeline true to the device: finds what an underrun or a stall has cost, and bends the
//! line where two clocks drift apart. Called on the audio thread.

use crate::Timeline;

/// Less than this is never taken for a loss, ns. Time stamps of sound servers waver by one or two
/// milliseconds; a lost buffer is longer.
const LOSS_NS: i64 = 5_000_000;
/// After a loss the line is set once more if it is off by more than this, ns.
const SETTLE_NS: i64 = 1_000_000;
/// Drift up to this is left alone, ns: a beat on the device's own grid is exact, and nobody hears two
/// clocks part by this much. It stays under the 20 ms by which light and sound may differ.
const DRIFT_NS: i64 = 15_000_000;
/// Once begun, the correction ends this near, ns.
const DRIFT_DONE_NS: i64 = 1_000_000;
/// Step of the correction, ppm: 0.1 ms a beat, far under what is heard. One more is taken as long as
/// the clocks do not come nearer.
const DRIFT_STEP_PPM: i32 = 200;
/// Share of a near median by which the reference follows it.
const FOLLOW: i64 = 8;
/// Blocks in a near median, about a quarter second.
const NEAR: usize = 16;
/// Near medians in a far median, some seconds.
const FAR: usize = 16;
/// Blocks that are passed over when a stream begins: they fill the buffer all at once.
const PASSED_OVER: u32 = 4;
/// Blocks that the first line is made of.
const FIRST: usize = 8;

/// What the device says at the beginning of a block. Both times are on the stream's own clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// First frame of the block.
    pub frame: u64,
    /// Frames in the block.
    pub frames: u32,
    /// Now, ns.
    pub now_ns: u64,
    /// When the block will be heard, ns.
    pub heard_ns: u64,
    /// The device has reported an underrun since the block before.
    pub is_underrun: bool,
}

/// Why a line was set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moved {
    /// The first one of this stream.
    Begun,
    /// Time was lost or won: ns, positive for a loss.
    Jumped(i64),
    /// The slope has changed, ppm.
    Bent(i32),
}

/// Follows the device's time stamps.
#[derive(Clone, Debug)]
pub struct Follow {
    hz: u32,
    /// Run clock less stream clock, ns.
    offset_ns: Option<i64>,
    timeline: Option<Timeline>,
    /// From a block's time on the run clock to the moment it is heard: the same for all sounds.
    latency_ns: i64,
    /// What the stamps were off by when the line was new.
    zero_ns: i64,
    /// What they are off by as the clocks have drifted since: losses are told from here.
    reference_ns: Option<i64>,
    passed_over: u32,
    near: Sorted<NEAR>,
    far: Sorted<FAR>,
    first: Sorted<FIRST>,
    ahead: Sorted<FIRST>,
    is_settling: bool,
    is_clock_set: bool,
    dry_at_ns: u64,
    /// How far apart the clocks were when that was looked at last, while they are brought together.
    bending_ns: Option<i64>,
}

impl Follow {
    /// For a stream of `hz` frames a second.
    pub fn new(hz: u32) -> Self {
        Self {
            hz,
            offset_ns: None,
            timeline: None,
            latency_ns: 0,
            zero_ns: 0,
            reference_ns: None,
            passed_over: 0,
            near: Sorted::new(),
            far: Sorted::new(),
            first: Sorted::new(),
            ahead: Sorted::new(),
            is_settling: false,
            is_clock_set: false,
            dry_at_ns: u64::MAX,
            bending_ns: None,
        }
    }

    /// Run clock less stream clock, ns. A leap (the system slept, another run began) moves the line
    /// at once.
    pub fn set_offset(&mut self, ns: i64) {
        let leap = self
            .offset_ns
            .is_some_and(|before| ns.saturating_sub(before).saturating_abs() > LOSS_NS);
        if leap && self.timeline.is_none() {
            // What was gathered for the first line is of the clock before.
            self.first = Sorted::new();
            self.ahead = Sorted::new();
        }
        self.is_clock_set |= leap && self.timeline.is_some();
        self.offset_ns = Some(ns);
    }

    /// The latency that the line was set with: how long after its run time a sound is heard, ns.
    pub fn latency_ns(&self) -> i64 {
        self.latency_ns
    }

    /// Looks at a block's stamp; gives a new line if there is to be one.
    pub fn look(&mut self, stamp: Stamp) -> Option<(Timeline, Moved)> {
        let offset = self.offset_ns?;
        let ran_dry = stamp.now_ns > self.dry_at_ns;
        let span = ns_of(u64::from(stamp.frames), self.hz);
        self.dry_at_ns = stamp
            .heard_ns
            .saturating_add(u64::try_from(span).unwrap_or(0))
            .saturating_add(2_000_000);
        if self.passed_over < PASSED_OVER {
            self.passed_over = self.passed_over.saturating_add(1);
            return None;
        }
        let heard = signed(stamp.heard_ns).saturating_add(offset);
        let Some(line) = self.timeline else {
            return self.begin(stamp, heard);
        };
        let off = heard
            .saturating_sub(self.latency_ns)
            .saturating_sub(ns_of(line.tick(stamp.frame), self.hz))
            .saturating_sub(self.reference_ns.unwrap_or(0));
        if (ran_dry || stamp.is_underrun || self.is_clock_set) && off.saturating_abs() > LOSS_NS {
            return Some(self.jump(stamp.frame, line, off));
        }
        self.is_clock_set = false;
        let near = self.near.put(off)?;
        self.near = Sorted::new();
        let most = if self.is_settling { SETTLE_NS } else { LOSS_NS };
        self.is_settling = false;
        if near.saturating_abs() > most {
            return Some(self.jump(stamp.frame, line, near));
        }
        // Drift comes slowly and a loss at once: the reference goes along with the one only.
        let share = near.checked_div(FOLLOW).unwrap_or(0);
        self.reference_ns = self.reference_ns.map(|r| r.saturating_add(share));
        let far = self.far.put(near)?;
        self.far = Sorted::new();
        if self.reference_ns.is_none() {
            (self.zero_ns, self.reference_ns) = (far, Some(far));
            return None;
        }
        self.bend(stamp.frame, line)
    }

    fn begin(&mut self, stamp: Stamp, heard: i64) -> Option<(Timeline, Moved)> {
        let ahead = signed(stamp.heard_ns).saturating_sub(signed(stamp.now_ns));
        // One of the longest: a block that is asked for early must not run ahead of what is still
        // to be told of its time. On an idle machine all are alike.
        let ahead = self.ahead.put_and_take(ahead, FIRST.saturating_sub(2));
        let zero = self
            .first
            .put(heard.saturating_sub(ns_of(stamp.frame, self.hz)))?;
        self.latency_ns = ahead.unwrap_or(0);
        let now = zero
            .saturating_add(ns_of(stamp.frame, self.hz))
            .saturating_sub(self.latency_ns);
        let line = Timeline::new(stamp.frame, self.ticks(now), 0);
        self.timeline = Some(line);
        Some((line, Moved::Begun))
    }

    fn jump(&mut self, frame: u64, line: Timeline, off: i64) -> (Timeline, Moved) {
        let now = ns_of(line.tick(frame), self.hz).saturating_add(off);
        let line = Timeline::new(frame, self.ticks(now), line.ppm());
        self.timeline = Some(line);
        self.near = Sorted::new();
        self.far = Sorted::new();
        self.is_settling = true;
        self.is_clock_set = false;
        (line, Moved::Jumped(off))
    }

    /// Bends the line while the clocks are too far apart, and straightens it when they have met.
    fn bend(&mut self, frame: u64, line: Timeline) -> Option<(Timeline, Moved)> {
        let astray = self.reference_ns?.saturating_sub(self.zero_ns);
        let least = self.bending_ns.map_or(DRIFT_NS, |_| DRIFT_DONE_NS);
        let wanted = if astray.saturating_abs() <= least {
            self.bending_ns = None;
            0
        } else {
            let before = self.bending_ns.replace(astray).unwrap_or(0);
            // Stamps later than the line: the device is slow, a tick takes fewer frames.
            let step = if astray > 0 {
                -DRIFT_STEP_PPM
            } else {
                DRIFT_STEP_PPM
            };
            let nearer = before.saturating_abs() > astray.saturating_abs();
            if nearer {
                line.ppm()
            } else {
                limit(line.ppm().saturating_add(step))
            }
        };
        if wanted == line.ppm() {
            return None;
        }
        let line = Timeline::new(frame, line.tick(frame), wanted);
        self.timeline = Some(line);
        Some((line, Moved::Bent(wanted)))
    }

    fn ticks(&self, ns: i64) -> u64 {
        let ticks = i128::from(ns)
            .saturating_mul(i128::from(self.hz))
            .div_euclid(1_000_000_000);
        u64::try_from(ticks.max(0)).unwrap_or(u64::MAX)
    }
}

fn limit(ppm: i32) -> i32 {
    ppm.clamp(-Timeline::MOST_PPM, Timeline::MOST_PPM)
}

fn signed(ns: u64) -> i64 {
    i64::try_from(ns).unwrap_or(i64::MAX)
}

/// `ticks` of `hz` a second as ns.
fn ns_of(ticks: u64, hz: u32) -> i64 {
    let ns = u128::from(ticks)
        .saturating_mul(1_000_000_000)
        .checked_div(u128::from(hz))
        .unwrap_or(0);
    i64::try_from(ns).unwrap_or(i64::MAX)
}

/// `N` values: once there are as many, one of them by its rank.
#[derive(Clone, Copy, Debug)]
struct Sorted<const N: usize> {
    values: [i64; N],
    filled: usize,
}

impl<const N: usize> Sorted<N> {
    fn new() -> Self {
        Self {
            values: [0; N],
            filled: 0,
        }
    }

    /// Takes a value; the middle one if there are enough.
    fn put(&mut self, value: i64) -> Option<i64> {
        self.put_and_take(value, N >> 1)
    }

    /// Takes a value; the one of this rank from below if there are enough.
    fn put_and_take(&mut self, value: i64, rank: usize) -> Option<i64> {
        if let Some(place) = self.values.get_mut(self.filled) {
            *place = value;
            self.filled = self.filled.saturating_add(1);
        }
        if self.filled < N {
            return None;
        }
        self.values.sort_unstable();
        self.values.get(rank).copied()
    }
}

#[cfg(test)]
mod tests;
