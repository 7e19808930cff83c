//! Keeps the timeline true to the device: finds what an underrun or a stall has cost, and bends the
//! line where two clocks drift apart. Called on the audio thread.

use crate::Timeline;

use asked::Asked;

mod asked;

/// Less than this is never taken for a loss, ns. Time stamps of sound servers waver by one or two
/// milliseconds; a lost buffer is longer.
const LOSS_NS: i64 = 5_000_000;
/// After a loss the line is bettered if the first near median is off by more than this, ns.
const SETTLE_NS: i64 = 1_000_000;
/// A step of more than this from one near median to the next is looked into, and what is left after a loss, ns.
const STEP_NS: i64 = 2_000_000;
/// It is looked at again after so long, s, and then the line is set: a sound server reckons with what it saw in the last
/// five seconds, a loss among it, and meanwhile its stamps may be a dozen ms off the truth, measured.
const HOLD_S: u64 = 8;
/// Such an error comes little by little and does not stay. A step of more than a loss is none, nor are near medians that
/// are alike but for so much, nor is one off by more than this, ns.
const ALIKE_NS: i64 = 500_000;
const SURE_NS: i64 = 50_000_000;
/// Clocks that are no further apart than this are left alone, us: a beat on the device's own grid is
/// exact, and nobody hears them part by so little. Light and sound may differ by 20 ms.
const DRIFT_LEFT_US: i64 = 3_000;
/// The line is bent so that what is beyond would be gone in this time, s. The drift itself is learned
/// four times as slowly, which brings the clocks together without overshoot: a device 200 ppm off is
/// 5 ms astray at most.
const DRIFT_GONE_S: i64 = 10;
/// Smaller changes of the slope are not worth a new line, ppm: 2 us a beat.
const DRIFT_STEP_PPM: i32 = 4;
/// Share of a near median by which the reference follows it.
const FOLLOW: i64 = 8;
/// Blocks in a near median, about a quarter second.
const NEAR: usize = 16;
/// Near medians in a far median, some seconds.
const FAR: usize = 16;
/// Blocks that are passed over when a stream begins: they fill the buffer all at once.
const PASSED_OVER: u32 = 4;
/// A block that is heard no later than this after now, ns, found the buffer empty, or the device did not
/// know what is in it: the sound comes no earlier, and that is all the stamp says. A server that takes a
/// stream up again may stamp a quarter second of blocks so.
const EMPTY_NS: i64 = 1_000_000;
/// After the buffer ran dry the first stamps may still be those of before. If so many agree with the
/// line, there was no loss.
const AGREEING: u8 = 4;
/// Doubt ends after so many blocks: stamps that never agree must not silence the beat.
const MOST_DOUBT: u16 = 32;
/// So many blocks nothing is doubted anew, after a doubt that a stamp ended and after one that none did.
const CALM: u16 = 25;
const CALM_AFTER_NONE: u16 = 1000;
/// A stream whose stamps tell nothing is begun without them after so long, s: some devices never tell.
const UNTOLD_S: u64 = 1;
/// A latency is kept from stream to stream if the new device takes as long but for this, ns: the crew hears one grid.
/// One that takes longer would lose the beats that answer a touch, and one that is quicker is to be so.
const SAME_DEVICE_NS: i64 = 15_000_000;
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
    /// That of the stream before.
    kept_ns: Option<i64>,
    /// The stamps tell what the buffer holds.
    is_told: bool,
    /// Frames whose stamps told nothing, before there was a line.
    untold: u64,
    /// What the stamps were off by when the line was new.
    zero_ns: i64,
    /// What they are off by as the clocks have drifted since: losses are told from here.
    reference_ns: Option<i64>,
    passed_over: u32,
    near: Sorted<NEAR>,
    far: Sorted<FAR>,
    first: Sorted<FIRST>,
    ahead: Sorted<FIRST>,
    asked: Asked,
    /// The two near medians before, the later one first.
    near_before: [i64; 2],
    /// The line was just moved, and the next near median may better it.
    is_fresh: bool,
    /// Frame until which medians are not believed, and then one looks into what they agree on.
    held_until: Option<u64>,
    /// What they may be off by then, ns: less where the line was moved in haste.
    leave_ns: i64,
    /// The first near median after that.
    after_hold: Option<i64>,
    is_clock_set: bool,
    dry_at_ns: u64,
    /// Blocks for which the line is still in doubt at most.
    doubt: u16,
    /// Stamps that must still agree with the line to end the doubt.
    agreeing: u8,
    /// Blocks for which nothing is doubted anew.
    calm: u16,
    /// The drift as far as it is known, in ppb.
    drift_ppb: i64,
    /// Frame at which the clocks were last held against each other.
    looked_at: u64,
}

impl Follow {
    /// For a stream of `hz` frames a second.
    pub fn new(hz: u32) -> Self {
        Self {
            hz,
            offset_ns: None,
            timeline: None,
            latency_ns: 0,
            kept_ns: None,
            is_told: false,
            untold: 0,
            zero_ns: 0,
            reference_ns: None,
            passed_over: 0,
            near: Sorted::new(),
            far: Sorted::new(),
            first: Sorted::new(),
            ahead: Sorted::new(),
            asked: Asked::new(),
            near_before: [0; 2],
            is_fresh: false,
            held_until: None,
            leave_ns: 0,
            after_hold: None,
            is_clock_set: false,
            dry_at_ns: u64::MAX,
            doubt: 0,
            agreeing: 0,
            calm: 0,
            drift_ppb: 0,
            looked_at: 0,
        }
    }

    /// For a stream that takes the place of another: its sounds are heard as long after their run time as those
    /// of the one before, so that the grid stays where it was.
    #[must_use]
    pub const fn after(mut self, latency_ns: i64) -> Self {
        self.kept_ns = Some(latency_ns);
        self
    }

    /// Whether the device tells what its buffer holds; its latency is not known otherwise.
    pub const fn is_told(&self) -> bool {
        self.is_told
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

    /// The buffer has run dry, and no stamp has agreed with the line since: a beat in this block would
    /// sound at a wrong time.
    pub fn is_in_doubt(&self) -> bool {
        self.doubt > 0
    }

    /// Looks at a block's stamp; gives a new line if there is to be one.
    pub fn look(&mut self, stamp: Stamp) -> Option<(Timeline, Moved)> {
        let offset = self.offset_ns?;
        let span = ns_of(u64::from(stamp.frames), self.hz);
        let dry_at_ns = core::mem::replace(
            &mut self.dry_at_ns,
            stamp
                .heard_ns
                .saturating_add(u64::try_from(span).unwrap_or(0))
                .saturating_add(2_000_000),
        );
        if self.passed_over < PASSED_OVER {
            self.passed_over = self.passed_over.saturating_add(1);
            return None;
        }
        let heard = signed(stamp.heard_ns).saturating_add(offset);
        let Some(line) = self.timeline else {
            return self.begin(stamp, heard);
        };
        let due = ns_of(line.tick(stamp.frame), self.hz);
        let off = heard
            .saturating_sub(self.latency_ns)
            .saturating_sub(due)
            .saturating_sub(self.reference_ns.unwrap_or(0));
        let ahead = signed(stamp.heard_ns).saturating_sub(signed(stamp.now_ns));
        let ran_dry = self.ran_dry(stamp, offset, due, dry_at_ns);
        let says_little = self.is_told && ahead < EMPTY_NS;
        // What is heard no sooner than now, and was to be before, is later by so much at least.
        let is_empty = ran_dry && says_little;
        let is_later = off > if is_empty { SETTLE_NS } else { LOSS_NS };
        let is_earlier = off < LOSS_NS.saturating_neg();
        self.calm = self.calm.saturating_sub(1);
        if ran_dry && self.doubt == 0 && self.calm == 0 {
            (self.doubt, self.agreeing) = (MOST_DOUBT, AGREEING);
        }
        if ran_dry || stamp.is_underrun {
            self.hold(stamp.frame, LOSS_NS);
            self.asked.take_over();
        }
        // A loss makes all later, at once. What seems to come earlier is what a server says that is
        // still counting: that must last.
        let is_looked_for = ran_dry || self.doubt > 0 || stamp.is_underrun;
        if is_later && is_looked_for
            || self.is_clock_set && (is_later || is_earlier && !says_little)
        {
            self.agreeing = 1;
            return Some(self.jump(stamp.frame, line, off));
        }
        self.end_doubt(!says_little && !is_earlier && !is_later);
        if says_little {
            return None;
        }
        self.is_clock_set = false;
        let near = self.near.put(off)?;
        self.near = Sorted::new();
        let near = self.asked.believed(near);
        let is_fresh = core::mem::take(&mut self.is_fresh);
        let [before, first] = self.near_before;
        self.near_before = [near, before];
        let step = near.saturating_sub(before);
        let stays = step.saturating_abs() <= ALIKE_NS
            && near.saturating_sub(first).saturating_abs() <= ALIKE_NS;
        let most = if is_fresh {
            SETTLE_NS
        } else if stays || step.saturating_abs() > LOSS_NS {
            LOSS_NS
        } else {
            SURE_NS
        };
        if near.saturating_abs() > most {
            let moved = self.jump(stamp.frame, line, near);
            // What betters a line is not bettered again: stamps that run away would take it along.
            self.is_fresh = !is_fresh;
            return Some(moved);
        }
        if self.held_until.is_some() {
            return self.look_again(stamp.frame, line, near);
        }
        if step.saturating_abs() > STEP_NS {
            self.hold(stamp.frame, LOSS_NS);
            return None;
        }
        // Drift comes slowly and a loss at once: the reference goes along with the one only.
        let share = near.checked_div(FOLLOW).unwrap_or(0);
        self.reference_ns = self.reference_ns.map(|r| r.saturating_add(share));
        if self.asked.is_in_charge {
            self.asked.shift(share);
        }
        let far = self.far.put(near)?;
        self.far = Sorted::new();
        if self.reference_ns.is_none() {
            (self.zero_ns, self.reference_ns) = (far, Some(far));
            self.looked_at = stamp.frame;
            return None;
        }
        self.bend(stamp.frame, line)
    }

    /// Whether this block found the buffer empty, by what the stamp before promised. Stamps that have gone astray do not
    /// know it; that the block was asked for so late does.
    fn ran_dry(&mut self, stamp: Stamp, offset: i64, due: i64, dry_at_ns: u64) -> bool {
        let asked = signed(stamp.now_ns)
            .saturating_add(offset)
            .saturating_sub(due);
        let late = self.asked.put(asked);
        let is_dry = if self.asked.is_in_charge {
            late > self.latency_ns
        } else {
            stamp.now_ns > dry_at_ns
        };
        // Where no stamp ever tells what the buffer holds, none tells that it was empty.
        self.is_told && is_dry
    }

    fn hold(&mut self, frame: u64, leave_ns: i64) {
        // What is left of a hold does not forget why it was begun.
        let before = self.held_until.map_or(leave_ns, |_| self.leave_ns);
        self.leave_ns = leave_ns.min(before);
        self.held_until = Some(frame.saturating_add(u64::from(self.hz).saturating_mul(HOLD_S)));
        self.after_hold = None;
    }

    /// After the hold: sets the line if two near medians in succession say so, by what they agree on.
    fn look_again(&mut self, frame: u64, line: Timeline, near: i64) -> Option<(Timeline, Moved)> {
        if self.held_until.is_some_and(|until| frame < until) {
            return None;
        }
        let before = self.after_hold.replace(near)?;
        (self.held_until, self.after_hold) = (None, None);
        let off = if before.saturating_abs() < near.saturating_abs() {
            before
        } else {
            near
        };
        if before.signum() != near.signum() || off.saturating_abs() <= self.leave_ns {
            return None;
        }
        let moved = self.jump(frame, line, off);
        (self.is_fresh, self.held_until) = (false, None);
        Some(moved)
    }

    /// Counts a block of doubt, and a stamp that agrees.
    fn end_doubt(&mut self, agrees: bool) {
        if self.doubt == 0 {
            return;
        }
        self.doubt = self.doubt.saturating_sub(1);
        self.agreeing = self.agreeing.saturating_sub(u8::from(agrees));
        if self.agreeing == 0 {
            (self.doubt, self.calm) = (0, CALM);
        } else if self.doubt == 0 {
            self.calm = CALM_AFTER_NONE;
        }
    }

    fn begin(&mut self, stamp: Stamp, heard: i64) -> Option<(Timeline, Moved)> {
        let ahead = signed(stamp.heard_ns).saturating_sub(signed(stamp.now_ns));
        // A server that has not begun to play, or to count, says that all is heard at once.
        if ahead < EMPTY_NS && self.untold < u64::from(self.hz).saturating_mul(UNTOLD_S) {
            self.untold = self.untold.saturating_add(u64::from(stamp.frames));
            return None;
        }
        // One of the longest: a block that is asked for early must not run ahead of what is still
        // to be told of its time. On an idle machine all are alike.
        let ahead = self.ahead.put_and_take(ahead, FIRST.saturating_sub(2));
        let zero = self
            .first
            .put(heard.saturating_sub(ns_of(stamp.frame, self.hz)))?;
        let ahead = ahead.unwrap_or(0);
        self.is_told = ahead >= EMPTY_NS;
        let kept = self
            .kept_ns
            .filter(|kept| self.is_told && ahead.abs_diff(*kept) <= SAME_DEVICE_NS.unsigned_abs());
        self.latency_ns = kept.unwrap_or(ahead);
        let now = zero
            .saturating_add(ns_of(stamp.frame, self.hz))
            .saturating_sub(self.latency_ns);
        let line = Timeline::new(stamp.frame, self.ticks(now), 0);
        self.timeline = Some(line);
        Some((line, Moved::Begun))
    }

    fn jump(&mut self, frame: u64, line: Timeline, off: i64) -> (Timeline, Moved) {
        // Once it is moved at all it is moved to where it belongs, drift and all.
        let drifted = self
            .reference_ns
            .map_or(0, |r| r.saturating_sub(self.zero_ns));
        self.reference_ns = self.reference_ns.map(|_| self.zero_ns);
        self.asked.shift(drifted.saturating_neg());
        self.asked.begin_anew();
        let off = off.saturating_add(drifted);
        let now = ns_of(line.tick(frame), self.hz).saturating_add(off);
        let line = Timeline::new(frame, self.ticks(now), line.ppm());
        self.timeline = Some(line);
        self.near = Sorted::new();
        self.far = Sorted::new();
        self.near_before = [0; 2];
        self.is_fresh = true;
        self.hold(frame, STEP_NS);
        self.is_clock_set = false;
        (line, Moved::Jumped(off))
    }

    /// Bends the line as the clocks part: by what they are apart, and by the drift learned from it.
    fn bend(&mut self, frame: u64, line: Timeline) -> Option<(Timeline, Moved)> {
        let since_ms = ns_of(frame.saturating_sub(self.looked_at), self.hz) / 1_000_000;
        self.looked_at = frame;
        let astray_us = self.reference_ns?.saturating_sub(self.zero_ns) / 1000;
        let beyond_us = astray_us
            .saturating_abs()
            .saturating_sub(DRIFT_LEFT_US)
            .max(0)
            .saturating_mul(astray_us.signum());
        let learned = beyond_us.saturating_mul(since_ms) / LEARNED_OVER;
        self.drift_ppb = self
            .drift_ppb
            .saturating_add(learned)
            .clamp(-MOST_PPB, MOST_PPB);
        // Stamps later than the line: the device is slow, a tick takes fewer frames.
        let ppm = (beyond_us / DRIFT_GONE_S).saturating_add(self.drift_ppb / 1000);
        let wanted = i32::try_from(ppm.saturating_neg())
            .unwrap_or(0)
            .clamp(-Timeline::MOST_PPM, Timeline::MOST_PPM);
        if wanted.abs_diff(line.ppm()) < DRIFT_STEP_PPM.unsigned_abs() {
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

const MOST_PPB: i64 = 1_000_000;
/// Four times the span squared: with it the clocks come together without overshoot.
const LEARNED_OVER: i64 = 4 * DRIFT_GONE_S * DRIFT_GONE_S;

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
