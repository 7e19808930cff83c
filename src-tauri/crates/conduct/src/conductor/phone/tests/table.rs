//! Every event of the table, whatever it is made of: what is told, time that passes, a clock that is set, an end of
//! the process, and the crew's answer to that. `docs/phone.md` has a row for each.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "the sums are of the test's own table, and one that overflowed would fail"
)]

use std::{collections::BTreeMap, fmt::Write as _, path::Path};

use serde::Deserialize;

use super::*;

/// A row of the table of events.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    event: String,
    on: Vec<Step>,
    off: Vec<Step>,
    banners: Vec<String>,
    felt: bool,
    reopened: bool,
    deeds: usize,
    /// What the state line says after it; nothing, where it is what it was.
    #[serde(default)]
    state: Option<String>,
    /// The card after it; nothing, where it is what it was.
    #[serde(default)]
    card: Option<String>,
    /// Lines of the record that tell of time, each with its figure.
    #[serde(default)]
    wrote: BTreeMap<String, Vec<i64>>,
    // For readers; the page of the docs has them too.
    answer: String,
    android: String,
    ios: String,
}

/// One thing that happens.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(untagged)]
enum Step {
    Time(Time),
    Crew(Crew),
    News(PhoneNews),
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Crew {
    /// A key of the card.
    Press(Act),
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Time {
    /// So much passes and no timer of ours runs.
    PassS(u64),
    /// The wall clock is set on by so much, or back.
    WallMs(i64),
    /// The process is ended, and so much later another one begins.
    KilledS(u64),
    /// The phone is off for so long.
    OffS(u64),
}

/// How far a figure in the record may be from the one that was made: the test runs on a real clock as well.
const WITHIN_MS: i64 = 900;
/// The run before the event.
const BEFORE_S: u64 = 20;

fn table() -> Vec<Row> {
    serde_json::from_str(include_str!("../../../phone/events.json")).unwrap()
}

impl Scene {
    fn happen(mut self, steps: &[Step]) -> Self {
        for step in steps {
            match *step {
                Step::News(news) => self.tell(&[news]),
                Step::Crew(Crew::Press(act)) => self.act(act),
                Step::Time(Time::PassS(s)) => leap::pass(s * 1000),
                Step::Time(Time::WallMs(ms)) => leap::set_wall(ms),
                Step::Time(Time::KilledS(s)) => self = self.again(s, || {}),
                Step::Time(Time::OffS(s)) => self = self.again(s, leap::reboot),
            }
            self.wake();
        }
        self
    }

    /// Another process goes on where this one ended; speaker and phone are the same, for the test.
    pub(super) fn again(self, dead_s: u64, between: impl FnOnce()) -> Self {
        let Self {
            house,
            speaker,
            phone,
            folder,
            ..
        } = self;
        drop(house);
        leap::pass(dead_s * 1000);
        between();
        Self::with(folder, (speaker, phone))
    }

    fn orders_since(&self, from: usize) -> Vec<Order> {
        let orders = self.speaker.orders().split_off(from);
        orders.into_iter().map(|(_, order)| order).collect()
    }
}

impl Row {
    /// How long all of it takes.
    fn passes_s(&self) -> u64 {
        let of = |step: &Step| match *step {
            Step::Time(Time::PassS(s) | Time::KilledS(s) | Time::OffS(s)) => s,
            Step::Time(Time::WallMs(_)) | Step::Crew(_) | Step::News(_) => 0,
        };
        self.on.iter().map(of).sum()
    }

    fn ends_the_process(&self) -> bool {
        let ends = |s: &Step| matches!(s, Step::Time(Time::KilledS(_) | Time::OffS(_)));
        self.on.iter().any(ends)
    }

    /// What is told once more at the end.
    fn told_off(&self) -> Vec<PhoneNews> {
        let of = |step: &Step| match *step {
            Step::News(news) => Some(news),
            Step::Time(_) | Step::Crew(_) => None,
        };
        self.off.iter().filter_map(of).collect()
    }
}

/// Looks at the lines of time in a record.
fn look_at_times(row: &Row, lines: &[serde_json::Value]) {
    for (kind, field) in [
        ("gap", "ms"),
        ("wall_jump", "delta_ms"),
        ("recovered", "gap_from_ms"),
    ] {
        let found: Vec<i64> = of_kind(lines, kind)
            .iter()
            .map(|line| line["d"][field].as_i64().unwrap())
            .collect();
        let wanted = row.wrote.get(kind).cloned().unwrap_or_default();
        let is_near = found.len() == wanted.len()
            && found
                .iter()
                .zip(&wanted)
                .all(|(f, w)| (f - w).abs() < WITHIN_MS);
        assert!(
            is_near,
            "{}: {kind} {found:?}, {wanted:?} wanted",
            row.event
        );
    }
}

fn look_at(n: usize, row: &Row) {
    let event = row.event.as_str();
    let mut scene = Scene::started(&format!("row-{n}"));
    scene.pass(BEFORE_S);
    let before = (scene.levels(), scene.last().view, scene.now());
    let orders = scene.speaker.orders().len();
    assert!(scene.banners().is_empty(), "{event}");
    assert_eq!(scene.felt(), None, "{event}");
    scene = scene.happen(&row.on);
    assert_eq!(scene.banners(), row.banners, "{event}");
    assert_eq!(scene.felt().unwrap_or(false), row.felt, "{event}");
    let reopened = scene.speaker.rerouted();
    assert_eq!(reopened > 0, row.reopened, "{event}");
    // Nothing that happens to a phone says anything of care, and no time of the run is lost or made up.
    let after = scene.last().view;
    let state = row
        .state
        .as_deref()
        .unwrap_or_else(|| before.1.state.word());
    let card = row.card.as_deref().unwrap_or_else(|| before.1.card.word());
    assert_eq!(
        (after.state.word(), after.card.word()),
        (state, card),
        "{event}"
    );
    let passed = scene.now().since(before.2).0;
    let late = passed.checked_sub(row.passes_s() * 1000);
    assert!(late.is_some_and(|ms| ms < 1500), "{event}: {passed} ms");
    // The score goes on in its place, and what fell due meanwhile is not said all at once.
    let orders = scene.orders_since(orders);
    let scores = orders.iter().filter(|o| matches!(o, Order::Score(_)));
    assert_eq!(scores.count() > 0, row.ends_the_process(), "{event}");
    let spoken = orders.iter().filter(|o| matches!(o, Order::Play(_)));
    assert!(spoken.count() <= 1, "{event}: {orders:?}");
    scene = scene.happen(&row.off);
    assert!(scene.banners().is_empty(), "{event}");
    assert!(!scene.felt().unwrap_or(false), "{event}");
    assert_eq!(scene.levels(), before.0, "{event}");
    // Told again it is nothing new.
    scene.tell(&row.told_off());
    let lines = scene.lines();
    assert_eq!(of_kind(&lines, "around").len(), 2 * row.deeds, "{event}");
    assert_eq!(of_kind(&lines, "start").len(), 1, "{event}");
    look_at_times(row, &lines);
}

#[test]
fn every_event_of_the_table_has_its_answer() {
    for (n, row) in table().iter().enumerate() {
        look_at(n, row);
    }
}

/// The table as the page has it.
fn drawn() -> String {
    let mut text =
        "| event | Android | iOS | screen | felt | what a run does |\n|---|---|---|---|---|---|\n"
            .to_owned();
    for row in table() {
        let banners = row.banners.join(", ");
        let felt = if row.felt { "yes" } else { "" };
        let Row {
            event,
            android,
            ios,
            answer,
            ..
        } = row;
        for cell in [&event, &android, &ios, &answer] {
            assert!(
                !cell.trim().is_empty() && !cell.contains(['|', '\n']),
                "{event}: {cell:?}"
            );
        }
        writeln!(
            text,
            "| {event} | {android} | {ios} | {banners} | {felt} | {answer} |"
        )
        .unwrap();
    }
    text
}

#[test]
fn the_page_of_the_docs_has_a_row_for_each_event() {
    const BEGIN: &str = "<!-- the table of events -->\n";
    const END: &str = "<!-- end of the table -->\n";
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../docs/phone.md");
    let page = fs::read_to_string(&path).unwrap();
    let (head, rest) = page.split_once(BEGIN).unwrap();
    let (found, tail) = rest.split_once(END).unwrap();
    if std::env::var_os("CARRYBEAT_WRITE").is_some() {
        fs::write(&path, format!("{head}{BEGIN}{}{END}{tail}", drawn())).unwrap();
        return;
    }
    assert_eq!(
        found,
        drawn(),
        "CARRYBEAT_WRITE=1 cargo test -p conduct the_page_of_the_docs writes it"
    );
}
