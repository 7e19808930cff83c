//! What the page is sent of drills.

use ::drill::Item;
use cycle::Ms;
use serde::{Deserialize, Serialize};

use crate::{Chart, Table};

/// What the page asks of a drill.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum DrillWish {
    /// The next start begins this drill.
    Choose {
        /// The scenario's id.
        scenario: String,
        /// Whether anything varies.
        vary: bool,
        /// The unit's code; empty: none.
        unit: String,
        /// The crew's code; empty: none.
        crew: String,
    },
    /// The codes of unit and crew, kept on this phone.
    Codes {
        /// The unit's; empty: none.
        unit: String,
        /// The crew's; empty: none.
        crew: String,
    },
    /// A new device came, or that is taken back: the drills about it are due anew.
    NewDevice {
        /// It came.
        on: bool,
    },
    /// The next start begins a run.
    Leave {},
    /// The next cue is told now.
    Tell {},
    /// A cue is told now.
    Inject {
        /// Its id.
        id: String,
    },
    /// This happens now, whatever the scenario plans.
    Event {
        /// The kind's word.
        what: String,
    },
    /// The noise ends.
    Quiet {},
    /// The instructor tells each cue, or the clock does.
    ByHand {
        /// The instructor.
        on: bool,
    },
    /// Something was seen, or not.
    Tick {
        /// Its word.
        item: String,
        /// Seen.
        on: bool,
    },
    /// It stops, to be looked at together.
    Stop {},
    /// It goes on from where it was stopped.
    GoOn {},
    /// Another try, from ten seconds before.
    Again {},
}

/// A key of the instructor's corner.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillKey {
    /// The cue's or the item's id.
    pub id: String,
    /// What stands on it.
    pub label: String,
    /// Told, or seen.
    pub on: bool,
}

/// A drill that is chosen, or goes on. Nothing in it says how well it goes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillFace {
    /// Which.
    pub title: String,
    /// Before it begins: which start begins it.
    pub begin: Option<String>,
    /// What varies.
    pub variation: String,
    /// Opens the instructor's corner.
    pub instructor: String,
    /// What is told next.
    pub next: String,
    /// Tells it now; `None`: nothing is left.
    pub tell: Option<String>,
    /// Whether the instructor tells the cues.
    pub by_hand: bool,
    /// The key that changes that.
    pub by_hand_key: String,
    /// Stops it, to be looked at together.
    pub stop: String,
    /// It was stopped.
    pub stopped: Option<DrillStop>,
    /// What can be injected at any moment.
    pub events: Vec<DrillKey>,
    /// Ends the noise; `None`: there is none.
    pub quiet: Option<String>,
    /// Cues that were not told: each with one tap.
    pub cues: Vec<DrillKey>,
    /// What the instructor looks at.
    pub items: Vec<DrillKey>,
    /// Another try.
    pub again: String,
    /// Opens the score sheet, after it.
    pub sheet: String,
    /// Begins no drill after all.
    pub leave: String,
    /// There is a patient: ends the drill where it is and begins a run by hand, with one tap.
    pub real_patient: String,
}

/// A drill that was stopped to be looked at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillStop {
    /// When, on the run clock.
    pub at: Ms,
    /// That it was, and when.
    pub title: String,
    /// What that means.
    pub note: String,
    /// Goes on from there.
    pub go_on: String,
    /// Goes on from ten seconds before.
    pub again: String,
    /// Ends it as it is.
    pub end: String,
}

/// How far a drill has gone.
#[derive(Clone, Copy, Debug)]
pub struct DrillGoing<'a> {
    /// Which cues were told.
    pub told: &'a [bool],
    /// The next one.
    pub next: Option<usize>,
    /// The instructor tells them.
    pub by_hand: bool,
    /// What was seen.
    pub ticked: &'a [Item],
    /// The phone makes noise.
    pub is_noisy: bool,
    /// It was stopped then.
    pub stopped: Option<Ms>,
}

/// A drill that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillChoice {
    /// The scenario's id.
    pub id: String,
    /// Letter and name.
    pub label: String,
    /// What is read out, and which start begins it.
    pub lines: Vec<String>,
    /// What is expected.
    pub expected: Vec<String>,
}

/// A drill that was done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillDone {
    /// Its record.
    pub id: String,
    /// When, which, and how it went.
    pub label: String,
    /// Its score sheet can be opened.
    pub has_sheet: bool,
}

/// The page on which a drill is chosen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillPage {
    /// Its title.
    pub title: String,
    /// What a drill is.
    pub lines: Vec<String>,
    /// When each crew drills again.
    pub due: Vec<String>,
    /// What does not count for that, and why.
    pub notes: Vec<String>,
    /// The drills.
    pub drills: Vec<DrillChoice>,
    /// Chooses one.
    pub take: String,
    /// Varies it.
    pub vary: String,
    /// Nothing varies.
    pub same: String,
    /// Over what is expected.
    pub expected: String,
    /// Drills that were done, the latest first.
    pub done: Vec<DrillDone>,
    /// Over them.
    pub sheets: String,
    /// The unit's code as it is set; empty: none.
    pub unit: String,
    /// What stands over its field.
    pub unit_label: String,
    /// The crew's code as it is set; empty: none.
    pub crew: String,
    /// What stands over its field.
    pub crew_label: String,
    /// What a code may be.
    pub codes_note: String,
    /// Opens this crew's drills over time.
    pub over: String,
    /// A new device was noted.
    pub new_device: bool,
    /// The key that notes it, or takes that back.
    pub new_device_key: String,
}

/// A bar of a try.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct TryBar {
    /// Which try.
    pub label: String,
    /// How long, thousandths of the row.
    pub width: u32,
    /// In words.
    pub text: String,
    /// It came in time and in order.
    pub good: bool,
}

/// A mark that was expected, in each try.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct TryRow {
    /// Its name.
    pub name: String,
    /// Its limit, thousandths of the row.
    pub limit: u32,
    /// The tries, in order.
    pub bars: Vec<TryBar>,
}

/// A part of a strip.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct StripPart {
    /// Where it begins, thousandths of the strip.
    pub left: u32,
    /// How long it is.
    pub width: u32,
    /// What was done.
    pub kind: StripKind,
}

/// What was done for a part of a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum StripKind {
    /// Compressions by hand.
    Hand,
    /// By the device.
    Device,
    /// Off the chest.
    Off,
    /// Circulation, or not known.
    Other,
}

/// What stands for a kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct StripName {
    /// Which.
    pub kind: StripKind,
    /// Its name.
    pub label: String,
}

/// On the chest and off it, in time.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillStrip {
    /// Which try.
    pub label: String,
    /// What was done, in order of time.
    pub parts: Vec<StripPart>,
    /// From where on it is a try of its own, thousandths.
    pub cut: Option<u32>,
    /// The same in words: each time off the chest.
    pub told: String,
    /// When the strip begins and ends.
    pub from: String,
    /// Its end.
    pub to: String,
}

/// A drill that was stopped, to be looked at together.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillLook {
    /// Over the strip.
    pub strip_title: String,
    /// On the chest and off it, up to where it was stopped.
    pub strip: DrillStrip,
    /// What its parts stand for.
    pub names: Vec<StripName>,
    /// Over the marks.
    pub rows_title: String,
    /// The marks that were expected up to then.
    pub rows: Vec<TryRow>,
    /// Where there are none.
    pub none: Option<String>,
    /// Earlier tries: on the chest and off it.
    pub tries: Vec<DrillStrip>,
    /// Over them.
    pub tries_title: String,
}

/// Drills of one scenario over time.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct OverGroup {
    /// Which, and how many.
    pub title: String,
    /// Its measures: a picture each.
    pub charts: Vec<OverChart>,
}

/// One measure of drills of one scenario.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct OverChart {
    /// Which measure.
    pub label: String,
    /// The dots.
    pub chart: Chart,
    /// The median with its quartiles, or why there is none.
    pub spread: String,
    /// How far the marks go.
    pub trust: String,
}

/// A crew's drills over time.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillOver {
    /// Whose.
    pub title: String,
    /// What stands here, and what does not.
    pub notes: Vec<String>,
    /// By scenario.
    pub groups: Vec<OverGroup>,
}

/// The score sheet of a drill, with its tries side by side.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillTries {
    /// The last try.
    pub sheet: DrillSheet,
    /// On the chest and off it: a strip of each try, all of one length of time; empty where there is one.
    pub strips: Vec<DrillStrip>,
    /// What their parts stand for.
    pub names: Vec<StripName>,
    /// Over them.
    pub strips_title: String,
    /// How long each mark took in each, where there are several.
    pub rows: Vec<TryRow>,
    /// Over them.
    pub rows_title: String,
    /// Writes the sheet with lines to sign on.
    pub sign: String,
}

/// The score sheet of a drill in words.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DrillSheet {
    /// Which drill.
    pub title: String,
    /// That it is one, and what varied.
    pub notice: String,
    /// Points, and whether it was passed.
    pub lines: Vec<String>,
    /// The marks that were expected.
    pub marks: Table,
    /// What was measured.
    pub measures: Table,
    /// Where the aims come from, whose the limits are, and published figures beside the measures, which are no aims.
    pub yardsticks: Vec<String>,
    /// What the instructor saw, and what nobody measured.
    pub notes: Vec<String>,
}

impl DrillSheet {
    /// The same as lines of text.
    pub fn text(&self) -> String {
        let mut lines = vec![self.title.clone(), self.notice.clone()];
        lines.extend(self.lines.iter().cloned());
        for table in [&self.marks, &self.measures] {
            lines.push(String::new());
            lines.push(table.columns.join(" | "));
            lines.extend(table.rows.iter().map(|row| row.join(" | ")));
        }
        lines.push(String::new());
        lines.extend(self.yardsticks.iter().chain(&self.notes).cloned());
        lines.join("\n")
    }
}
