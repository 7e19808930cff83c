//! A drill on the phone: chosen, begun, told, ticked, stopped and gone through again; never a run, and no run is one.
#![expect(
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

mod house;

use std::fs;

use conduct::{Ask, DrillAsk, DrillLive, DrillSaid, Shown, fakes::FakeSpeaker};
use cycle::{
    Act, Banner, Card, Fact, Ms, StateWord,
    fact::{Deed, DrillWord},
};
use drill::{Item, Scenario, told};
use record::{Opened, RunKind};

use house::{House, folder::Folder, parts::parts};

/// The records, the one that began first first.
fn records(folder: &Folder) -> Vec<Opened> {
    let files = fs::read_dir(folder.path())
        .unwrap()
        .map(|e| e.unwrap().path());
    let records = files.filter(|p| p.to_string_lossy().ends_with(".rec.jsonl"));
    let mut opened: Vec<Opened> = records
        .map(|p| record::open(&fs::read(p).unwrap()).unwrap())
        .collect();
    opened.sort_by_key(|opened| opened.stamps.first().map(|stamp| stamp.wall.unix_ms()));
    opened
}

fn open() -> (Folder, House) {
    let folder = Folder::new();
    let (mut parts, shown) = parts(folder.path(), FakeSpeaker::new());
    parts.heads.kind = RunKind::Run;
    parts.seal_after = Ms(60_000);
    let house = House::start((parts, shown)).unwrap();
    (folder, house)
}

impl House {
    fn drill(&self, ask: DrillAsk) {
        self.handle.ask(Ask::Drill(ask));
    }

    fn choose(&self, id: &str) {
        self.drill(DrillAsk::Choose {
            scenario: Box::new(Scenario::built_in(id).unwrap()),
            seed: 0,
            unit: Some("M12".to_owned()),
            crew: Some("A".to_owned()),
        });
    }

    fn live(&self, what: &str, is: impl Fn(&DrillLive) -> bool) -> Shown {
        self.until(what, |s| {
            let live = s.drill.as_ref().and_then(|drill| drill.live.as_ref());
            live.is_some_and(&is)
        })
    }
}

fn drill_lines(opened: &Opened) -> Vec<(DrillWord, Option<String>)> {
    let lines = opened.entries.iter().filter_map(|entry| match &entry.fact {
        Fact::Deed(Deed::Drill(line)) => Some((line.what, line.id.clone())),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    });
    lines.collect()
}

#[test]
fn a_drill_is_said_on_the_start_card_in_its_run_and_in_its_record_and_the_next_start_is_a_run() {
    let (folder, house) = open();
    house.choose("first_minutes");
    let card = house.until("the start card", |s| s.drill.is_some());
    assert_eq!(card.view.card, Card::Before);
    assert!(card.banners.contains(&Banner::Drill));
    house.press(Act::StartByHand);
    let run = house.live("the first cue", |live| {
        live.told == [true, false, false, false]
    });
    assert_eq!(run.view.banners, [Banner::Drill]);
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended);
    house.handle.ask(Ask::PutAway);
    let after = house.until("the start card", |s| s.view.card == Card::Before);
    assert!(after.drill.is_none() && !after.banners.contains(&Banner::Drill));
    house.press(Act::StartByHand);
    let real = house.until("a run", |s| s.view.state == StateWord::ByHand);
    assert!(real.drill.is_none() && real.view.banners.is_empty());
    house.handle.close();
    let records = records(&folder);
    let heads: Vec<_> = records
        .iter()
        .map(|r| (r.header.kind, r.header.scenario.is_some()))
        .collect();
    assert_eq!(heads, [(RunKind::Drill, true), (RunKind::Run, false)]);
    assert_eq!(records[0].header.unit_code.as_deref(), Some("M12"));
    assert_eq!(told(&records[0]).crew.as_deref(), Some("A"));
    assert_eq!(
        drill_lines(&records[0]),
        [
            (DrillWord::Begun, None),
            (DrillWord::Cue, Some("found".to_owned()))
        ]
    );
    assert_eq!(drill_lines(&records[1]), []);
}

#[test]
fn a_drill_that_was_chosen_can_be_left_and_in_a_run_none_is_chosen() {
    let (_folder, house) = open();
    house.choose("device_on");
    house.until("chosen", |s| s.drill.is_some());
    house.drill(DrillAsk::Leave);
    house.until("left", |s| {
        s.drill.is_none() && !s.banners.contains(&Banner::Drill)
    });
    house.press(Act::StartByHand);
    house.until("a run", |s| s.view.state == StateWord::ByHand);
    house.choose("device_on");
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended);
    house.handle.ask(Ask::PutAway);
    let card = house.until("the start card", |s| s.view.card == Card::Before);
    assert!(card.drill.is_none());
    house.handle.close();
}

#[test]
fn the_instructor_tells_cues_by_hand_once_each_and_ticks_what_was_seen() {
    let (folder, house) = open();
    house.choose("slip_and_off");
    house.press(Act::DeviceAlreadyOn);
    house.live("the drill", |live| {
        live.next
            .is_some_and(|(cue, at)| (cue, at) == (0, Ms(60_000)))
    });
    house.drill(DrillAsk::ByHand(true));
    house.live("by hand", |live| live.by_hand);
    house.drill(DrillAsk::Inject("stops".to_owned()));
    let shown = house.live("the device stops", |live| live.told == [false, true]);
    let live = shown.drill.unwrap().live.unwrap();
    assert_eq!(live.last.map(|(said, _)| said), Some(DrillSaid::Cue(1)));
    house.drill(DrillAsk::Inject("stops".to_owned()));
    house.drill(DrillAsk::Inject("no_such_cue".to_owned()));
    house.drill(DrillAsk::Tell);
    house.live("both were told", |live| {
        live.told == [true, true] && live.next.is_none()
    });
    let tick = |on| {
        house.drill(DrillAsk::Tick {
            item: Item::PositionAgain,
            on,
        });
    };
    tick(true);
    tick(true);
    house.live("ticked", |live| live.ticked == [Item::PositionAgain]);
    tick(false);
    house.live("taken back", |live| live.ticked.is_empty());
    house.handle.close();
    let cue = |id: &str| (DrillWord::Cue, Some(id.to_owned()));
    let item = || Some("position_again".to_owned());
    assert_eq!(
        drill_lines(&records(&folder)[0]),
        [
            (DrillWord::Begun, None),
            cue("stops"),
            cue("slip"),
            (DrillWord::Ticked, item()),
            (DrillWord::Unticked, item())
        ]
    );
}

/// Ten seconds back from a stop within the first ten is the beginning; the second try has nothing but that.
#[test]
fn it_goes_on_from_before_the_stop_in_a_second_record_and_the_first_stays() {
    let (folder, house) = open();
    house.choose("first_minutes");
    house.press(Act::StartByHand);
    house.until("by hand", |s| s.view.state == StateWord::ByHand);
    house.press(Act::HandsOff);
    house.until("hands off", |s| s.view.state == StateWord::HandsOff);
    let first = house
        .until("its record", |s| s.record.is_some())
        .record
        .unwrap()
        .id;
    house.drill(DrillAsk::Again);
    let second = house.until("the second try", |s| {
        s.record.as_ref().is_some_and(|record| record.id != first)
    });
    assert_eq!(
        second.view.state,
        StateWord::ByHand,
        "before hands came off"
    );
    assert!(second.view.banners.contains(&Banner::Drill));
    assert!(second.now < Ms(5000), "its clock went back: {}", second.now);
    house.press(Act::HandsOff);
    house.until("hands off again", |s| s.view.state == StateWord::HandsOff);
    house.handle.close();
    let records = records(&folder);
    let [one, two] = records.as_slice() else {
        panic!("{} records", records.len())
    };
    assert!(
        one.sealed && one.is_sound() && two.is_sound(),
        "{:?} {:?}",
        one.damage,
        two.damage
    );
    assert_eq!(one.header.record_id, first);
    assert_eq!(told(two).again, Some((first, Ms::ZERO)));
    assert_eq!(two.header.kind, RunKind::Drill);
    assert_eq!(two.header.scenario, one.header.scenario);
    // Up to there the two are the same, line by line.
    let up_to = two.entries.iter().position(|entry| {
        matches!(&entry.fact, Fact::Deed(Deed::Drill(line)) if line.what == DrillWord::Again)
    });
    let same = up_to.unwrap();
    assert!(same >= 4, "{same}");
    assert_eq!(one.entries[..same], two.entries[..same]);
}
