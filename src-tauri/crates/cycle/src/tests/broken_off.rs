//! A voice whose stream goes away under it: written down as cut, and said again as soon as there is sound, once and only
//! while it is still wanted. Every clip is a second long.

use super::*;

/// A device stopped at 60 s: the sentence begins at once.
fn device_stopped() -> Walk {
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(60_000, Act::Stopped);
    w
}

/// What the record says of a prompt: what became of it, why.
fn told(w: &Walk, prompt: Prompt) -> Vec<(CueOutcome, Option<HeldWhy>)> {
    let lines = w.log.iter().filter_map(|e| match &e.fact {
        Fact::Deed(Deed::Cue(c)) if c.id == Some(prompt) => Some((c.outcome, c.why)),
        _ => None,
    });
    lines.collect()
}

/// The name of the cue that was asked for last for this prompt.
fn last_cue(w: &Walk, prompt: Prompt) -> crate::CueId {
    let asked = w.log.iter().rev().find_map(|e| match &e.fact {
        Fact::Deed(Deed::Cue(c)) => {
            (c.id == Some(prompt) && c.outcome == CueOutcome::Asked).then_some(c.cue)
        }
        _ => None,
    });
    asked.unwrap()
}

impl Walk {
    fn news(&mut self, t: u64, news: SoundNews) -> &mut Self {
        self.until(t);
        self.input(Ms(t), Input::Sound(news));
        self
    }

    /// The stream that sounds this prompt goes away.
    fn stream_gone(&mut self, t: u64, prompt: Prompt) -> &mut Self {
        self.until(t);
        let id = last_cue(self, prompt);
        self.news(t, SoundNews::Cut { id })
    }

    /// What is asked for at `t` for this prompt does not begin: there is no stream. That is told at `told`.
    fn left_out(&mut self, t: u64, told: u64, prompt: Prompt) -> &mut Self {
        self.until(t);
        let id = last_cue(self, prompt);
        self.cues.retain(|(_, cue)| cue.id != id);
        self.news(told, SoundNews::Late { id })
    }
}

const ASKED: (CueOutcome, Option<HeldWhy>) = (CueOutcome::Asked, None);
const SPOKEN: (CueOutcome, Option<HeldWhy>) = (CueOutcome::Spoken, None);
const LATE: (CueOutcome, Option<HeldWhy>) = (CueOutcome::Late, None);
const GONE: (CueOutcome, Option<HeldWhy>) = (CueOutcome::Cut, Some(HeldWhy::NoSound));

#[test]
fn a_sentence_whose_stream_goes_away_is_written_down_as_cut_and_said_again() {
    let mut w = device_stopped();
    w.stream_gone(60_300, Prompt::DevStop).until(70_000);
    assert_eq!(w.said("dev_stop"), [60_000, 60_300]);
    assert_eq!(
        told(&w, Prompt::DevStop),
        [ASKED, SPOKEN, GONE, ASKED, SPOKEN]
    );
}

#[test]
fn with_the_sound_lost_it_waits_until_that_is_back() {
    let back = |at: u64| {
        let mut w = device_stopped();
        w.news(60_300, SoundNews::Lost)
            .stream_gone(60_300, Prompt::DevStop)
            .until(60_400);
        let shown = w.run.view(w.now).said.map(|said| said.prompt);
        assert_eq!(shown, Some(Prompt::DevStop), "the screen says it meanwhile");
        w.news(at, SoundNews::Back).until(70_000);
        w.said("dev_stop")
    };
    assert_eq!(back(62_000), [60_000, 62_000]);
    // The rule: less than five seconds after it began.
    assert_eq!(back(64_999), [60_000, 64_999]);
    assert_eq!(back(65_000), [60_000]);
}

/// A stream that is opened anew is there some tenths of a second later: what cannot begin yet is asked for again, and
/// what was not heard is no speech.
#[test]
fn what_the_sound_leaves_out_meanwhile_is_asked_for_again() {
    let mut w = device_stopped();
    // Told at once it is tried 0.3 s later; told after that, at once.
    w.stream_gone(60_300, Prompt::DevStop)
        .left_out(60_300, 60_300, Prompt::DevStop)
        .left_out(60_600, 60_901, Prompt::DevStop)
        .until(70_000);
    assert_eq!(w.said("dev_stop"), [60_000, 60_901]);
    let expected = [ASKED, SPOKEN, GONE, ASKED, LATE, ASKED, LATE, ASKED, SPOKEN];
    assert_eq!(told(&w, Prompt::DevStop), expected);
    // Of class B: after the spacing, handed over ahead. The budget has three in twenty seconds.
    let mut w = by_device();
    w.stream_gone(26_400, Prompt::CupNow)
        .left_out(27_600, 27_981, Prompt::CupNow);
    for tried in [28_200, 28_500, 28_800] {
        w.left_out(tried, tried, Prompt::CupNow);
    }
    w.until(40_000);
    assert_eq!(w.said("cup_now"), [26_100, 29_100]);
}

#[test]
fn what_the_rules_broke_off_themselves_is_not_said_again_when_the_stream_goes_too() {
    let mut w = device_stopped();
    w.key(60_300, Act::HandsOn)
        .stream_gone(60_400, Prompt::DevStop)
        .until(61_000)
        .undo(61_000)
        .until(70_000);
    assert_eq!(w.said("dev_stop"), [60_000]);
    assert_eq!(
        told(&w, Prompt::DevStop),
        [ASKED, SPOKEN, (CueOutcome::Cut, None)]
    );
}

#[test]
fn what_is_answered_before_the_sound_is_back_is_not_said_again() {
    let mut w = device_stopped();
    w.news(60_300, SoundNews::Lost)
        .stream_gone(60_300, Prompt::DevStop)
        .key(61_000, Act::HandsOn)
        .news(62_000, SoundNews::Back)
        .until(70_000);
    assert_eq!(w.said("dev_stop"), [60_000]);
    assert_eq!(told(&w, Prompt::DevStop), [ASKED, SPOKEN, GONE]);
}

#[test]
fn a_sentence_is_said_again_once_only() {
    let mut w = device_stopped();
    w.stream_gone(60_300, Prompt::DevStop)
        .stream_gone(60_900, Prompt::DevStop)
        .until(70_000);
    assert_eq!(w.said("dev_stop"), [60_000, 60_300]);
    let expected = [ASKED, SPOKEN, GONE, ASKED, SPOKEN, GONE];
    assert_eq!(told(&w, Prompt::DevStop), expected);
}

/// The rule: a number is true for a second and a half.
#[test]
fn a_number_that_is_no_longer_true_is_not_said_again() {
    let back = |at: u64| {
        let mut w = device_stopped();
        w.news(70_300, SoundNews::Lost)
            .stream_gone(70_300, Prompt::Off10)
            .news(at, SoundNews::Back)
            .until(74_000);
        w.said("off10")
    };
    assert_eq!(back(71_000), [70_000, 71_000]);
    assert_eq!(back(71_600), [70_000]);
}

#[test]
fn a_check_whose_call_was_cut_short_is_overdue_all_the_same() {
    let mut w = started();
    w.news(120_300, SoundNews::Lost)
        .stream_gone(120_300, Prompt::ChkNow)
        .news(130_000, SoundNews::Back)
        .until(160_000);
    assert_eq!(w.said("chk_now"), [120_000]);
    assert_eq!(w.said("chk_over"), [150_000]);
}

/// Cut short, held back by a move while there was no sound, and not said again: it had been called all the same.
#[test]
fn a_check_whose_call_was_cut_short_and_then_held_back_is_overdue_all_the_same() {
    let mut w = started();
    w.news(120_300, SoundNews::Lost)
        .stream_gone(120_300, Prompt::ChkNow)
        .tap(121_000, Act::Moving)
        .news(122_000, SoundNews::Back)
        .tap(135_000, Act::SetDown)
        .until(151_000);
    assert_eq!(w.said("chk_over"), [150_000]);
}

#[test]
fn a_run_read_from_its_log_says_it_again_too() {
    let mut w = device_stopped();
    w.news(60_300, SoundNews::Lost)
        .stream_gone(60_300, Prompt::DevStop);
    let mut read = Walk::new();
    read.run = Run::replay(setup(), &w.log).unwrap();
    read.now = w.now;
    read.news(62_000, SoundNews::Back).until(63_500);
    assert_eq!(read.said("dev_stop"), [62_000]);
}

#[test]
fn a_tone_that_is_cut_short_is_written_down_and_no_more() {
    let mut w = started();
    w.key(20_000, Act::Flag).until(20_100);
    let receipts = |w: &Walk| {
        let lines = w.log.iter().filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.kind == "receipt" && c.due_ms == Ms(20_000) => {
                Some((c.cue, (c.outcome, c.why)))
            }
            _ => None,
        });
        lines.collect::<Vec<_>>()
    };
    let (id, _) = receipts(&w)[0];
    w.news(20_100, SoundNews::Cut { id }).until(30_000);
    let told: Vec<_> = receipts(&w).into_iter().map(|(_, told)| told).collect();
    assert_eq!(told, [ASKED, SPOKEN, GONE]);
}

/// The budget holds what was heard: a sentence whose stream went before its first word is none of it.
#[test]
fn what_was_cut_before_its_first_word_is_no_speech() {
    let free_again = |cut_at: u64| {
        let mut w = by_device();
        w.until(26_000);
        let asked = w.log.iter().rev().find_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) => (c.id == Some(Prompt::CupNow)).then(|| c.clone()),
            _ => None,
        });
        let asked = asked.unwrap();
        assert_eq!(asked.start_ms, Ms(26_100), "handed over ahead");
        let mut book = crate::book::Book::default();
        let lines = [
            (Ms(26_000), asked.clone()),
            (
                Ms(cut_at),
                crate::fact::CueLine {
                    outcome: CueOutcome::Cut,
                    why: Some(HeldWhy::NoSound),
                    ..asked.clone()
                },
            ),
        ];
        for (seq, (at, line)) in (0..).zip(lines) {
            book.apply(&Entry {
                seq: Seq(seq),
                at,
                taken: at,
                src: Source::Auto,
                fact: Fact::Deed(Deed::Cue(line)),
            });
        }
        book.free_at(1, Ms(20_000))
    };
    assert_eq!(free_again(26_050), Ms::ZERO);
    assert_eq!(free_again(26_400), Ms(46_101));
}

/// First asked for while a stream is being opened anew: nobody heard it, so it is asked for again like one that was cut.
#[test]
fn what_could_not_begin_is_said_as_soon_as_it_can() {
    let mut w = device_stopped();
    w.left_out(60_000, 60_300, Prompt::DevStop)
        .left_out(60_300, 60_601, Prompt::DevStop)
        .until(70_000);
    assert_eq!(w.said("dev_stop"), [60_601]);
    let expected = [ASKED, LATE, ASKED, LATE, ASKED, SPOKEN];
    assert_eq!(told(&w, Prompt::DevStop), expected);
    // No longer than what was cut: five seconds from when it was to begin.
    let back = |at: u64| {
        let mut w = device_stopped();
        w.news(60_000, SoundNews::Lost)
            .left_out(60_000, 60_300, Prompt::DevStop)
            .news(at, SoundNews::Back)
            .until(70_000);
        w.said("dev_stop")
    };
    assert_eq!(back(64_999), [64_999]);
    assert_eq!(back(65_000), []);
    // Answered meanwhile it is not said.
    let mut w = device_stopped();
    w.news(60_000, SoundNews::Lost)
        .left_out(60_000, 60_300, Prompt::DevStop)
        .key(61_000, Act::HandsOn)
        .news(62_000, SoundNews::Back)
        .until(70_000);
    assert_eq!(w.said("dev_stop"), []);
}
