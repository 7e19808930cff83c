//! Which score answers a mark, and where it is set on the run clock. See `docs/timing.md`.

use beat::{Pattern, Placed, Rate, Score};

use crate::{
    Ms,
    mark::{BreathMode, By, Reason},
    protocol::Protocol,
    state::{Line, State, When},
};

/// From the taking of a touch to the first beat that answers it. Long enough for a block of the
/// device to be filled meanwhile, short enough to be heard as an answer (70 ms with the output's own
/// latency). Source: common practice, no source; delays of 20-70 ms are judged best, Kaaresoja 2014.
const BEAT_ANSWER: Ms = Ms(25);

/// The beat steps back by this where a defibrillator that speaks leads, tenths of a decibel. Source:
/// common practice, no source: under speech the beat is ducked by 8 dB and still heard.
pub(crate) const LED_DDB: u16 = 120;

/// Beats this far below full are not played at all.
pub(crate) const BEAT_OFF_DDB: u16 = 960;

impl State {
    /// The score of compressions by hand that begin now.
    pub(crate) fn by_hand(&self, p: &Protocol, when: When, before: Line) -> Placed {
        let led_in = before == Line::HandsOff(Reason::DeviceFault);
        match (self.mode, led_in) {
            (BreathMode::Ratio, true) => self.ratio_on_grid(p, when),
            (BreathMode::Continuous | BreathMode::None, true) => self.continuous_on(p, when, 0),
            (BreathMode::Ratio, false) => Placed {
                score: score(p.rate, self.ratio(p)),
                ..unbroken(p.rate, 0, when)
            },
            (BreathMode::Continuous | BreathMode::None, false) => {
                unbroken(p.rate, self.breath_ms(p), when)
            }
        }
    }

    /// The score of compressions that go on by other numbers: from the beginning.
    pub(crate) fn anew(&self, p: &Protocol, when: When, by: By) -> Placed {
        match by {
            By::Manual => self.by_hand(p, when, Line::Compressing(By::Manual)),
            By::Mechanical => silent(p.rate, self.breath_ms(p), when),
        }
    }

    fn ratio(&self, p: &Protocol) -> Pattern {
        let ratio = if self.alone { p.ratio_alone } else { p.ratio };
        let (beats, breaths) = Protocol::cycle_of(ratio);
        Pattern::Ratio {
            beats,
            window_ms: u32::try_from(p.window.0).unwrap_or(u32::MAX),
            breaths,
        }
    }

    /// The score of compressions by hand that go on in another breath mode. In a phase the beats
    /// stay where they are; in a breath window the beat begins anew.
    pub(crate) fn other_mode(&self, p: &Protocol, when: When) -> Placed {
        match self.mode {
            BreathMode::Ratio => self.ratio_on_grid(p, when),
            BreathMode::Continuous | BreathMode::None => match self.score.cycle_at(when.taken.0) {
                Some((_, None)) => unbroken(p.rate, self.breath_ms(p), when),
                Some((windows, Some(_))) => self.continuous_on(p, when, windows),
                None => self.continuous_on(p, when, 0),
            },
        }
    }

    /// The running grid without windows; the ones that have passed move its zero, and they are
    /// whole milliseconds, so no beat moves.
    fn continuous_on(&self, p: &Protocol, when: When, windows: u64) -> Placed {
        let window_ms = match self.score.score.pattern {
            Pattern::Ratio { window_ms, .. } => u64::from(window_ms),
            Pattern::Silent { .. } | Pattern::Continuous { .. } => 0,
        };
        let pattern = Pattern::Continuous {
            breath_ms: self.breath_ms(p),
        };
        Placed {
            score: score(p.rate, pattern),
            anchor_ms: self
                .score
                .anchor_ms
                .saturating_add(windows.saturating_mul(window_ms)),
            from_ms: when.taken.0,
            breath_from_ms: when.at.0,
            ..self.score
        }
    }

    /// Cycles that begin on the next beat of the running grid.
    fn ratio_on_grid(&self, p: &Protocol, when: When) -> Placed {
        let next = self.score.next_beat(when.taken.plus(BEAT_ANSWER).0);
        let lead = u64::from(self.score.lead).saturating_add(next);
        Placed {
            score: score(p.rate, self.ratio(p)),
            lead: u32::try_from(lead).unwrap_or(u32::MAX),
            from_ms: when.taken.0,
            breath_from_ms: when.at.0,
            ..self.score
        }
    }
}

fn score(rate: Rate, pattern: Pattern) -> Score {
    Score {
        rate,
        pattern,
        quiet_ddb: 0,
    }
}

pub(crate) fn silent(rate: Rate, breath_ms: u32, when: When) -> Placed {
    Placed {
        score: score(rate, Pattern::Silent { breath_ms }),
        anchor_ms: when.taken.0,
        lead: 0,
        from_ms: when.taken.0,
        breath_from_ms: when.at.0,
    }
}

/// Circulation is back: breath tones by the clock where the protocol has them.
pub(crate) fn with_pulse(p: &Protocol, when: When) -> Placed {
    let every = u32::try_from(p.breath_every.0).unwrap_or(0);
    silent(p.rate, if p.rosc_breaths { every } else { 0 }, when)
}

pub(crate) fn unbroken(rate: Rate, breath_ms: u32, when: When) -> Placed {
    let from = when.taken.plus(BEAT_ANSWER).0;
    Placed {
        score: score(rate, Pattern::Continuous { breath_ms }),
        anchor_ms: from,
        lead: 0,
        from_ms: from,
        breath_from_ms: when.at.0,
    }
}
