//! News that the sound may go elsewhere. They come in crowds, one for each device that came or went, and a broken
//! plug can tell them for minutes: the device is opened once for a crowd, and ever more seldom while they go on.

use cycle::Ms;

/// So long after the last one a crowd is over. Source: the project's own choice: a headset is told by two or three
/// within some tenths of a second.
const CALM: Ms = Ms(200);
/// A crowd that goes on is acted on so long after its first.
const MOST: Ms = Ms(600);
/// The least time from one opening for such news to the next, ms; the last stands for all further ones. Source: the
/// project's own choice: each opening is a hole in the beat.
const APART: [u64; 5] = [0, 500, 1000, 2000, 4000];
/// News so long after the last opening are the first ones again.
const OVER: Ms = Ms(10_000);

/// What was told and not yet acted on, and when the device was opened for such news before.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Moved {
    /// The first and the last of a crowd.
    told: Option<(Ms, Ms)>,
    /// That was told of one stream, not of the devices.
    is_of_stream: bool,
    /// The last opening, and how many there were in a row.
    acted: Option<(Ms, usize)>,
}

impl Moved {
    /// The device came, went or changed.
    pub(super) fn tell(&mut self, now: Ms) {
        let first = self.told.map_or(now, |(first, _)| first);
        self.told = Some((first, now));
        self.is_of_stream = false;
    }

    /// The same by one who tells it once, and not before it is over: there is no crowd to wait for.
    pub(super) fn tell_at_last(&mut self, now: Ms) {
        let over = now.minus(CALM);
        self.told = Some((over, over));
        self.is_of_stream = true;
    }

    /// Another stream is open: what was told of the one before is not to be done to it.
    pub(super) fn forget_the_stream(&mut self) {
        if std::mem::take(&mut self.is_of_stream) {
            self.told = None;
        }
    }

    /// Whether the device is to be opened anew now; then what was told is done with.
    pub(super) fn take(&mut self, now: Ms) -> bool {
        let Some((first, last)) = self.told else {
            return false;
        };
        let (before, times) = self
            .acted
            .filter(|(at, _)| first.since(*at) < OVER)
            .unwrap_or((Ms::ZERO, 0));
        let apart = APART.get(times).or(APART.last()).copied();
        let rested = before.plus(Ms(apart.unwrap_or_default()));
        let is_due = now >= last.plus(CALM).min(first.plus(MOST)) && now >= rested;
        if is_due {
            self.told = None;
            self.acted = Some((now, times.saturating_add(1)));
        }
        is_due
    }
}
