//! How loud it is: set on the phone, by the crew, for a kind of place; taken back, and after a kill.

use alloc::{string::ToString, vec::Vec};

use super::Walk;
use crate::{
    Act, Entered, Fact, Input, Levels, Mark, Ms, Run,
    fact::{Deed, SettingName, Source},
    mark::{Preset, RunMark, SoundAct},
};

const SET: Levels = Levels {
    beat_db: 3,
    breath_db: 6,
    voice_db: 0,
};
const LOUDER: Levels = Levels {
    beat_db: 0,
    breath_db: 3,
    voice_db: 0,
};

fn started() -> Walk {
    let mut w = Walk::new();
    w.key(0, Act::StartByHand);
    w
}

fn enter(w: &mut Walk, at: u64, entered: &Entered) {
    let mark = w.run.entered(entered).unwrap();
    w.until(at);
    let (at, src) = (Ms(at), Source::Button);
    w.input(at, Input::Mark { at, mark, src });
}

fn settings(w: &Walk) -> Vec<Levels> {
    let of = |fact: &Fact| match fact {
        Fact::Deed(Deed::Setting {
            name: SettingName::Levels,
            value,
        }) => Some(*value),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    };
    w.log.iter().filter_map(|entry| of(&entry.fact)).collect()
}

#[test]
fn what_is_set_on_the_phone_is_written_where_it_is_not_full() {
    let mut w = started();
    assert_eq!(w.run.levels(), Levels::default());
    w.input(Ms::ZERO, Input::Levels(Levels::default()));
    assert_eq!(settings(&w), []);
    w.input(Ms::ZERO, Input::Levels(SET));
    w.input(Ms(10), Input::Levels(SET));
    assert_eq!(settings(&w), [SET], "once");
    assert_eq!(w.run.levels(), SET);
}

#[test]
fn a_crew_sets_levels_apart_together_and_for_a_place_and_each_is_a_mark() {
    let mut w = started();
    w.input(Ms::ZERO, Input::Levels(SET));
    enter(&mut w, 20_000, &Entered::Levels(LOUDER));
    assert_eq!(w.run.levels(), LOUDER);
    assert_eq!(w.run.view(w.now).entries.levels, LOUDER);
    let preset = Preset::QuietRoom;
    enter(&mut w, 30_000, &Entered::Preset { preset });
    assert_eq!(w.run.levels(), preset.levels());
    let sounds: Vec<RunMark> = w
        .log
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Mark(Mark::Run(mark @ RunMark::Sound { .. })) => Some(mark.clone()),
            Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => None,
        })
        .collect();
    let mark = |what, levels, preset| RunMark::Sound {
        what,
        levels: Some(levels),
        preset,
    };
    assert_eq!(
        sounds,
        [
            mark(SoundAct::Level, LOUDER, None),
            mark(SoundAct::Preset, preset.levels(), Some(preset)),
        ]
    );
}

#[test]
fn taken_back_it_is_as_loud_as_before() {
    let mut w = started();
    w.input(Ms::ZERO, Input::Levels(SET));
    enter(&mut w, 20_000, &Entered::Levels(LOUDER));
    let preset = Preset::Vehicle;
    enter(&mut w, 30_000, &Entered::Preset { preset });
    w.input(Ms(40_000), Input::Undo);
    assert_eq!(w.run.levels(), LOUDER);
    w.input(Ms(50_000), Input::Undo);
    assert_eq!(w.run.levels(), SET);
}

#[test]
fn after_a_kill_it_is_as_loud_as_it_was() {
    let mut w = started();
    w.input(Ms::ZERO, Input::Levels(SET));
    let again = Run::replay(w.run.setup().clone(), &w.log).unwrap();
    assert_eq!(again.levels(), SET);
    enter(&mut w, 20_000, &Entered::Levels(LOUDER));
    let again = Run::replay(w.run.setup().clone(), &w.log).unwrap();
    assert_eq!(again.levels(), LOUDER);
}

/// A level never silences and never moves a sound: that is for the keys that say so.
#[test]
fn a_level_is_in_range_and_moves_nothing() {
    let w = started();
    for (levels, field) in [
        (Levels { beat_db: 25, ..SET }, "beat_db"),
        (
            Levels {
                breath_db: 255,
                ..SET
            },
            "breath_db",
        ),
        (
            Levels {
                voice_db: 25,
                ..SET
            },
            "voice_db",
        ),
    ] {
        let fault = w.run.entered(&Entered::Levels(levels)).unwrap_err();
        assert_eq!(fault.field, field);
        assert!(fault.to_string().contains("0 to 24"), "{fault}");
    }
    for preset in Preset::ALL {
        assert!(preset.levels().is_allowed(), "{preset:?}");
    }
    let (mut plain, mut loud) = (started(), started());
    enter(&mut loud, 20_000, &Entered::Levels(SET));
    plain.until(60_000);
    loud.until(60_000);
    assert_eq!(plain.beats, loud.beats);
    assert_eq!(plain.voices(), loud.voices());
    assert!(loud.run.view(loud.now).banners.is_empty());
}
