//! The rules in virtual time. Expected times are written by hand from `docs/timing.md` and the
//! example protocol: 110 a minute, 30:2 with a 4 s window, breaths every 6 s, checks every 120 s.

#![expect(
    clippy::arithmetic_side_effects,
    clippy::wildcard_enum_match_arm,
    reason = "a test that overflows or meets a stranger fails, as it should"
)]

extern crate std;

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

use proptest::prelude::*;

use crate::{
    Act, ClipLengths, Cue, CueSound, Entry, Fact, Input, Ms, Output, Prompt, Protocol, Run, Setup,
    SoundNews, Start, StateWord, Tone,
    fact::{CueOutcome, Deed, Source, Way},
    mark::{AirMark, AirwayAct, AirwayDevice, Mark, PatientClass},
};

/// Every clip one second long but the count's, so that times can be worked out by hand.
fn setup() -> Setup {
    let text = Protocol::example("example-adult").unwrap();
    let clips = Prompt::ALL
        .iter()
        .map(|p| {
            (
                *p,
                if p.word().starts_with("chk_cd") {
                    500
                } else {
                    1000
                },
            )
        })
        .collect::<BTreeMap<_, _>>();
    Setup {
        protocol: Protocol::parse(text.as_bytes()).unwrap(),
        clips: ClipLengths::new(clips).unwrap(),
        class: PatientClass::Adult,
    }
}

/// A run with everything that came out of it.
struct Walk {
    run: Run,
    now: Ms,
    heard: Vec<(u64, String)>,
    beats: Vec<(u64, beat::Kind)>,
    score: Option<beat::Placed>,
    cues: Vec<(Ms, Cue)>,
    log: Vec<Entry>,
}

impl Walk {
    fn new() -> Self {
        Self {
            run: Run::new(setup()),
            now: Ms::ZERO,
            heard: Vec::new(),
            beats: Vec::new(),
            score: None,
            cues: Vec::new(),
            log: Vec::new(),
        }
    }

    /// Plays what falls before `now`, as the sound would.
    fn sound_until(&mut self, now: Ms) {
        if let Some(placed) = self.score {
            let mut next = placed.first(self.now.0, 1000);
            while let Some(s) = next.filter(|s| s.at < now.0) {
                self.beats.push((s.at, s.kind));
                next = placed.after(s, 1000);
            }
        }
        let (due, rest): (Vec<_>, Vec<_>) = core::mem::take(&mut self.cues)
            .into_iter()
            .partition(|(start, _)| *start < now);
        self.cues = rest;
        for (start, cue) in due {
            let name = match cue.sound {
                CueSound::Voice(p) => p.word(),
                CueSound::Tone(t) => t.word(),
            };
            self.heard.push((start.0, name.to_string()));
            self.input(
                now,
                Input::Sound(SoundNews::Started {
                    id: cue.id,
                    at: start,
                }),
            );
        }
        self.now = now;
    }

    fn input(&mut self, now: Ms, input: Input) {
        self.run.handle(now, input);
        while let Some(out) = self.run.poll() {
            match out {
                Output::Score(placed) => self.score = Some(placed),
                Output::Play(cue) => {
                    let start = match cue.start {
                        Start::Now => now,
                        Start::At(at) => {
                            assert!(at.since(now) >= Ms(300), "{cue:?} handed over at {now}");
                            at
                        }
                    };
                    self.cues.push((start, cue));
                }
                Output::Revoke(id) => self.cues.retain(|(_, c)| c.id != id),
                Output::Write(entry) => self.log.push(entry),
                Output::Show => {}
            }
        }
    }

    fn until(&mut self, t: u64) -> &mut Self {
        let t = Ms(t);
        while let Some(wake) = self.run.next_wakeup().filter(|w| *w < t) {
            assert!(wake > self.now, "woken again at {wake}");
            self.sound_until(wake);
            self.input(wake, Input::Wake);
        }
        self.sound_until(t);
        self.input(t, Input::Wake);
        self
    }

    /// A touch of 100 ms, taken at `t`.
    fn tap(&mut self, t: u64, act: Act) -> &mut Self {
        self.until(t);
        for mark in act.marks() {
            self.input(
                Ms(t),
                Input::Mark {
                    at: Ms(t - t.min(100)),
                    mark,
                    src: Source::Button,
                },
            );
        }
        self
    }

    fn undo(&mut self, t: u64) -> &mut Self {
        self.until(t);
        self.input(Ms(t), Input::Undo);
        self
    }

    fn voices(&self) -> Vec<(u64, &str)> {
        self.heard
            .iter()
            .filter(|(_, n)| Prompt::ALL.iter().any(|p| p.word() == n))
            .map(|(t, n)| (*t, n.as_str()))
            .collect()
    }

    fn beats_between(&self, from: u64, to: u64) -> Vec<u64> {
        self.beats
            .iter()
            .filter(|(t, k)| *k != beat::Kind::Breath && (from..to).contains(t))
            .map(|(t, _)| *t)
            .collect()
    }

    fn breaths(&self) -> Vec<u64> {
        self.beats
            .iter()
            .filter(|(_, k)| *k == beat::Kind::Breath)
            .map(|(t, _)| *t)
            .collect()
    }

    fn ignored(&self) -> Vec<&str> {
        self.log
            .iter()
            .filter_map(|e| match &e.fact {
                Fact::Deed(Deed::Ignored { why, .. }) => Some(why.as_str()),
                Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
            })
            .collect()
    }
}

fn started() -> Walk {
    let mut w = Walk::new();
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.tap(0, Act::StartByHand);
    w
}

#[test]
fn thirty_beats_then_a_window_with_two_breath_tones() {
    let mut w = started();
    w.until(45_000);
    let first = w.beats_between(0, 16_388);
    assert_eq!(first.len(), 30);
    assert_eq!((first[0], first[1]), (25, 570));
    // 30 periods of 60/110 s are 16.3636 s; the window is 4 s.
    assert_eq!(w.beats_between(16_388, 20_388), []);
    assert_eq!(w.breaths()[..2], [16_388, 18_388]);
    assert_eq!(w.beats_between(20_388, 21_000)[0], 20_388);
}

#[test]
fn the_untended_run_goes_on() {
    let mut w = started();
    w.until(720_000);
    let mut expected = Vec::new();
    for k in 1..=5u64 {
        let due = k * 120_000;
        expected.push((due - 30_000, "chk_30"));
        for (s, word) in [
            (5, "chk_cd5"),
            (4, "chk_cd4"),
            (3, "chk_cd3"),
            (2, "chk_cd2"),
            (1, "chk_cd1"),
        ] {
            expected.push((due - s * 1000, word));
        }
        expected.push((due, "chk_now"));
        expected.push((due + 30_000, "chk_over"));
    }
    expected.push((690_000, "chk_30"));
    for (s, word) in [
        (5, "chk_cd5"),
        (4, "chk_cd4"),
        (3, "chk_cd3"),
        (2, "chk_cd2"),
        (1, "chk_cd1"),
    ] {
        expected.push((720_000 - s * 1000, word));
    }
    assert_eq!(w.voices(), expected);
    // 12 minutes hold 35 whole cycles of 20.3636 s and 13 beats more in what is left.
    let cycles = 720_000 * 110 / (30 * 60_000 + 4000 * 110);
    assert_eq!(cycles, 35);
    assert!(w.beats_between(0, 720_000).len() > 35 * 30);
    let unmarked = w
        .log
        .iter()
        .filter(|e| matches!(e.fact, Fact::Deed(Deed::CheckUnmarked { .. })))
        .count();
    assert_eq!(unmarked, 5);
}

#[test]
fn airway_in_within_a_phase_keeps_every_beat_and_starts_the_six_seconds() {
    let mut w = started();
    w.tap(30_100, Act::AirwayIn).until(60_000);
    // The second cycle begins at 25 + 20,363.6; its grid goes on through what were windows.
    let grid: Vec<u64> = (0..60u64)
        .map(|i| (20_388_636 + i * 60_000_000 / 110) / 1000)
        .collect();
    let beats = w.beats_between(20_388, 50_000);
    assert!(
        beats
            .iter()
            .all(|b| grid.iter().any(|g| g.abs_diff(*b) <= 1)),
        "{beats:?}"
    );
    assert_eq!(beats.len(), grid.iter().filter(|g| **g < 50_000).count());
    assert_eq!(w.breaths()[2..5], [36_000, 42_000, 48_000]);
}

#[test]
fn airway_in_within_a_window_starts_the_beat_anew() {
    let mut w = started();
    w.tap(17_000, Act::AirwayIn).until(30_000);
    assert_eq!(w.beats_between(16_388, 18_000)[..2], [17_025, 17_570]);
    assert_eq!(w.breaths(), [16_388, 22_900, 28_900]);
}

#[test]
fn airway_lost_makes_the_next_beat_the_first_of_thirty() {
    let mut w = started();
    w.tap(5000, Act::AirwayIn)
        .tap(10_000, Act::AirwayLost)
        .until(30_000);
    // Beats at 25 + n * 545.45: the first at or after 10,025 is n = 19, 10,388.
    let first = w
        .beats
        .iter()
        .find(|(t, k)| *t > 10_000 && *k == beat::Kind::BeatFirst);
    assert_eq!(first.map(|(t, _)| *t), Some(10_388));
    assert_eq!(w.breaths().last(), Some(&28_752));
}

#[test]
fn hands_off_is_silent_and_speaks_the_number() {
    let mut w = started();
    w.tap(30_100, Act::HandsOff)
        .tap(93_100, Act::HandsOn)
        .until(100_000);
    assert_eq!(w.beats_between(30_100, 93_125), []);
    let numbers: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(_, n)| n.starts_with("off"))
        .collect();
    assert_eq!(
        numbers,
        [
            (40_000, "off10"),
            (45_000, "off15"),
            (50_000, "off20"),
            (60_000, "off30"),
            (70_000, "off40"),
            (80_000, "off50"),
            (90_000, "off60"),
        ]
    );
    assert_eq!(w.beats_between(93_100, 93_200), [93_125]);
}

#[test]
fn a_seven_second_pause_hears_no_number() {
    let mut w = started();
    w.tap(30_000, Act::HandsOff)
        .tap(37_000, Act::HandsOn)
        .until(60_000);
    assert_eq!(w.voices(), []);
}

#[test]
fn a_check_counts_from_the_later_of_shock_and_resume() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(130_000, Act::ShockedHand)
        .until(400_000);
    let checks: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(_, n)| *n == "chk_now")
        .collect();
    // The resume's finger went down at 129,900.
    assert_eq!(
        checks,
        [
            (120_000, "chk_now"),
            (249_900, "chk_now"),
            (369_900, "chk_now")
        ]
    );
}

#[test]
fn nothing_asks_for_a_check_in_the_two_minutes_after_a_shock() {
    let mut w = started();
    w.tap(60_000, Act::HandsOff)
        .tap(62_000, Act::ShockNow)
        .tap(64_000, Act::HandsOn);
    w.until(183_000);
    assert!(
        w.voices()
            .iter()
            .all(|(t, n)| *n != "chk_now" || *t >= 182_000),
        "{:?}",
        w.voices()
    );
}

#[test]
fn a_plain_pause_does_not_move_the_check() {
    let mut w = started();
    w.tap(60_000, Act::HandsOff)
        .tap(66_000, Act::HandsOn)
        .until(121_000);
    assert!(w.voices().contains(&(120_000, "chk_now")));
}

#[test]
fn a_check_that_falls_due_in_hands_off_is_called_when_hands_are_on() {
    let mut w = started();
    w.tap(80_000, Act::HandsOff)
        .tap(125_000, Act::HandsOn)
        .until(140_000);
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 120_000)
        .collect();
    assert_eq!(after, [(125_000, "chk_now")]);
}

fn by_device() -> Walk {
    let mut w = started();
    w.tap(10_000, Act::FitDevice)
        .tap(20_100, Act::HandsOffFit)
        .tap(26_100, Act::DeviceRunning);
    w
}

#[test]
fn by_device_in_a_ratio_nothing_beats_and_a_life_tone_says_so() {
    let mut w = by_device();
    w.until(60_000);
    assert_eq!(w.beats_between(20_100, 60_000), []);
    assert_eq!(w.breaths().into_iter().filter(|t| *t > 20_100).count(), 0);
    let life: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == "life")
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(life, [36_000, 46_000, 56_000]);
}

#[test]
fn the_start_of_the_device_asks_for_the_cup_until_it_is_answered() {
    let mut w = by_device();
    w.until(90_000);
    let cups: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(_, n)| n.starts_with("cup"))
        .collect();
    assert_eq!(cups, [(26_100, "cup_now"), (56_100, "cup_now")]);
    assert_eq!(w.run.view(w.now).main, [Act::CupGood, Act::Reseat]);
    assert!(w.run.view(w.now).urgent);
    w.tap(91_000, Act::CupGood);
    assert_eq!(w.run.view(w.now).main, [Act::Paused, Act::Stopped]);
}

#[test]
fn a_move_holds_the_check_and_asks_for_the_cup_first() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(110_000, Act::Moving)
        .tap(130_000, Act::SetDown)
        .until(140_000);
    let said: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 100_000)
        .collect();
    // One second of cup_down, then 1.5 s of no speech.
    assert_eq!(said, [(130_000, "cup_down"), (132_500, "chk_now")]);
    assert!(
        w.log
            .iter()
            .any(|e| matches!(&e.fact, Fact::Deed(Deed::Cue(c))
        if c.outcome == CueOutcome::Held && c.id == Some(Prompt::ChkNow)))
    );
}

#[test]
fn airway_in_by_device_asks_for_continuous_and_breathes_by_the_clock() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::AirwayIn)
        .until(70_000);
    assert!(w.voices().contains(&(40_100, "dev_cont")));
    let breaths: Vec<u64> = w.breaths().into_iter().filter(|t| *t > 40_000).collect();
    assert_eq!(breaths, [46_000, 52_000, 58_000, 64_000]);
}

#[test]
fn a_power_swap_inside_the_window_is_one_pause_and_a_cup_check() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::PowerSwap)
        .tap(65_100, Act::Swapped)
        .until(80_000);
    let said: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 39_000)
        .collect();
    assert_eq!(
        said,
        [
            (50_000, "off10"),
            (55_000, "off15"),
            (60_000, "off20"),
            (65_100, "cup_now")
        ]
    );
    assert_eq!(w.run.view(w.now).state, StateWord::ByDevice);
}

#[test]
fn a_power_swap_outside_the_window_stays_hands_off_until_the_device_runs() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::PowerSwap)
        .tap(105_100, Act::Swapped);
    w.until(106_000);
    assert!(w.heard.contains(&(100_000, "attention".to_string())));
    assert!(w.voices().contains(&(105_100, "power_over")));
    assert_eq!(w.run.view(w.now).state, StateWord::HandsOff);
    w.tap(110_000, Act::DeviceRunning).until(112_000);
    assert!(w.voices().contains(&(110_000, "cup_now")));
}

#[test]
fn stopped_leads_in_and_hands_on_goes_on_in_the_same_beat() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_000, Act::AirwayIn)
        .tap(50_000, Act::Stopped);
    w.tap(58_000, Act::HandsOn).until(70_000);
    assert!(w.voices().contains(&(50_000, "dev_stop")));
    let beats = w.beats_between(50_000, 60_000);
    let grid: Vec<u64> = (0..20u64).map(|n| 50_025 + n * 60_000 / 110).collect();
    assert!(
        beats
            .iter()
            .all(|b| grid.iter().any(|g| g.abs_diff(*b) <= 1))
    );
    assert_eq!(beats.len(), grid.iter().filter(|g| **g < 60_000).count());
    let breaths: Vec<u64> = w.breaths().into_iter().filter(|t| *t > 50_000).collect();
    assert_eq!(breaths, [63_900, 69_900]);
}

#[test]
fn undo_brings_the_old_grid_back_and_says_so() {
    let mut w = started();
    w.tap(5000, Act::HandsOff).undo(8000).until(16_000);
    assert!(w.voices().contains(&(8000, "undo")));
    // The grid of the start: 25 + n * 545.45; n = 15 is 8206.
    assert_eq!(w.beats_between(5000, 8700), [8206]);
    assert_eq!(w.run.view(w.now).state, StateWord::ByHand);
}

#[test]
fn undo_takes_both_marks_of_one_touch() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(130_000, Act::ShockedHand)
        .undo(132_000);
    let view = w.run.view(w.now);
    assert_eq!((view.state, view.shocks), (StateWord::HandsOff, 0));
    assert_eq!(view.state_since, Ms(122_900));
}

#[test]
fn voice_off_leaves_a_tone_in_the_voice_s_place_and_stays() {
    let mut w = started();
    w.tap(10_000, Act::VoiceOff).until(121_000);
    assert_eq!(w.voices(), []);
    let tones: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == "attention")
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(
        tones,
        [90_000, 115_000, 116_000, 117_000, 118_000, 119_000, 120_000]
    );
}

#[test]
fn nothing_but_the_number_is_said_after_a_charge() {
    let mut w = started();
    w.tap(119_500, Act::HandsOffCheck);
    let charge = Mark::Check(crate::mark::CheckMark::Charge {
        act: crate::mark::ChargeAct::Begun,
    });
    w.until(121_000);
    w.input(
        Ms(121_000),
        Input::Mark {
            at: Ms(121_000),
            mark: charge,
            src: Source::Button,
        },
    );
    w.until(140_000);
    let said: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 119_500)
        .collect();
    assert_eq!(
        said,
        [(129_400, "off10"), (134_400, "off15"), (139_400, "off20")]
    );
}

#[test]
fn nothing_sounds_after_the_end() {
    let mut w = started();
    w.tap(100_000, Act::EndHandedOver).until(300_000);
    assert_eq!(w.beats_between(100_000, 300_000), []);
    assert!(w.heard.iter().all(|(t, _)| *t <= 100_000));
    assert!(w.run.is_over());
}

#[test]
fn a_mark_that_cannot_stand_is_kept_as_ignored() {
    let mut w = started();
    w.tap(5000, Act::Swapped)
        .tap(6000, Act::HandsOn)
        .tap(7000, Act::PulseBack);
    assert_eq!(
        w.ignored(),
        [
            "the pack is in: swap_begin comes first",
            "already compressing by hand",
            "hands are not off: compr_stop comes first",
        ]
    );
}

#[test]
fn after_a_kill_the_state_is_unknown_and_the_beat_goes_on_in_its_phase() {
    let mut w = started();
    w.until(10_000);
    let last = w.log.last().unwrap().clone();
    let mut again = Walk::new();
    again.run = Run::replay(setup(), &w.log).unwrap();
    again.now = Ms(15_000);
    again.input(
        Ms(15_000),
        Input::Recovered {
            from_seq: last.seq,
            from: last.taken,
            bad_bytes: 0,
        },
    );
    assert_eq!(again.run.view(Ms(15_000)).state, StateWord::Unknown);
    assert_eq!(again.run.view(Ms(15_000)).state_since, last.taken);
    again.until(16_000);
    // 25 + 28 * 545.45 = 15,297.
    assert_eq!(again.beats_between(15_000, 15_400), [15_297]);
    again.tap(16_000, Act::AsBefore);
    assert_eq!(again.run.view(Ms(16_000)).state, StateWord::ByHand);
}

#[test]
fn a_leaking_airway_named_otherwise_takes_the_protocol_s_mode() {
    let mut w = started();
    w.until(5000);
    let mark = Mark::Air(AirMark::Airway {
        act: AirwayAct::In,
        device: Some(AirwayDevice::Opa),
        attempt: None,
    });
    w.input(
        Ms(5000),
        Input::Mark {
            at: Ms(5000),
            mark,
            src: Source::Button,
        },
    );
    w.until(20_000);
    assert_eq!(w.beats_between(16_388, 20_000), []);
}

fn acts() -> impl Strategy<Value = Act> {
    let most: Vec<Act> = Act::ALL
        .iter()
        .copied()
        .filter(|a| !a.word().starts_with("end_"))
        .collect();
    proptest::sample::select(most)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    /// One voice at a time; a replay of the log gives the identical view; an undone act leaves
    /// state line and check as if it had never been.
    #[test]
    fn any_crew(taps in proptest::collection::vec((700u64..25_000, acts(), 0u8..12), 1..70)) {
        let mut w = started();
        let mut t = 500;
        for (gap, act, undo) in taps {
            t += gap;
            w.until(t);
            let before = w.run.view(Ms(t));
            let log = w.log.len();
            w.tap(t, act);
            let taken = w.log.iter().skip(log).any(|e| matches!(e.fact, Fact::Mark(_)));
            if undo == 0 && taken {
                let later = t + 300;
                w.undo(later);
                let after = w.run.view(Ms(later));
                prop_assert_eq!((after.state, after.state_since), (before.state, before.state_since));
                prop_assert_eq!(after.shocks, before.shocks);
                let silent = beat::Pattern::Silent { breath_ms: 0 };
                let (heard, wanted) = (w.run.sounding().unwrap(), w.run.wanted());
                prop_assert!(
                    heard.score == wanted.score
                        || (heard.score.pattern, wanted.score.pattern) == (silent, silent)
                );
                t = later;
            }
        }
        w.until(t + 5000);
        let replayed = Run::replay(setup(), &w.log).unwrap();
        prop_assert_eq!(replayed.view(w.now), w.run.view(w.now));
        let lengths = setup().clips;
        let mut voices: Vec<(u64, u64)> = w.log.iter().filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.outcome == CueOutcome::Spoken && c.kind == "voice" => {
                Some((c.start_ms.0, c.cue))
            }
            _ => None,
        }).filter_map(|(start, cue)| {
            let cut = w.log.iter().find_map(|e| match &e.fact {
                Fact::Deed(Deed::Cue(c)) if c.cue == cue && c.outcome == CueOutcome::Cut => Some(e.taken.0),
                _ => None,
            });
            let len = w.log.iter().find_map(|e| match &e.fact {
                Fact::Deed(Deed::Cue(c)) if c.cue == cue => c.id.map(|p| u64::from(lengths.ms(p))),
                _ => None,
            })?;
            Some((start, cut.unwrap_or(u64::MAX).min(start + len)))
        }).collect();
        voices.sort_unstable();
        for pair in voices.windows(2) {
            prop_assert!(pair[0].1 <= pair[1].0, "voices {:?} and {:?}", pair[0], pair[1]);
        }
    }
}

#[test]
fn receipts_answer_each_touch_once() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(130_000, Act::ShockedHand)
        .until(131_000);
    let receipts: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == Tone::Receipt.word())
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(receipts, [0, 123_000, 130_000]);
}

#[test]
fn off_the_chest_counts_on_when_the_reason_changes() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::Paused)
        .tap(45_000, Act::PowerSwap);
    w.until(51_000);
    assert!(w.voices().contains(&(50_000, "off10")));
    assert_eq!(w.run.view(w.now).state_since, Ms(40_000));
    w.tap(52_000, Act::Stopped).until(56_000);
    assert!(w.voices().contains(&(55_000, "off15")));
}

#[test]
fn a_prompt_that_was_cut_before_it_began_is_said_after_the_slip_is_undone() {
    let mut w = started();
    w.tap(119_700, Act::HandsOff).undo(121_000).until(130_000);
    // The answer to the undo comes first, then 1.5 s of no speech.
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t >= 119_700)
        .collect();
    assert!(after.iter().any(|(_, n)| *n == "chk_now"), "{after:?}");
}

#[test]
fn a_timed_shock_leaves_a_way_on_that_counts_it_once() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(128_000, Act::ShockNow);
    let view = w.run.view(w.now);
    assert_eq!(view.main, [Act::HandsOn, Act::DeviceRunning]);
    w.tap(131_000, Act::HandsOn).until(132_000);
    assert_eq!(w.run.view(w.now).shocks, 1);
}

#[test]
fn a_pause_that_was_no_check_after_all_does_not_move_the_check() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(124_000, Act::WhyAirway)
        .tap(130_000, Act::HandsOn);
    w.until(245_000);
    assert!(w.voices().contains(&(240_000, "chk_now")));
}

#[test]
fn long_overdue_the_plain_card_is_back() {
    let mut w = started();
    w.until(140_000);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOffCheck]);
    w.until(151_000);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOff]);
}

#[test]
fn after_a_kill_in_hands_off_no_order_is_spoken_and_the_phone_shows_life() {
    let mut w = started();
    w.tap(85_000, Act::HandsOff).until(87_000);
    let last = w.log.last().unwrap().clone();
    let mut again = Walk::new();
    again.run = Run::replay(setup(), &w.log).unwrap();
    again.now = Ms(88_000);
    again.input(
        Ms(88_000),
        Input::Recovered {
            from_seq: last.seq,
            from: last.taken,
            bad_bytes: 0,
        },
    );
    again.until(125_000);
    assert_eq!(again.voices(), []);
    assert!(again.heard.iter().any(|(_, n)| n == "life"));
    assert!(again.run.view(again.now).sheet.contains(&Act::HandsOff));
}

#[test]
fn a_stall_over_a_whole_round_is_written_down_as_missed() {
    let mut w = started();
    w.until(100_000);
    w.now = Ms(400_000);
    w.input(Ms(400_000), Input::Wake);
    let missed: Vec<_> = w
        .log
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.outcome == CueOutcome::Missed => {
                c.id.map(|p| (c.due_ms.0, p.word()))
            }
            _ => None,
        })
        .collect();
    assert!(missed.contains(&(120_000, "chk_now")), "{missed:?}");
    assert!(missed.contains(&(240_000, "chk_now")), "{missed:?}");
    let unmarked = w
        .log
        .iter()
        .filter(|e| matches!(e.fact, Fact::Deed(Deed::CheckUnmarked { .. })))
        .count();
    assert_eq!(unmarked, 2);
}

#[test]
fn every_key_offered_makes_a_mark_that_can_stand() {
    let mut w = by_device();
    let script = [
        Act::CupGood,
        Act::AirwayIn,
        Act::Moving,
        Act::SetDown,
        Act::Reseat,
        Act::DeviceRunning,
        Act::CupGood,
        Act::PowerSwap,
        Act::Swapped,
        Act::Paused,
        Act::WhyCheck,
        Act::ShockNow,
        Act::DeviceRunning,
        Act::Stopped,
        Act::HandsOn,
        Act::HandsOff,
        Act::PulseBack,
        Act::ArrestAgainHand,
        Act::Moving,
        Act::HandsOff,
        Act::HandsOn,
    ];
    let mut t = 30_000;
    for act in script {
        w.tap(t, act);
        let view = w.run.view(w.now);
        for key in view.main.iter().chain(&view.side).chain(&view.sheet) {
            let mark = key.marks().remove(0);
            assert_eq!(w.run.check(&mark), Ok(()), "{key:?} after {act:?}");
        }
        assert!(view.sheet.len() <= 7, "{:?}", view.sheet);
        t += 4000;
    }
    assert!(w.ignored().is_empty(), "{:?}", w.ignored());
}

#[test]
fn a_mark_that_was_not_taken_is_not_told_as_kept() {
    let mut w = started();
    w.tap(5000, Act::Swapped);
    assert_eq!(w.run.last_act().map(|a| a.taken), Some(false));
    w.tap(6000, Act::Flag).undo(7000);
    let amend = w
        .log
        .iter()
        .rev()
        .find(|e| matches!(e.fact, Fact::Amend(_)))
        .unwrap()
        .seq;
    assert_eq!(
        w.run.last_act().map(|a| (a.seq, a.taken)),
        Some((amend, true))
    );
}
