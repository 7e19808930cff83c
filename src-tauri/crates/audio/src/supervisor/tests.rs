#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of these tests"
)]

use super::*;

/// Steps every 100 ms from `from` to `to` with what `frames` gives; the news with their times.
fn watch(
    s: &mut Supervisor,
    (from, to): (u64, u64),
    mut frames: impl FnMut(u64) -> u64,
) -> (Vec<(u64, SoundNews)>, Vec<u64>) {
    let (mut news, mut opens) = (Vec::new(), Vec::new());
    for ms in (from..=to).step_by(100) {
        if s.step(Ms(ms), frames(ms), false) == Step::Open {
            opens.push(ms);
            s.refused(Ms(ms));
        }
        news.extend(s.news().map(|n| (ms, n)));
    }
    (news, opens)
}

fn playing() -> Supervisor {
    let mut s = Supervisor::new(Ms(0));
    assert_eq!(s.step(Ms(0), 0, false), Step::Open);
    s.opened(Ms(0));
    assert_eq!(s.step(Ms(50), 2048, false), Step::Rest);
    assert_eq!(s.step(Ms(100), 4800, false), Step::Rest);
    assert_eq!(s.news(), None);
    s
}

#[test]
fn silence_is_told_within_a_second_and_the_device_is_opened_again() {
    let mut s = playing();
    let (news, opens) = watch(&mut s, (200, 3000), |ms| 48 * ms.min(1000));
    assert_eq!(news, [(1500, SoundNews::Lost)]);
    assert_eq!(opens, [1600, 1800, 2200, 2600, 3000]);
}

#[test]
fn a_sound_is_opening_then_playing_then_stalled_then_lost_and_playing_again() {
    let mut s = Supervisor::new(Ms(0));
    assert_eq!(s.sound(), SoundState::Opening);
    s.step(Ms(0), 0, false);
    s.opened(Ms(0));
    s.step(Ms(50), 2048, false);
    assert_eq!(
        s.sound(),
        SoundState::Opening,
        "the buffer was filled, no more"
    );
    s.step(Ms(100), 4096, false);
    assert_eq!(s.sound(), SoundState::Playing);
    for (ms, state) in [
        (200, SoundState::Playing),
        (300, SoundState::Stalled),
        (500, SoundState::Stalled),
        (600, SoundState::Lost),
    ] {
        s.step(Ms(ms), 4096, false);
        assert_eq!(s.sound(), state, "{ms} ms");
    }
    s.step(Ms(700), 4096, false);
    s.opened(Ms(700));
    assert_eq!(s.sound(), SoundState::Lost, "open is not heard");
    s.step(Ms(800), 2048, false);
    s.step(Ms(900), 4096, false);
    assert_eq!(s.sound(), SoundState::Playing);
}

#[test]
fn no_device_at_the_start_is_told_at_once() {
    let mut s = Supervisor::new(Ms(0));
    let (news, opens) = watch(&mut s, (0, 1000), |_| 0);
    assert_eq!(news, [(0, SoundNews::Lost)]);
    assert_eq!(opens, [0, 100, 300, 700]);
}

#[test]
fn back_is_told_when_frames_flow_and_not_before() {
    let mut s = Supervisor::new(Ms(0));
    assert_eq!(s.step(Ms(0), 0, false), Step::Open);
    s.refused(Ms(0));
    assert_eq!(s.news(), Some(SoundNews::Lost));
    assert_eq!(s.step(Ms(100), 0, false), Step::Open);
    s.opened(Ms(100));
    assert_eq!(s.step(Ms(200), 0, false), Step::Rest);
    assert_eq!(s.news(), None);
    assert_eq!(s.step(Ms(300), 2048, false), Step::Rest);
    assert_eq!(s.news(), None, "the buffer is filled, nothing is heard yet");
    assert_eq!(s.step(Ms(400), 4096, false), Step::Rest);
    assert_eq!(s.news(), Some(SoundNews::Back));
}

#[test]
fn a_broken_stream_is_told_at_once_and_once() {
    let mut s = playing();
    assert_eq!(s.step(Ms(200), 9600, true), Step::Rest);
    assert_eq!(s.news(), Some(SoundNews::Lost));
    assert_eq!(s.step(Ms(250), 9600, true), Step::Rest);
    assert_eq!(s.news(), None);
    assert_eq!(s.step(Ms(300), 9600, true), Step::Open);
}

#[test]
fn a_process_that_was_held_up_does_not_blame_the_device() {
    let mut s = playing();
    assert_eq!(s.step(Ms(2100), 4800, false), Step::Rest);
    assert_eq!(s.step(Ms(2200), 9600, false), Step::Rest);
    assert_eq!(s.news(), None);
}

#[test]
fn a_stream_that_gives_no_frame_is_told_within_a_second_and_given_up_after_three() {
    let mut s = Supervisor::new(Ms(0));
    s.step(Ms(0), 0, false);
    s.opened(Ms(0));
    let (news, opens) = watch(&mut s, (100, 3300), |_| 0);
    assert_eq!(news, [(800, SoundNews::Lost)]);
    assert_eq!(opens, [3100, 3300]);
}

#[test]
fn a_stream_that_fills_its_buffer_and_begins_after_two_seconds_is_kept() {
    let mut s = Supervisor::new(Ms(0));
    s.step(Ms(0), 0, false);
    s.opened(Ms(0));
    let frames = |ms: u64| 2048 + 48 * ms.saturating_sub(2000);
    let (news, opens) = watch(&mut s, (100, 5000), frames);
    assert_eq!(news, [(800, SoundNews::Lost), (2100, SoundNews::Back)]);
    assert_eq!(opens, [0_u64; 0]);
}

/// The rule: sound is back 2 s after a stream can be opened, of which a new stream and the wait for a beat take 1.5 s.
#[test]
fn however_long_it_was_gone_a_device_that_comes_is_opened_within_half_a_second() {
    for gone in (0..=600_000).step_by(700) {
        let mut s = playing();
        let mut opened = None;
        for ms in (200..gone + 1000).step_by(100) {
            // The first stream breaks, and until it is back the device refuses.
            if s.step(Ms(ms), 9600, true) == Step::Open {
                if ms >= 200 + gone {
                    opened = Some(ms - 200 - gone);
                    break;
                }
                s.refused(Ms(ms));
            }
        }
        let after = opened.unwrap_or_else(|| panic!("gone for {gone} ms"));
        assert!(after <= 500, "{gone} ms: {after} ms");
    }
}

#[test]
fn after_ten_minutes_the_waits_are_three_seconds_until_there_is_sound() {
    let mut s = Supervisor::new(Ms(0));
    let (_, opens) = watch(&mut s, (0, 620_000), |_| 0);
    let waits: Vec<u64> = opens.windows(2).map(|w| w[1] - w[0]).collect();
    assert_eq!(waits[..4], [100, 200, 400, 400]);
    let soon = waits.iter().take_while(|wait| **wait <= 400).count();
    assert!(waits[soon..].iter().all(|wait| *wait == 3000));
    assert!(opens[soon].abs_diff(600_000) <= 400, "{}", opens[soon]);
    while s.step(s.stepped.plus(Ms(100)), 0, false) != Step::Open {}
    s.opened(s.stepped);
    let back = s.stepped.plus(Ms(100));
    s.step(back, 512, false);
    s.step(back.plus(Ms(100)), 1024, false);
    s.step(back.plus(Ms(200)), 1536, true);
    assert_eq!(s.step(back.plus(Ms(300)), 1536, true), Step::Open);
}

/// A device that tells all the time that it came or went, and the owner of its streams, who looks every 100 ms and at
/// each such news. The first stream plays until it is closed; the others as given.
struct Flapping {
    s: Supervisor,
    /// News come so often, ms.
    every: u64,
    /// Opening a stream takes so long, ms.
    takes: u64,
    /// A stream has filled its buffer so long after it was opened; `None`: never.
    fills: Option<u64>,
    /// It sounds from so long after it was opened on; `None`: never.
    sounds: Option<u64>,
    stream: Stream,
    /// When the first stream was closed.
    closed: Option<u64>,
    opens: Vec<u64>,
    news: Vec<(u64, SoundNews)>,
}

enum Stream {
    First,
    None,
    Opened(u64),
}

impl Flapping {
    fn new((every, takes): (u64, u64), fills: Option<u64>, sounds: Option<u64>) -> Self {
        Self {
            s: playing(),
            every,
            takes,
            fills,
            sounds,
            stream: Stream::First,
            closed: None,
            opens: Vec::new(),
            news: Vec::new(),
        }
    }

    fn frames(&self, now: u64) -> u64 {
        match self.stream {
            Stream::First => 48 * now,
            Stream::None => 0,
            Stream::Opened(at) => {
                let age = now - at;
                let filled = self.fills.is_some_and(|from| age >= from);
                let sounding = self.sounds.map_or(0, |from| age.saturating_sub(from));
                2048 * u64::from(filled) + 48 * sounding
            }
        }
    }

    fn run(&mut self, to: u64) {
        let (mut now, mut looked) = (100, 100);
        while now < to {
            now += 1;
            let is_told = now.is_multiple_of(self.every);
            if is_told {
                self.s.moved(Ms(now));
            } else if now - looked < 100 {
                continue;
            }
            looked = now;
            let step = self.s.step(Ms(now), self.frames(now), false);
            self.hear(now);
            if self.s.is_waiting() {
                self.stream = Stream::None;
                self.closed.get_or_insert(now);
            }
            if step == Step::Open {
                // Its owner steps no more meanwhile; the conductor looks.
                for _ in 0..self.takes {
                    now += 1;
                    self.s.look(Ms(now));
                    self.hear(now);
                }
                self.opens.push(now);
                self.stream = Stream::Opened(now);
                self.s.opened(Ms(now));
                self.hear(now);
            }
        }
    }

    fn hear(&mut self, now: u64) {
        while let Some(news) = self.s.news() {
            self.news.push((now, news));
        }
    }
}

/// The rule: if sound stops for any reason, the screen says so within 1 s.
#[test]
fn a_device_that_flaps_cannot_hide_silence_for_a_second() {
    for every in [10, 70, 150, 400, 650, 850, 2000] {
        for takes in [1, 120, 500, 3000] {
            for fills in [None, Some(30)] {
                let mut device = Flapping::new((every, takes), fills, None);
                device.run(9000);
                let what = format!("{every} ms, {takes} ms, {fills:?}: {:?}", device.news);
                let (Some(closed), [(told, SoundNews::Lost)]) = (device.closed, &device.news[..])
                else {
                    panic!("{what}");
                };
                assert!((800..=1000).contains(&(told - closed)), "{closed}: {what}");
            }
        }
    }
}

#[test]
fn a_device_that_flaps_and_plays_is_opened_ever_more_seldom_and_never_called_lost() {
    let mut device = Flapping::new((100, 60), Some(20), Some(60));
    device.run(20_000);
    assert_eq!(device.news, []);
    assert!((4..=8).contains(&device.opens.len()), "{:?}", device.opens);
}

#[test]
fn a_crowd_of_news_opens_the_device_once_and_soon() {
    let mut s = playing();
    let mut opens = Vec::new();
    for ms in (110..=3000).step_by(10) {
        if [200, 260, 390].contains(&ms) {
            s.moved(Ms(ms));
        }
        if s.step(Ms(ms), 48 * ms, false) == Step::Open {
            opens.push(ms);
            s.opened(Ms(ms));
        }
    }
    assert_eq!(opens, [590]);
    assert_eq!(s.news(), None);
}

#[test]
fn a_stream_that_was_carried_off_is_opened_anew_at_once_but_not_again_and_again() {
    let mut s = playing();
    let mut opens = Vec::new();
    for ms in (120..6000).step_by(20) {
        // A server that will not let it be.
        if ms >= 320 && ms % 100 == 20 {
            s.carried_off(Ms(ms));
        }
        if s.step(Ms(ms), ms, false) == Step::Open {
            opens.push(ms);
            s.opened(Ms(ms));
        }
    }
    assert_eq!(opens, [320, 820, 1820, 3820]);
    assert_eq!(s.news(), None);
}

/// What waited for its time is not done to the stream that was opened meanwhile, for another reason.
#[test]
fn what_was_told_of_a_stream_is_forgotten_with_it() {
    let mut s = playing();
    let mut opens = Vec::new();
    for ms in (120..4000).step_by(20) {
        if ms == 320 || ms == 500 {
            assert!(s.carried_off(Ms(ms)));
        }
        if ms == 600 {
            s.renew(Ms(ms));
        }
        if s.step(Ms(ms), ms, false) == Step::Open {
            opens.push(ms);
            s.opened(Ms(ms));
        }
    }
    assert_eq!(opens, [320, 600]);
}

#[test]
fn a_stream_that_has_not_begun_is_new_itself() {
    let mut s = Supervisor::new(Ms(0));
    assert_eq!(s.step(Ms(0), 0, false), Step::Open);
    s.opened(Ms(0));
    assert!(!s.carried_off(Ms(20)));
    assert_eq!(s.step(Ms(40), 0, false), Step::Rest);
    s.step(Ms(60), 1024, false);
    assert!(!s.carried_off(Ms(80)));
    assert_eq!(s.step(Ms(100), 1024, false), Step::Rest);
}

/// Without a device for more than ten minutes.
fn long_without() -> (Supervisor, u64) {
    let mut s = Supervisor::new(Ms(0));
    let (_, opens) = watch(&mut s, (0, 700_000), |_| 0);
    let last = *opens.last().unwrap();
    assert!(last > 697_000);
    (s, last)
}

#[test]
fn a_device_that_came_is_not_kept_waiting_for_the_next_attempt() {
    let (mut s, last) = long_without();
    s.moved(Ms(last + 500));
    let (_, opens) = watch(&mut s, (last + 600, last + 1000), |_| 0);
    assert_eq!(opens.first(), Some(&(last + 700)), "else {}", last + 3000);
}

#[test]
fn a_device_that_is_told_before_it_can_be_opened_is_tried_again_soon() {
    let (mut s, last) = long_without();
    s.moved(Ms(last + 500));
    let (_, opens) = watch(&mut s, (last + 600, last + 5000), |_| 0);
    let waits: Vec<u64> = opens.windows(2).map(|w| w[1] - w[0]).collect();
    assert_eq!(waits[..3], [100, 200, 400]);
    assert!(waits.iter().all(|wait| *wait <= 400), "{waits:?}");
}

#[test]
fn whoever_is_stuck_in_opening_the_device_is_not_waited_for() {
    let mut s = playing();
    s.renew(Ms(120));
    assert_eq!(s.step(Ms(150), 9600, false), Step::Open);
    // From here on its owner does not come back.
    let at = s.overdue_at().unwrap();
    assert_eq!(at, Ms(900));
    s.look(Ms(at.0 - 1));
    assert!(!s.has_news());
    s.look(at);
    assert_eq!(s.news(), Some(SoundNews::Lost));
    assert_eq!(s.overdue_at(), None);
    s.look(Ms(20_000));
    assert_eq!(s.news(), None, "told once");
    s.opened(Ms(30_000));
    s.step(Ms(30_050), 2048, false);
    s.step(Ms(30_100), 4096, false);
    assert_eq!(s.news(), Some(SoundNews::Back));
}

#[test]
fn a_stream_that_plays_is_not_blamed_by_who_looks_from_outside() {
    let mut s = playing();
    assert_eq!(s.overdue_at(), None);
    s.look(Ms(60_000));
    assert_eq!(s.news(), None);
}

#[test]
fn a_process_that_is_held_up_again_and_again_hides_no_silence() {
    let mut s = playing();
    let told = (1..=10).find(|n| {
        s.step(Ms(100 + n * 400), 4800, false);
        s.news() == Some(SoundNews::Lost)
    });
    assert_eq!(told, Some(5));
}
