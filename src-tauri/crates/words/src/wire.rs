//! What the page is sent. Text is finished; times are milliseconds on the run clock.

use cycle::{
    Act, Banner, Card, Entries, Figure, Ms, StateWord,
    mark::{AirwayDevice, PatientClass, Preset, SetState},
};
use serde::Serialize;

use crate::{AfterLabels, DrillFace, GroupWord, Listening, ListeningLabels, PaperWord};

/// A key: what it asks for and what stands on it, which is its accessible name as well.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Key {
    /// What it asks for.
    pub act: Act,
    /// What stands on it.
    pub label: String,
}

/// A line over the card.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct BannerLine {
    /// Which.
    pub banner: Banner,
    /// The crew chose it: no fault, and it gives way to one.
    pub chosen: bool,
    /// Its words.
    pub text: String,
}

/// What comes next; the time stands after the words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct NextLine {
    /// Its words.
    pub text: String,
    /// When; once past, the time since counts up.
    pub at: Ms,
}

/// A prompt in the words that are spoken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct SaidLine {
    /// Its words.
    pub text: String,
    /// Since when.
    pub at: Ms,
    /// It is of the most pressing class and no voice says it: a screen reader is to break off for it. What the
    /// phone says itself is not read over it.
    pub alert: bool,
    /// The keys below would be taken for answers to it: it is the first of the remarks, and stands where the question
    /// does only in a frame that has no room for it there.
    pub beside: bool,
}

/// A page of keys.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Group {
    /// Which.
    pub group: GroupWord,
    /// Its name.
    pub label: String,
    /// Its keys, always in the same order.
    pub keys: Vec<Act>,
    /// Those of them that stand here also where they have a key nearer by.
    pub stays: Vec<Act>,
}

/// A remark beside the question.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct NoteLine {
    /// Its words.
    pub text: String,
    /// A time that stands after the words: until it, and then since it.
    pub at: Option<Ms>,
}

/// Lines of the service's protocol under their heading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct ListLines {
    /// What for.
    pub title: String,
    /// As the service wrote them.
    pub lines: Vec<String>,
}

/// One of the last marks; it can be moved or taken away.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct LastLine {
    /// Its line in the record.
    #[cfg_attr(feature = "ts", ts(type = "number"))]
    pub seq: u64,
    /// When it happened.
    pub at: Ms,
    /// What it was.
    pub text: String,
}

/// A line of the hand-over card: a name, and words, a time since, a time until, or several of them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CardLine {
    /// What it is.
    pub name: String,
    /// In words.
    pub text: Option<String>,
    /// A moment on the run clock; negative before the run. The time since it is shown.
    #[cfg_attr(feature = "ts", ts(type = "number | null"))]
    pub since: Option<i64>,
    /// A moment on the run clock. The time until it is shown, then the time since.
    pub until: Option<Ms>,
}

/// A state that can be set right to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct StateKey {
    /// The state.
    pub state: SetState,
    /// What stands on the key.
    pub label: String,
}

/// A length of time on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct SpanKey {
    /// How long.
    pub ms: Ms,
    /// What stands on the key.
    pub label: String,
}

/// A patient class on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct ClassKey {
    /// The class.
    pub class: PatientClass,
    /// What stands on the key.
    pub label: String,
}

/// Colours on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct ThemeKey {
    /// Which: `auto`, `day`, `glare` or `night`.
    pub theme: String,
    /// What stands on the key.
    pub label: String,
}

/// A page on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct PageKey {
    /// The page.
    pub page: PaperWord,
    /// What stands on the key.
    pub label: String,
}

/// An airway on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct AirwayKey {
    /// The airway.
    pub airway: AirwayDevice,
    /// What stands on the key.
    pub label: String,
}

/// The words of the pages on which a value is entered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct EntryWords {
    /// Takes what was entered.
    pub done: String,
    /// Leads on to the next step.
    pub next: String,
    /// Leaves a step open again.
    pub not_known: String,
    /// Minutes since the arrest began.
    pub minutes: String,
    /// Shocks so far.
    pub shocks: String,
    /// Doses so far.
    pub doses: String,
    /// Minutes since the last dose.
    pub last_dose: String,
    /// Who compresses.
    pub by: String,
    /// The airway in place.
    pub airway: String,
    /// Hands do.
    pub hand: String,
    /// The device does.
    pub device: String,
    /// The airways.
    pub airways: Vec<AirwayKey>,
    /// Beats.
    pub beat: String,
    /// Breath tones.
    pub breath: String,
    /// Voice and tones.
    pub voice: String,
    /// All of them together.
    pub all: String,
    /// Decibels.
    pub db: String,
    /// As loud as can be.
    pub full: String,
    /// Levels for a kind of place.
    pub presets: Vec<PresetKey>,
}

/// Levels for a kind of place, on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct PresetKey {
    /// The place.
    pub preset: Preset,
    /// What stands on the key.
    pub label: String,
}

/// The question card in finished words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Face {
    /// Which card.
    pub card: Card,
    /// Which glyph and ground.
    pub state: StateWord,
    /// The state line.
    pub state_text: String,
    /// Why hands are off.
    pub reason: Option<String>,
    /// The question or statement.
    pub question: String,
    /// The giant figure.
    pub figure: Figure,
    /// What the figure counts.
    pub figure_label: String,
    /// The same once a figure that counts down has run over.
    pub figure_over: String,
    /// What comes next.
    pub next: Option<NextLine>,
    /// The question has waited: ask with emphasis.
    pub urgent: bool,
    /// The answers: one full width or two halves.
    pub main: Vec<Key>,
    /// Two side acts at most.
    pub side: Vec<Key>,
    /// What has no key on the card, the likeliest first.
    pub sheet: Vec<Key>,
    /// Those of what was done, behind Mark, by their pages; a page that would be empty is left out.
    pub groups: Vec<Group>,
    /// Those of what is so, behind Set Right, by their pages.
    pub right: Vec<Group>,
    /// Remarks beside the question, the most pressing first.
    pub notes: Vec<NoteLine>,
    /// Lines of the protocol for this moment.
    pub lists: Vec<ListLines>,
    /// The last marks, the latest first.
    pub last: Vec<LastLine>,
    /// What the next crew has to know.
    pub hand_over: Vec<CardLine>,
    /// Whose numbers are in force.
    pub class: PatientClass,
    /// Whether a mark can be taken back.
    pub undo: bool,
    /// Lines over the card, the most pressing first.
    pub banners: Vec<BannerLine>,
    /// The prompt last due.
    pub said: Option<SaidLine>,
    /// Shocks so far, when there are any.
    pub shocks: Option<String>,
    /// How it ended.
    pub outcome: Option<String>,
    /// What can be entered with a value.
    pub entries: Entries,
    /// The screen is dark and takes no touch but the one that wakes it.
    pub covered: bool,
}

/// A coming sound of the score.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Pulse {
    /// When it is heard.
    pub at: Ms,
    /// Which sound.
    pub kind: PulseKind,
    /// Its place in the cycle, from 0.
    #[cfg_attr(feature = "ts", ts(type = "number"))]
    pub n: u64,
}

/// A sound of the score.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum PulseKind {
    /// The first compression of a cycle.
    BeatFirst,
    /// A compression.
    Beat,
    /// The last compression of a cycle.
    BeatLast,
    /// A breath tone.
    Breath,
}

/// What is known of the last mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Receipt {
    /// The mark's line in the record.
    #[cfg_attr(feature = "ts", ts(type = "number"))]
    pub seq: u64,
    /// When its finger went down.
    pub at: Ms,
    /// Whether the line is known to be on disk.
    pub kept: bool,
    /// Whether the rules took it. What they did not take is in the record, and no mark.
    pub taken: bool,
    /// How long the oldest mark that is not kept has waited, milliseconds.
    #[cfg_attr(feature = "ts", ts(type = "number"))]
    pub waiting_ms: u64,
}

/// What is sent on change. The beat goes on without a change of anything else: then it goes alone, for
/// the page keeps what a large message costs it for a while.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum News {
    /// Everything that is shown.
    Screen(Box<Screen>),
    /// The same screen with the next sounds.
    Beat(NextSounds),
    /// Why something was not done that was asked for a while ago, and answered at once.
    Refused {
        /// In words, with its remedy.
        text: String,
    },
}

/// The next sounds of the score.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct NextSounds {
    /// Run time at which this was sent.
    pub now: Ms,
    /// The sounds.
    pub pulses: Vec<Pulse>,
}

/// All that is shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Screen {
    /// The card.
    pub face: Face,
    /// The colours in force: `day`, `glare` or `night`.
    pub theme: String,
    /// Run time at which this was sent.
    pub now: Ms,
    /// The last mark, if there is one.
    pub receipt: Option<Receipt>,
    /// The next sounds of the score.
    pub pulses: Vec<Pulse>,
    /// What is wrong with clips, disk or settings, with the remedy.
    pub faults: Vec<String>,
    /// The protocol whose numbers are in force now, in words.
    pub protocol: String,
    /// The record of the run that is shown.
    pub record: Option<RecordLine>,
    /// The listening test, if there is one.
    pub listening: Option<Listening>,
    /// The drill that the next start begins, or that goes on.
    pub drill: Option<DrillFace>,
}

/// Which record the run that is shown is written to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct RecordLine {
    /// Its id.
    pub id: String,
    /// Nothing of it was lost so far.
    pub is_kept: bool,
    /// What is said of it when the run is over.
    pub text: String,
}

/// Words that are the same on every card: sent once, when the page asks for its screens.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Labels {
    /// The language's tag.
    pub lang: String,
    /// Its decimal mark.
    pub decimal: String,
    /// The colours that were chosen, one of `themes`.
    pub theme: String,
    /// What can be chosen.
    pub themes: Vec<ThemeKey>,
    /// Opens how the screen is to look.
    pub screen: String,
    /// Steps to the next set of colours.
    pub colours: String,
    /// Covers the screen for the rest of a run, or until it is woken.
    pub cover: String,
    /// What stands on a covered screen: what goes on, and how it is woken.
    pub covered: String,
    /// The page for new users is to be shown.
    pub first: bool,
    /// The app's name.
    pub app: String,
    /// Opens the sheet of rarer marks.
    pub mark: String,
    /// Names that sheet.
    pub marks: String,
    /// Takes the last mark back.
    pub undo: String,
    /// Closes a sheet.
    pub close: String,
    /// Puts a line away that says what did not get through.
    pub put_away: String,
    /// The sheet's next page.
    pub more: String,
    /// Ends the run when held.
    pub hold_end: String,
    /// Names the sheet of outcomes.
    pub how_ended: String,
    /// The outcomes.
    pub ends: Vec<Key>,
    /// Puts a finished run away.
    pub new_run: String,
    /// Takes an end by mistake back.
    pub not_ended: String,
    /// A touch was taken.
    pub touched: String,
    /// A mark is on disk.
    pub kept: String,
    /// A mark waits for the disk.
    pub saving: String,
    /// What was pressed could not stand and made no mark.
    pub refused: String,
    /// Names the beat light.
    pub beat_light: String,
    /// The cautions of the start card.
    pub cautions: Vec<String>,
    /// Opens the sheet that sets the state right.
    pub set_right: String,
    /// Asks for the true state.
    pub what_is_true: String,
    /// The states that can be said.
    pub states: Vec<StateKey>,
    /// Asks since when.
    pub since_when: String,
    /// The answers.
    pub backs: Vec<SpanKey>,
    /// Opens the last marks.
    pub last_marks: String,
    /// There are none.
    pub no_marks: String,
    /// Moves a mark back by so much.
    pub earlier: Vec<SpanKey>,
    /// Takes a mark away.
    pub remove: String,
    /// Stands before a time that has passed.
    pub ago: String,
    /// Stands after a time that runs down.
    pub to_go: String,
    /// Stands after a time by which something has run over.
    pub over: String,
    /// Opens the hand-over card.
    pub hand_over: String,
    /// Over the lists beside that card, which are not handed over.
    pub own_lists: String,
    /// Opens the lists of the moment.
    pub lists: String,
    /// Goes back to where one came from.
    pub back: String,
    /// Opens what can be done when nothing runs.
    pub menu: String,
    /// Opens the choice of the patient class.
    pub patient: String,
    /// The classes.
    pub classes: Vec<ClassKey>,
    /// Turns the screen by a quarter.
    pub turn: String,
    /// Opens a finished run's plain debrief.
    pub debrief: String,
    /// Opens the list of what is made ready.
    pub make_ready: String,
    /// The pages of the menu.
    pub pages: Vec<PageKey>,
    /// The words of the pages on which a value is entered.
    pub entry: EntryWords,
    /// The words of the screens after a run.
    pub after: AfterLabels,
    /// The words of the listening test.
    pub listening: ListeningLabels,
    /// Opens the drills.
    pub drills: String,
}
