//! A great many invented runs as `carrybeat trends` writes them, so that other engines can be held against it:
//! `many_rows N DIR`. The rows are written by the same code, the figures made by the same code; only the records
//! are not there: one is measured, and its measures are drawn anew for each row.
#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::arithmetic_side_effects,
    reason = "a program of the tests: it speaks, and a fault of its own ends it"
)]

#[path = "../src/parquet.rs"]
#[expect(dead_code, reason = "a whole table at once is not written here")]
mod parquet;
#[path = "../src/trends/write.rs"]
mod write;

/// What the writer names.
mod measures {
    pub(crate) type Faults = Vec<String>;
}

use std::{fs, path::Path};

use cycle::{
    Fact, Ms,
    mark::{Mark, PatientClass, Reason, RunMark},
};
use debrief::{Basis, EndedBy, Interval, Measures, PauseRow, Place, ShockRow, measures};
use record::{Answer, Opened, RunKind, Scenario, Wall};
use trends::{Seen, figures_table, groups, tables};

const RECORD: &[u8] = include_bytes!("../../record/golden/record-1.4.0.rec.jsonl");

/// The splitmix64 sequence. Source: Steele, Lea and Flood 2014.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: u64, high: u64) -> u64 {
        low + self.roll() % (high - low + 1)
    }
}

fn long(n: u64) -> i64 {
    i64::try_from(n).unwrap()
}

/// What groups are made by, and whether it counts at all.
fn headed(opened: &mut Opened, found: &mut Measures, dice: &mut Dice) {
    found.is_sound = dice.between(0, 19) > 0;
    found.windows.ems_witnessed = if dice.between(0, 3) > 0 {
        Answer::No
    } else {
        Answer::Yes
    };
    opened.header.metrics = format!("metrics/1.{}.0", dice.between(0, 1));
    let scenario = Scenario {
        id: "device_on".to_owned(),
        version: dice.between(1, 2).to_string(),
    };
    opened.header.scenario = (found.kind == RunKind::Drill).then_some(scenario);
    let of = if dice.between(0, 9) > 0 {
        PatientClass::Adult
    } else {
        PatientClass::Child
    };
    for entry in &mut opened.entries {
        if let Fact::Mark(Mark::Run(RunMark::Patient { class, .. })) = &mut entry.fact {
            *class = of;
        }
    }
}

/// The shocks, and the times to the first of them and to the first compression.
fn shocked(found: &mut Measures, shock: ShockRow, dice: &mut Dice) {
    let shocks = &mut found.shocks.of.rows;
    shocks.clear();
    for _ in 0..dice.between(0, 3) {
        let (pre, post) = (dice.between(0, 30_000), dice.between(0, 15_000));
        let mut row = shock;
        // Of several in one pause the first has no end and the last no beginning.
        row.pre_ms = (dice.between(0, 9) > 0).then_some(Ms(pre));
        row.post_ms = (dice.between(0, 9) > 0).then_some(Ms(post));
        row.peri_ms = row.pre_ms.and(row.post_ms).map(|_| Ms(pre + post));
        shocks.push(row);
    }
    let to_shock = dice.between(10_000, 900_000);
    let is_shocked = !shocks.is_empty();
    let first = &mut found.first.as_mut().unwrap().of;
    first.shock_ms = is_shocked.then_some(Ms(to_shock));
    // Half of the runs began with one touch for arrest and compressions.
    first.compression_ms = Some(Ms(dice.between(0, 1) * dice.between(1, 60_000)));
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [n, out] = words.as_slice() else {
        println!("usage: many_rows N DIR");
        std::process::exit(2);
    };
    let n: u64 = n.parse().unwrap();
    let out = Path::new(out);
    let mut opened = record::open(RECORD).unwrap();
    let mut found = measures(&opened, Basis::Amended).unwrap();
    assert!(found.is_sound && found.windows.recognition.is_some());
    // Its class is that of its mark then, and no row waits for amendments to be folded.
    let entries = opened.entries.iter().zip(&opened.stamps);
    (opened.entries, opened.stamps) = entries
        .filter(|(entry, _)| !matches!(entry.fact, Fact::Amend(_)))
        .map(|(entry, stamp)| (entry.clone(), stamp.clone()))
        .unzip();
    let shock = *found.shocks.of.rows.first().unwrap();
    let mut dice = Dice(20_261_129);
    let mut written = write::Tables::new(out).unwrap();
    let mut all = Vec::new();
    for k in 0..n {
        // 2019 to 2026, any minute from the first noon on: five hours behind UTC it is the same year.
        let began = 1_546_344_000_000 + long(dice.between(0, 8 * 365 * 1440)) * 60_000;
        let first = opened.entries.first().unwrap().taken;
        let stamp = opened.stamps.first_mut().unwrap();
        stamp.wall = Wall::new(began + long(first.0), -300).unwrap();
        opened.header.unit_code = Some(format!("unit-{}", dice.between(1, 40)));
        found.record_id = format!("0f9b6c1e-3c1d-4f0a-9d3e-{k:012x}");
        found.kind = if dice.between(0, 9) < 3 {
            RunKind::Drill
        } else {
            RunKind::Run
        };
        headed(&mut opened, &mut found, &mut dice);
        shocked(&mut found, shock, &mut dice);
        let fraction = &mut found.fraction.as_mut().unwrap().of;
        let thousandths = u32::try_from(dice.between(300, 980)).unwrap();
        fraction.upper_bound = dice.between(0, 9) == 0;
        fraction.value = (dice.between(0, 99) > 0).then(|| f64::from(thousandths) / 1000.0);
        // Of a bound only that it lies below is known.
        let below = thousandths < 600;
        fraction.below_floor = (below || !fraction.upper_bound).then_some(below);
        fraction.below_floor = fraction.value.and(fraction.below_floor);
        let trust = &mut found.trust.as_mut().unwrap().of;
        trust.checks_due = usize::try_from(dice.between(1, 15)).unwrap();
        trust.checks_marked = trust.checks_due - usize::try_from(dice.between(0, 1)).unwrap();
        let pauses = &mut found.pauses.of;
        pauses.rows.clear();
        let mut at = 20_000;
        for _ in 0..dice.between(0, 3) {
            let long = dice.between(1_000, 60_000);
            pauses.rows.push(PauseRow {
                from_ms: Ms(at),
                to_ms: Ms(at + long),
                ms: Ms(long),
                reason: Reason::RhythmCheck,
                reasons: vec![Reason::RhythmCheck],
                ended_by: EndedBy::Compressions,
            });
            at += 100_000;
        }
        pauses.count = pauses.rows.len();
        pauses.longest_ms = pauses.rows.iter().map(|row| row.ms).max();
        for drug in &mut found.drugs.of.rows {
            drug.intervals.clear();
        }
        if let Some(drug) = found.drugs.of.rows.first_mut() {
            let long_ms = dice.between(60_000, 600_000);
            let place = match long_ms {
                0..180_000 => Place::Below,
                180_000..=300_000 => Place::Inside,
                _ => Place::Above,
            };
            drug.intervals.push(Interval {
                from_ms: 60_000,
                to_ms: 60_000 + long(long_ms),
                ms: long(long_ms),
                place: Some(place),
                window_min_ms: Some(Ms(180_000)),
                window_max_ms: Some(Ms(300_000)),
                from_before_us: false,
                circulation_between: false,
            });
            drug.inside = usize::from(place == Place::Inside);
        }
        let seen = Seen::of(&opened, &found).unwrap();
        written.take(&seen, tables(&opened, &found, &seen)).unwrap();
        all.push(seen);
    }
    written.close().unwrap();
    let table = figures_table(&groups(&all, None));
    fs::write(out.join("figures.csv"), table.csv()).unwrap();
    println!("{n} rows");
}
