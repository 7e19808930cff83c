//! The power goes at any moment: what was shown as kept is on the disk.
//!
//! The conductor, its keeper, the writer with its thread and the store are the app's own; the disk is a fake
//! that forgets what was not synced, as far as a disk may.

#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of these tests"
)]

use std::{
    path::Path,
    sync::{Arc, Mutex},
};

use cycle::{
    ClipLengths, Fact, Mark, Ms, Prompt, Seq,
    fact::Way,
    mark::{By, FlowMark, RunMark},
};

use super::{Conductor, Parts};
use crate::{
    FileStore, Receipt, Shown, Store,
    clock::uptime_ms,
    fakes::{FakeSpeaker, Lie, PowerDisk},
    of_example,
};

/// A mark that no other is like.
#[derive(Clone, Debug)]
struct Note {
    record: String,
    seq: Seq,
    code: String,
    /// The screen has said that it is kept.
    is_kept: bool,
}

/// A device over several cuts of its power.
struct Device {
    disk: PowerDisk,
    setup: cycle::Setup,
    notes: Vec<Note>,
    made: usize,
    not_kept: usize,
    /// Processes that took a run up which an earlier one had begun.
    taken_up: usize,
}

const ROOT: &str = "/disk";

impl Device {
    fn new(seed: u64, setup: &cycle::Setup, lie: Option<Lie>) -> Self {
        let disk = PowerDisk::new(Path::new(ROOT), seed);
        if let Some(lie) = lie {
            disk.lie(lie);
        }
        Self {
            disk,
            setup: setup.clone(),
            notes: Vec::new(),
            made: 0,
            not_kept: 0,
            taken_up: 0,
        }
    }

    fn store(&self) -> FileStore {
        // Two folders that a first start has to make.
        let folder = Path::new(ROOT).join("app/runs");
        FileStore::on(&folder, Arc::new(self.disk.clone()))
    }

    /// The app is started, marks are made, and the power goes somewhere on the way.
    fn session(&mut self) {
        let calls = self.disk.chance(40).saturating_add(1);
        self.disk.cut_at(u64::try_from(calls).unwrap());
        let shown: Arc<Mutex<Vec<Shown>>> = Arc::default();
        let show = Arc::clone(&shown);
        let parts = Parts {
            folder: ROOT.into(),
            speaker: Box::new(FakeSpeaker::new()),
            phone: Box::new(crate::NoPhone),
            setup: self.setup.clone(),
            heads: crate::fakes::heads(""),
            faults: Vec::new(),
            remarks: Vec::new(),
            other_faults: Vec::new(),
            levels: cycle::Levels::default(),
            seal_after: Ms(1000),
            show: Box::new(move |shown| show.lock().unwrap().push(shown)),
        };
        let store = self.store();
        let made = store.make();
        let mut house = Conductor::new(parts, (store, made), None);
        house.resume();
        if house.live.is_some() {
            self.taken_up += 1;
        } else {
            let now = Ms(uptime_ms());
            house.begin(now, Way::Hand);
            let (by, mech_kind, basis) = (By::Manual, None, None);
            let start = Mark::Flow(FlowMark::ComprStart {
                by,
                mech_kind,
                basis,
            });
            house.step(now, |live| live.marks(now, vec![start]));
        }
        for _ in 0..self.disk.chance(12) + 4 {
            let waits = self.disk.chance(2) == 0;
            self.mark(&mut house, waits);
            house.show();
            self.shown(&shown);
            if self.disk.is_off() {
                break;
            }
        }
        self.disk.cut();
        // What was told before the power went may still have been shown.
        while let Ok(receipt) = house.receipts.try_recv() {
            house.showing.receipt(receipt);
        }
        house.show();
        self.shown(&shown);
        drop(house);
        self.disk.power_back();
        // Of the others nothing was said: they may be gone, and their numbers another mark's.
        let made = self.notes.len();
        self.notes.retain(|note| note.is_kept);
        self.not_kept += made - self.notes.len();
    }

    /// One mark; where it waits, until the writer has said what became of it.
    fn mark(&mut self, house: &mut Conductor, waits: bool) {
        self.made += 1;
        let code = format!("n{}", self.made);
        let mark = Mark::Run(RunMark::Note { code: code.clone() });
        let now = Ms(uptime_ms());
        house.step(now, |live| live.marks(now, vec![mark]));
        let Some(live) = &house.live else { return };
        let act = live.stage.last_act().unwrap();
        assert!(act.taken, "the rules did not take it: {act:?}");
        let seq = act.seq;
        let record = house.showing.record_id().unwrap().to_owned();
        assert!(
            self.notes
                .iter()
                .all(|note| (&note.record, note.seq) != (&record, seq))
        );
        self.notes.push(Note {
            record,
            seq,
            code,
            is_kept: false,
        });
        let mut wait = waits;
        while wait {
            let Some(receipt) = house.receipts.blocking_recv() else {
                break;
            };
            wait = matches!(&receipt, Receipt::Saved { through } if *through < seq);
            house.showing.receipt(receipt);
        }
        while let Ok(receipt) = house.receipts.try_recv() {
            house.showing.receipt(receipt);
        }
    }

    /// What the screen has said so far.
    fn shown(&mut self, shown: &Mutex<Vec<Shown>>) {
        for shown in shown.lock().unwrap().drain(..) {
            let Some(record) = shown.record else { continue };
            for note in self
                .notes
                .iter_mut()
                .filter(|note| note.record == record.id)
            {
                note.is_kept |= shown.kept_through >= Some(note.seq);
            }
        }
    }

    /// The marks shown as kept that are not on the disk, or not as they were made.
    fn lost(&self) -> Vec<String> {
        let store = self.store();
        let mut lost = Vec::new();
        let mut opened: Option<(String, Result<record::Opened, String>)> = None;
        for note in &self.notes {
            if opened.as_ref().is_none_or(|(id, _)| *id != note.record) {
                let read = store.read(&note.record).map_err(|e| e.to_string());
                let read = read.and_then(|bytes| record::open(&bytes).map_err(|e| e.to_string()));
                opened = Some((note.record.clone(), read));
            }
            let Some((_, read)) = &opened else { continue };
            match read {
                Err(why) => lost.push(format!("{note:?}: {why}")),
                Ok(read) => {
                    let expected = Fact::Mark(Mark::Run(RunMark::Note {
                        code: note.code.clone(),
                    }));
                    let found = read.entries.iter().find(|entry| entry.seq == note.seq);
                    if found.is_none_or(|found| found.fact != expected) || !read.is_sound() {
                        lost.push(format!("{note:?}: {found:?}, {:?}", read.damage));
                    }
                }
            }
        }
        lost
    }
}

#[derive(Debug, Default)]
struct Sum {
    kept: usize,
    not_kept: usize,
    taken_up: usize,
    lost: Vec<String>,
}

/// So many cuts, up to four of one device.
fn cuts(most: u64, lie: Option<Lie>) -> Sum {
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let mut setup = of_example("example-adult", clips).unwrap().unwrap();
    // Nothing here is of another class; each start reads and writes what is there.
    setup.others.clear();
    let mut sum = Sum::default();
    let mut done = 0;
    while done < most {
        let mut device = Device::new(done, &setup, lie);
        for _ in 0..4 {
            device.session();
            done += 1;
            let lost = device.lost();
            if !lost.is_empty() {
                sum.lost.push(format!("cut {done}: {}", lost.join("; ")));
                break;
            }
        }
        sum.kept += device.notes.len();
        sum.not_kept += device.not_kept;
        sum.taken_up += device.taken_up;
    }
    sum
}

fn nothing_is_lost(most: u64) {
    let sum = cuts(most, None);
    assert_eq!(sum.lost, [""; 0]);
    // The cuts fall before and after what is told, and runs are gone on with.
    let least = usize::try_from(most).unwrap() / 4;
    assert!(
        sum.kept > least && sum.not_kept > least / 4 && sum.taken_up > least / 2,
        "{sum:?}"
    );
}

#[test]
fn three_hundred_power_cuts_lose_nothing_that_was_shown_as_kept() {
    nothing_is_lost(300);
}

#[test]
#[ignore = "minutes of computing: 10,000 power cuts"]
fn ten_thousand_power_cuts_lose_nothing_that_was_shown_as_kept() {
    nothing_is_lost(10_000);
}

/// Else the cuts would show nothing: without either sync they lose what was shown as kept.
#[test]
fn a_disk_that_does_not_sync_is_found_out() {
    for lie in [Lie::File, Lie::Folder] {
        assert!(!cuts(100, Some(lie)).lost.is_empty(), "{lie:?}");
    }
}
