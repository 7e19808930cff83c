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
    open_at(link, 48_000)
}

fn open_at(link: &mut Link, hz: u32) -> (Consumer<Told>, Producer<Report>) {
    let (told, audio) = RingBuffer::new(64);
    let (reports, taken) = RingBuffer::new(64);
    link.connect(told, taken, hz);
    (audio, reports)
}

fn all_news(link: &mut Link, now: Ms) -> Vec<SoundNews> {
    std::iter::from_fn(|| link.news(now)).collect()
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

/// Frames 512 to 612, worked by hand.
#[test]
fn what_a_stream_had_not_sounded_whole_is_told_as_cut_when_it_goes() {
    let cut = |heard: u64| {
        let mut link = Link::default();
        let (_audio, mut reports) = open(&mut link);
        link.order(Ms(5_000), cue(7, Start::Now));
        reports.push(begun(7, Some(5_010 * 48))).unwrap();
        let at = Ms(5_010);
        assert_eq!(
            all_news(&mut link, Ms(5_020)),
            [SoundNews::Started { id: CueId(7), at }]
        );
        link.disconnect(heard);
        link.disconnect(0);
        all_news(&mut link, Ms(5_030))
    };
    assert_eq!(cut(611), [SoundNews::Cut { id: CueId(7) }]);
    assert_eq!(cut(612), []);
}

#[test]
fn one_that_begins_as_its_stream_goes_is_told_as_begun_and_cut() {
    let mut link = Link::default();
    let (_audio, mut reports) = open(&mut link);
    link.order(Ms(5_000), cue(7, Start::Now));
    reports.push(begun(7, Some(5_010 * 48))).unwrap();
    link.disconnect(600);
    let (id, at) = (CueId(7), Ms(5_010));
    assert_eq!(
        all_news(&mut link, Ms(5_020)),
        [SoundNews::Started { id, at }, SoundNews::Cut { id }]
    );
    // What had not begun is no part of it: the next stream is told of it.
    link.order(Ms(5_030), cue(8, Start::At(Ms(5_400))));
    link.disconnect(0);
    assert_eq!(all_news(&mut link, Ms(5_040)), []);
    let (mut audio, _reports) = open(&mut link);
    assert_eq!(told(&mut audio), [(8, false), (8, true)]);
}

#[test]
fn what_was_taken_back_or_broken_off_by_order_is_not_told_as_cut() {
    let mut link = Link::default();
    let (_audio, mut reports) = open(&mut link);
    for id in [7, 8] {
        link.order(Ms(5_000), cue(id, Start::Now));
        reports.push(begun(id, Some(5_010 * 48))).unwrap();
    }
    assert_eq!(all_news(&mut link, Ms(5_020)).len(), 2);
    link.order(Ms(5_030), Order::Revoke(CueId(7)));
    reports.push(Report::Cut(7)).unwrap();
    // The mixer's own: another voice took its place.
    reports.push(Report::Cut(8)).unwrap();
    assert_eq!(all_news(&mut link, Ms(5_040)), []);
    link.disconnect(0);
    assert_eq!(all_news(&mut link, Ms(5_050)), []);
}

/// A moment of whole milliseconds falls between two ticks of these rates: 120,001 ms is tick 5,292,044.1 of 44,100 a
/// second and 2,646,022.05 of 22,050, rounded down. Nothing has begun before it was due.
#[test]
fn what_begins_on_time_is_told_at_the_moment_for_which_it_was_asked() {
    for (hz, tick) in [(44_100, 5_292_044), (22_050, 2_646_022)] {
        let mut link = Link::default();
        let (_audio, mut reports) = open_at(&mut link, hz);
        let at = Ms(120_001);
        link.order(Ms(119_600), cue(7, Start::At(at)));
        reports.push(begun(7, Some(tick))).unwrap();
        let id = CueId(7);
        assert_eq!(
            link.news(Ms(120_050)),
            Some(SoundNews::Started { id, at }),
            "{hz}"
        );
    }
}
