use cycle::{CueSound, Tone};
use rtrb::RingBuffer;

use super::*;

fn cue(id: u32, start: Start) -> Order {
    Order::Play(Cue {
        id: CueId(id),
        sound: CueSound::Tone(Tone::Receipt),
        start,
        len_ms: 300,
    })
}

fn begun(id: u32, tick: Option<u64>) -> Report {
    Report::Begun {
        what: What::Cue(id),
        frame: 512,
        tick,
        frames: 100,
    }
}

fn open(link: &mut Link) -> (Consumer<Told>, Producer<Report>) {
    let (told, audio) = RingBuffer::new(64);
    let (reports, taken) = RingBuffer::new(64);
    link.connect(told, taken, 48_000);
    (audio, reports)
}

/// What of cues the audio thread is told, in order: `true` to sound it, `false` to take it back.
fn told(audio: &mut Consumer<Told>) -> Vec<(u32, bool)> {
    let mut all = Vec::new();
    while let Ok(told) = audio.pop() {
        match told {
            Told::Order(_, Order::Play(cue)) => all.push((cue.id.0, true)),
            Told::Order(_, Order::Revoke(id)) => all.push((id.0, false)),
            Told::Order(..) | Told::Offset(_) | Told::Zero(_) | Told::Trial(..) => {}
        }
    }
    all
}

#[test]
fn a_tone_begun_before_the_stream_has_a_line_is_told_at_the_time_at_which_that_was_heard_of() {
    let mut link = Link::default();
    let (_audio, mut reports) = open(&mut link);
    link.order(Ms(5_000), cue(7, Start::Now));
    link.order(Ms(5_010), cue(8, Start::At(Ms(5_200))));
    // It had to wait for the stream's first block.
    assert_eq!(link.news(Ms(5_230)), None);
    reports.push(begun(7, None)).unwrap();
    reports.push(begun(8, Some(5_201 * 48))).unwrap();
    let started = |id, at| SoundNews::Started { id: CueId(id), at };
    assert_eq!(link.news(Ms(5_250)), Some(started(7, Ms(5_250))));
    assert_eq!(link.news(Ms(5_250)), Some(started(8, Ms(5_201))));
    assert_eq!(link.news(Ms(5_250)), None);
}

/// A stream that was opened and does not begin: what is asked for meanwhile must not burst out seconds later.
#[test]
fn an_answer_that_an_open_stream_has_not_begun_in_time_is_taken_back_and_told_as_left_out() {
    let mut link = Link::default();
    let (mut audio, _reports) = open(&mut link);
    link.order(Ms(5_000), cue(7, Start::Now));
    link.order(Ms(5_000), cue(8, Start::At(Ms(5_100))));
    link.order(Ms(5_200), cue(9, Start::Now));
    assert_eq!(link.news(Ms(5_300)), None);
    assert_eq!(told(&mut audio), [(7, true), (8, true), (9, true)]);
    let late = |id| Some(SoundNews::Late { id: CueId(id) });
    assert_eq!(link.news(Ms(5_301)), late(7));
    assert_eq!(link.news(Ms(5_301)), None);
    assert_eq!(told(&mut audio), [(7, false)], "the others may still sound");
    assert_eq!(link.news(Ms(5_501)), late(9));
    assert_eq!(told(&mut audio), [(9, false)]);
    // The stream itself leaves out what has a moment of its own.
    assert_eq!(link.news(Ms(9_000)), None);
    // And the next stream is not told of them again.
    let (mut audio, _reports) = open(&mut link);
    assert_eq!(told(&mut audio), [(8, false), (8, true)]);
}

#[test]
fn an_answer_that_cannot_be_taken_back_is_not_told_as_left_out() {
    let mut link = Link::default();
    let (mut audio, _reports) = open(&mut link);
    link.order(Ms(5_000), cue(7, Start::Now));
    for n in 0..64 {
        link.set_offset(n);
    }
    // The ring is full: everything is told anew once there is room.
    assert_eq!(link.news(Ms(5_400)), None);
    assert_eq!(told(&mut audio), [(7, true)]);
    assert_eq!(link.news(Ms(5_420)), Some(SoundNews::Late { id: CueId(7) }));
    assert_eq!(told(&mut audio).last(), Some(&(7, false)));
}

#[test]
fn a_new_stream_is_told_whether_there_is_noise() {
    let mut link = Link::default();
    let last = |link: &mut Link| {
        let (told, mut audio) = RingBuffer::new(64);
        let (_reports, taken) = RingBuffer::new(64);
        link.connect(told, taken, 48_000);
        let mut noise = None;
        while let Ok(told) = audio.pop() {
            if let Told::Order(_, Order::Noise(is_on)) = told {
                noise = Some(is_on);
            }
        }
        noise
    };
    assert_eq!(last(&mut link), Some(false));
    link.order(Ms(5_000), Order::Noise(true));
    assert_eq!(last(&mut link), Some(true));
    link.order(Ms(6_000), Order::Noise(false));
    assert_eq!(last(&mut link), Some(false));
}
