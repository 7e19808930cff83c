use beat::{Kind, Placed, Sound};

/// Walks through the sounds of one score.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Walk {
    placed: Placed,
    next: Option<Sound>,
    until: u64,
}

impl Walk {
    /// From the score's own beginning on, without end. What is already past is for the mixer to
    /// leave out: when a score is told, the timeline may be about to change.
    pub(crate) fn new(placed: Placed, hz: u32) -> Self {
        Self {
            placed,
            next: placed.first(0, hz),
            until: u64::MAX,
        }
    }

    /// Nothing from tick `until` on any more.
    pub(crate) fn end_at(&mut self, until: u64) {
        self.until = self.until.min(until);
    }

    /// Goes to the first sound from tick `from` on, ahead or back.
    pub(crate) fn begin_at(&mut self, from: u64, hz: u32) {
        self.next = self.placed.first(from, hz);
    }

    /// The sound that comes next.
    pub(crate) fn next(&self) -> Option<Sound> {
        self.next.filter(|s| s.at < self.until)
    }

    /// Goes on to the sound after `sound`; at the least to tick `least`, so that the way past a
    /// long loss is one step.
    pub(crate) fn pass(&mut self, sound: Sound, least: u64, hz: u32) {
        self.next = if least > sound.at {
            self.placed.first(least, hz)
        } else {
            self.placed.after(sound, hz)
        };
    }
}

/// The latest beat and breath that began, so that no swap of scores sounds one twice.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Begun {
    beat: Option<u64>,
    breath: Option<u64>,
}

impl Begun {
    /// Whether this sound, or one of its kind after it, has begun.
    pub(crate) fn has(&self, sound: Sound) -> bool {
        // One grid seen from two anchors can differ by one tick.
        self.of(sound.kind)
            .is_some_and(|at| sound.at <= at.saturating_add(1))
    }

    pub(crate) fn note(&mut self, sound: Sound) {
        match sound.kind {
            Kind::BeatFirst | Kind::Beat | Kind::BeatLast => self.beat = Some(sound.at),
            Kind::Breath => self.breath = Some(sound.at),
        }
    }

    fn of(&self, kind: Kind) -> Option<u64> {
        match kind {
            Kind::BeatFirst | Kind::Beat | Kind::BeatLast => self.beat,
            Kind::Breath => self.breath,
        }
    }
}
