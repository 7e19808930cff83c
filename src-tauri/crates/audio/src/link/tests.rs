use cycle::{CueSound, Tone};
use rtrb::RingBuffer;

use super::*;

#[test]
fn a_tone_begun_before_the_stream_has_a_line_is_told_at_the_time_of_its_order() {
    let mut link = Link::default();
    let (told, _audio) = RingBuffer::new(64);
    let (mut reports, taken) = RingBuffer::new(64);
    link.connect(told, taken, 48_000);
    let cue = |id, start| Cue {
        id: CueId(id),
        sound: CueSound::Tone(Tone::SoundBack),
        start,
        len_ms: 300,
    };
    link.order(Ms(5_000), Order::Play(cue(7, Start::Now)));
    link.order(Ms(5_100), Order::Play(cue(8, Start::At(Ms(6_000)))));
    let begun = |id, tick| Report::Begun {
        what: What::Cue(id),
        frame: 512,
        tick,
        frames: 100,
    };
    reports.push(begun(7, None)).unwrap();
    reports.push(begun(8, Some(6_001 * 48))).unwrap();
    let started = |id, at| SoundNews::Started { id: CueId(id), at };
    assert_eq!(link.news(Ms(6_010)), Some(started(7, Ms(5_000))));
    assert_eq!(link.news(Ms(6_010)), Some(started(8, Ms(6_001))));
    assert_eq!(link.news(Ms(6_010)), None);
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
