//! What a sound server said of our stream, and what that asks for. No server, no clock.

use cycle::Ms;

/// A server may put a new stream elsewhere, by rules of its own, before it plays: that is no move, and would be done again
/// with the next. Source: the project's own choice.
const NEW: Ms = Ms(1000);

/// Where a stream is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    /// The server's number of the stream.
    pub(super) stream: u32,
    /// The server's number of the output.
    pub(super) output: u32,
    /// The output takes nothing: it sleeps, or something else has it.
    pub(super) is_stopped: bool,
}

/// What has become of the stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Change {
    /// It plays on another output, or again: it is to be opened anew.
    Elsewhere,
    /// Its output takes nothing any more. What the stream holds would be heard whenever it does again: it is to be
    /// closed, and opened anew.
    Stopped,
}

/// Where it was, and since when it is known.
#[derive(Debug, Default)]
pub(super) struct Seen {
    place: Option<Place>,
    since: Ms,
    /// Its output has taken sound.
    has_played: bool,
    /// The last move that was told: from which output to which.
    moved: Option<(u32, u32)>,
}

impl Seen {
    /// What has become of it, now that it is there.
    pub(super) fn look(&mut self, now: Ms, place: Option<Place>) -> Option<Change> {
        let before = self.place.filter(|before| {
            let is_same = |place: Place| place.stream == before.stream;
            place.is_some_and(is_same)
        });
        self.place = place;
        let Some((before, place)) = before.zip(place) else {
            self.since = now;
            self.has_played = place.is_some_and(|place| !place.is_stopped);
            return None;
        };
        // An output that sleeps wakes for a stream: only one that has played was stopped.
        let had_played = self.has_played;
        self.has_played |= !place.is_stopped;
        if now.since(self.since) < NEW {
            return None;
        }
        match (before.is_stopped, place.is_stopped) {
            (false, true) if had_played => Some(Change::Stopped),
            (true, false) if had_played => Some(Change::Elsewhere),
            _ if before.output == place.output => None,
            // A new stream was moved just as the one before it: that is a rule of the server's, or somebody's will, and
            // would go on for ever.
            _ => {
                let to = Some((before.output, place.output));
                (std::mem::replace(&mut self.moved, to) != to).then_some(Change::Elsewhere)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ELSEWHERE: Option<Change> = Some(Change::Elsewhere);
    const STOPPED: Option<Change> = Some(Change::Stopped);

    const fn place(stream: u32, output: u32) -> Place {
        Place {
            stream,
            output,
            is_stopped: false,
        }
    }

    const fn stopped(stream: u32, output: u32) -> Place {
        Place {
            stream,
            output,
            is_stopped: true,
        }
    }

    /// What is told of a row of places, each so many ms after the first.
    fn told(places: &[(u64, Option<Place>)]) -> Vec<Option<Change>> {
        let mut seen = Seen::default();
        let look = |(ms, place): &(u64, Option<Place>)| seen.look(Ms(*ms), *place);
        places.iter().map(look).collect()
    }

    #[test]
    fn a_stream_that_is_elsewhere_is_told_once() {
        let places = [
            (0, Some(place(7, 1))),
            (5000, Some(place(7, 1))),
            (6000, Some(place(7, 2))),
            (6010, Some(place(7, 2))),
            (9000, Some(place(7, 1))),
        ];
        assert_eq!(told(&places), [None, None, ELSEWHERE, None, ELSEWHERE]);
    }

    #[test]
    fn a_new_stream_is_no_move_wherever_it_is_put_at_first() {
        let places = [
            (0, Some(place(7, 1))),
            (5000, Some(place(8, 2))),
            (5300, Some(place(8, 1))),
            (6300, Some(place(8, 1))),
            (6400, None),
            (6500, Some(place(9, 3))),
        ];
        assert_eq!(told(&places), [None; 6]);
    }

    #[test]
    fn a_server_that_moves_each_new_stream_alike_is_told_of_once() {
        let places = [
            (0, Some(place(7, 1))),
            (5000, Some(place(7, 2))),
            (5500, Some(place(8, 1))),
            (9000, Some(place(8, 2))),
            (9500, Some(place(8, 1))),
            (9900, Some(place(8, 2))),
        ];
        let told = told(&places);
        assert_eq!(told[..4], [None, ELSEWHERE, None, None]);
        // There and back is no rule.
        assert_eq!(told[4..], [ELSEWHERE, ELSEWHERE]);
    }

    #[test]
    fn an_output_that_is_stopped_and_goes_on_is_told_and_one_that_wakes_is_not() {
        let wakes = [(0, Some(stopped(7, 1))), (2000, Some(place(7, 1)))];
        assert_eq!(told(&wakes), [None, None]);
        let taken = [
            (0, Some(place(7, 1))),
            (2000, Some(stopped(7, 1))),
            (2300, Some(place(7, 1))),
            (2400, Some(place(7, 1))),
        ];
        assert_eq!(told(&taken), [None, STOPPED, ELSEWHERE, None]);
        // Woken, played, stopped, and on again.
        let woken = [
            (0, Some(stopped(7, 1))),
            (100, Some(place(7, 1))),
            (2000, Some(stopped(7, 1))),
            (2300, Some(place(7, 1))),
        ];
        assert_eq!(told(&woken), [None, None, STOPPED, ELSEWHERE]);
    }
}
