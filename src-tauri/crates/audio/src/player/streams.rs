//! Which stream is closed when, and by whom: the one that sounds by the owner, who opens the next one after it; one
//! that gave way beside the owner, since an output that is gone may hold up whoever closes it.

use crate::leaving::Way;

/// The open stream, and the one before it as long as it is kept.
#[derive(Debug)]
pub(super) struct Streams<S> {
    open: Option<(S, Way)>,
    /// It gave way, and is silent.
    leaving: Option<S>,
}

/// How things stand at a look.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Look {
    /// There is to be no open stream now.
    pub(super) is_waiting: bool,
    /// Nothing is wrong with the stream but that another one takes its place.
    pub(super) is_carried_off: bool,
    /// The open stream is heard.
    pub(super) is_playing: bool,
}

impl Look {
    /// Nothing is to be open any more.
    pub(super) const END: Self = Self {
        is_waiting: true,
        is_carried_off: false,
        is_playing: false,
    };
}

/// What is to be closed.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Closed<S> {
    /// Before anything is opened.
    pub(super) here: Option<S>,
    /// On a thread of its own.
    pub(super) beside: Option<S>,
}

impl<S> Streams<S> {
    pub(super) const fn new() -> Self {
        Self {
            open: None,
            leaving: None,
        }
    }

    pub(super) fn open(&mut self, stream: S, way: Way) {
        self.open = Some((stream, way));
    }

    pub(super) fn opened(&self) -> Option<&S> {
        self.open.as_ref().map(|(stream, _)| stream)
    }

    /// One that was carried off stays open, silent, until the next one plays or could not be opened.
    pub(super) fn look(&mut self, look: Look) -> Closed<S> {
        if !look.is_waiting {
            let beside = self.leaving.take_if(|_| look.is_playing);
            return Closed { here: None, beside };
        }
        let beside = self.leaving.take();
        let (stream, way) = self.open.take().unzip();
        if look.is_carried_off {
            if let Some(way) = way {
                way.give();
            }
            self.leaving = stream;
            return Closed { here: None, beside };
        }
        Closed {
            here: stream,
            beside,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WAITING: Look = Look::END;
    const OFF: Look = Look {
        is_carried_off: true,
        ..WAITING
    };
    const OPENING: Look = Look {
        is_waiting: false,
        ..WAITING
    };
    const PLAYING: Look = Look {
        is_playing: true,
        ..OPENING
    };

    fn closed(here: Option<u8>, beside: Option<u8>) -> Closed<u8> {
        Closed { here, beside }
    }

    fn with(stream: u8) -> Streams<u8> {
        let mut streams = Streams::new();
        streams.open(stream, Way::default());
        streams
    }

    #[test]
    fn a_stream_that_broke_is_closed_by_the_owner_before_the_next_is_opened() {
        let mut streams = with(1);
        assert_eq!(streams.look(PLAYING), closed(None, None));
        assert_eq!(streams.look(WAITING), closed(Some(1), None));
        assert_eq!(streams.look(WAITING), closed(None, None));
        assert_eq!(streams.opened(), None);
    }

    #[test]
    fn a_stream_that_gave_way_is_closed_beside_once_the_next_one_plays() {
        let mut streams = with(1);
        assert_eq!(streams.look(OFF), closed(None, None));
        streams.open(2, Way::default());
        assert_eq!(streams.look(OPENING), closed(None, None));
        assert_eq!(streams.look(PLAYING), closed(None, Some(1)));
        assert_eq!(streams.look(PLAYING), closed(None, None));
        assert_eq!(streams.opened(), Some(&2));
    }

    /// The library joins a thread of its own as it closes, which may hang with the output: never on the owner's.
    #[test]
    fn a_stream_that_gave_way_is_closed_beside_when_the_next_is_refused_too() {
        let mut streams = with(1);
        assert_eq!(streams.look(OFF), closed(None, None));
        assert_eq!(streams.look(WAITING), closed(None, Some(1)));
        // Carried off again before the next one played, and then broken.
        let mut streams = with(1);
        assert_eq!(streams.look(OFF), closed(None, None));
        streams.open(2, Way::default());
        assert_eq!(streams.look(OFF), closed(None, Some(1)));
        streams.open(3, Way::default());
        assert_eq!(streams.look(WAITING), closed(Some(3), Some(2)));
    }

    #[test]
    fn a_stream_that_is_carried_off_falls_silent() {
        let way = Way::default();
        let mut streams = Streams::new();
        streams.open(1, way.clone());
        assert_eq!(streams.look(OFF), closed(None, None));
        assert!(way.is_given());
    }
}
