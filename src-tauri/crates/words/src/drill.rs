//! The words of drills: what is chosen, told and looked at, and the score sheet of one that is over.

mod face;
mod sheet;
mod tries;
mod wire;

use ::drill::{Begin, CueKind, Due, Item, Origin, Outcome, Scenario, Sheet, Verdict, What};
use cycle::Ms;
use fluent_bundle::{FluentArgs, FluentValue};

pub use wire::{
    DrillChoice, DrillDone, DrillFace, DrillGoing, DrillKey, DrillLook, DrillOver, DrillPage,
    DrillSheet, DrillStop, DrillStrip, DrillTries, DrillWish, OverChart, OverGroup, StripKind,
    StripName, StripPart, TryBar, TryRow,
};

use crate::{Words, sheet::VALUES};

macro_rules! drill_words {
    ($($name:ident = $key:literal,)*) => {
        /// A message of the drills. One with values takes them as `$a`, `$b` and `$c`, written out.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[non_exhaustive]
        pub enum DrillWord {
            $(#[doc = concat!("`drill-", $key, "`")] $name,)*
        }

        impl DrillWord {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$name,)*];

            pub(crate) const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => concat!("drill-", $key),)*
                }
            }
        }
    };
}

drill_words! {
    Title = "title",
    Notice = "notice",
    Choose = "choose",
    BeginHand = "begin_hand",
    BeginDevice = "begin_device",
    Take = "take",
    Leave = "leave",
    Crew = "crew",
    CrewNone = "crew_none",
    Scene = "scene",
    Told = "told",
    ToldAfter = "told_after",
    Expected = "expected",
    Within = "within",
    WithinAfter = "within_after",
    FromTo = "from_to",
    FromToAfter = "from_to_after",
    Variation = "variation",
    Same = "same",
    Other = "other",
    Instructor = "instructor",
    Next = "next",
    NoNext = "no_next",
    TellNow = "tell_now",
    ByHand = "by_hand",
    ByClock = "by_clock",
    Checklist = "checklist",
    NotMeasured = "not_measured",
    Sheet = "sheet",
    SheetKey = "sheet_key",
    Sheets = "sheets",
    Points = "points",
    NothingReached = "nothing_reached",
    Passed = "passed",
    NotPassed = "not_passed",
    NotFinished = "not_finished",
    ColMark = "col_mark",
    ColOutcome = "col_outcome",
    ColTook = "col_took",
    ColLimit = "col_limit",
    ColPoints = "col_points",
    ColMeasure = "col_measure",
    ColValue = "col_value",
    ColAim = "col_aim",
    InTime = "in_time",
    Early = "early",
    Late = "late",
    WrongOrder = "wrong_order",
    Forgotten = "forgotten",
    NotReached = "not_reached",
    Must = "must",
    OrLower = "or_lower",
    AtMost = "at_most",
    AtLeast = "at_least",
    Between = "between",
    Aim = "aim",
    Limits = "limits",
    Yardstick = "yardstick",
    Ticked = "ticked",
    NotTicked = "not_ticked",
    DueNow = "due_now",
    DueIn = "due_in",
    DueAgain = "due_again",
    DueDevice = "due_device",
    NewDevice = "new_device",
    NoNewDevice = "no_new_device",
    DeviceSince = "device_since",
    Again = "again",
    Stop = "stop",
    Stopped = "stopped",
    StoppedNote = "stopped_note",
    GoOn = "go_on",
    End = "end",
    LookStrip = "look_strip",
    LookMarks = "look_marks",
    LookNone = "look_none",
    StripOff = "strip_off",
    StripNone = "strip_none",
    NotYet = "not_yet",
    TriesStrip = "tries_strip",
    TriesMarks = "tries_marks",
    Injected = "injected",
    InjectedAt = "injected_at",
    Quiet = "quiet",
    Unit = "unit",
    CrewCode = "crew_code",
    CodesNote = "codes_note",
    CodeWrong = "code_wrong",
    DueLine = "due_line",
    DueLineNone = "due_line_none",
    Ahead = "ahead",
    OtherVersion = "other_version",
    Over = "over",
    OverTitle = "over_title",
    OverNote = "over_note",
    OverNone = "over_none",
    OverNoneEnded = "over_none_ended",
    OverNoneDrawn = "over_none_drawn",
    OverGroup = "over_group",
    OverApart = "over_apart",
    OverScore = "over_score",
    OverScoreUnit = "over_score_unit",
    OverSpread = "over_spread",
    OverFew = "over_few",
    OverTold = "over_told",
    Try = "try",
    SignTitle = "sign_title",
    SignName = "sign_name",
    SignDate = "sign_date",
    SignKey = "sign_key",
    SignNote = "sign_note",
    RealPatient = "real_patient",
}

/// What stands where nothing is known.
const NOTHING: &str = "\u{2013}";

impl Words {
    /// A message of the drills with its values in order.
    pub fn drill(&self, word: DrillWord, values: &[&str]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in VALUES.into_iter().zip(values) {
            args.set(name, FluentValue::from(*value));
        }
        self.formatted(word.key(), &args)
    }

    /// What the instructor looks at.
    pub fn drill_item(&self, item: Item) -> String {
        self.word("drill_item", item.word())
    }

    /// What a cue does, in a word or two.
    pub fn drill_kind(&self, kind: CueKind) -> String {
        self.word("drill_kind", kind.word())
    }

    /// A measure's name.
    pub fn drill_measure(&self, what: What) -> String {
        self.word("drill_measure", what.word())
    }

    /// What became of a mark.
    pub fn drill_outcome(&self, outcome: Outcome) -> String {
        let word = match outcome {
            Outcome::InTime => DrillWord::InTime,
            Outcome::Early => DrillWord::Early,
            Outcome::Late => DrillWord::Late,
            Outcome::WrongOrder => DrillWord::WrongOrder,
            Outcome::Forgotten => DrillWord::Forgotten,
            Outcome::NotReached => DrillWord::NotReached,
        };
        self.drill(word, &[])
    }

    /// What a seed varies.
    pub fn drill_variation(&self, seed: u32) -> String {
        if seed == 0 {
            self.drill(DrillWord::Same, &[])
        } else {
            self.drill(DrillWord::Variation, &[&seed.to_string()])
        }
    }

    /// What is told in a scenario, and when: a line a cue.
    pub fn drill_told(&self, scenario: &Scenario, seed: u32) -> Vec<String> {
        let planned = ::drill::walk(scenario, seed, &[], &::drill::Heard::default()).cues;
        let each = scenario.cues.iter().zip(planned).enumerate();
        each.map(|(n, (rule, at))| {
            let said = scenario
                .cue(n, seed)
                .map_or("", |(_, say)| say.of(self.lang()));
            match rule.from {
                Origin::Mark(mark) => {
                    let name = scenario
                        .expect
                        .get(mark)
                        .map_or("", |e| e.name.of(self.lang()));
                    self.drill(DrillWord::ToldAfter, &[&whole(rule.after), name, said])
                }
                Origin::Start | Origin::Cue(_) => self.drill(DrillWord::Told, &[&whole(at), said]),
            }
        })
        .collect()
    }

    /// What is expected in a scenario: a line a mark.
    pub fn drill_expected(&self, scenario: &Scenario, seed: u32) -> Vec<String> {
        let held = ::drill::walk(scenario, seed, &[], &::drill::Heard::default()).marks;
        let each = scenario
            .expect
            .iter()
            .zip(held)
            .filter(|(_, met)| met.is_some());
        each.map(|(rule, _)| {
            let name = rule.name.of(self.lang());
            let is_open = rule.earliest == Ms::ZERO;
            let limit = if is_open {
                whole(rule.within)
            } else {
                self.drill(
                    DrillWord::Between,
                    &[&whole(rule.earliest), &whole(rule.within)],
                )
            };
            let (by_itself, after) = if is_open {
                (DrillWord::Within, DrillWord::WithinAfter)
            } else {
                (DrillWord::FromTo, DrillWord::FromToAfter)
            };
            match rule.from {
                Origin::Mark(mark) => {
                    let before = scenario
                        .expect
                        .get(mark)
                        .map_or("", |e| e.name.of(self.lang()));
                    self.drill(after, &[name, &limit, before])
                }
                Origin::Start | Origin::Cue(_) => self.drill(by_itself, &[name, &limit]),
            }
        })
        .collect()
    }

    /// A figure as short as it is exact, at most two places.
    fn figure(&self, value: f64) -> String {
        let places = format!("{value:.2}");
        let short = places.trim_end_matches('0').trim_end_matches('.');
        self.decimal(short)
    }
}

/// Whole seconds, downwards.
fn whole(at: Ms) -> String {
    at.0.checked_div(1000).unwrap_or(0).to_string()
}

impl Words {
    /// Letter and name.
    pub fn drill_name(&self, scenario: &Scenario) -> String {
        format!("{}: {}", scenario.letter, scenario.name.of(self.lang()))
    }

    /// Which start begins it.
    pub fn drill_begin(&self, scenario: &Scenario) -> String {
        let begin = match scenario.begin {
            Begin::Hand => DrillWord::BeginHand,
            Begin::Device => DrillWord::BeginDevice,
        };
        self.drill(begin, &[])
    }

    /// The page on which a drill is chosen. `today` and the days of `due` count alike; `new_device`: one was noted.
    pub fn drill_page(
        &self,
        scenarios: &[Scenario],
        done: Vec<DrillDone>,
        due: &[Due],
        today: i64,
        (unit, crew): (&str, &str),
        new_device: bool,
    ) -> DrillPage {
        let word = |word| self.drill(word, &[]);
        DrillPage {
            title: word(DrillWord::Title),
            lines: vec![
                word(DrillWord::Notice),
                word(DrillWord::Choose),
                word(DrillWord::NotMeasured),
            ],
            due: due
                .iter()
                .map(|due| self.drill_due(scenarios, due, today))
                .collect(),
            notes: Vec::new(),
            drills: (scenarios.iter())
                .map(|scenario| DrillChoice {
                    id: scenario.id.clone(),
                    label: self.drill_name(scenario),
                    lines: vec![
                        format!(
                            "{}: {}",
                            word(DrillWord::Scene),
                            scenario.scene.of(self.lang())
                        ),
                        self.drill_begin(scenario),
                    ],
                    expected: self.drill_expected(scenario, 0),
                })
                .collect(),
            take: word(DrillWord::Take),
            vary: word(DrillWord::Other),
            same: word(DrillWord::Same),
            expected: word(DrillWord::Expected),
            done,
            sheets: word(DrillWord::Sheets),
            unit: unit.to_owned(),
            unit_label: word(DrillWord::Unit),
            crew: crew.to_owned(),
            crew_label: word(DrillWord::CrewCode),
            codes_note: word(DrillWord::CodesNote),
            over: word(DrillWord::Over),
            new_device,
            new_device_key: word(if new_device {
                DrillWord::NoNewDevice
            } else {
                DrillWord::NewDevice
            }),
        }
    }

    /// When a drill is due, in one line: that of the crew whose code is set, else the one due longest; `None` while none is.
    pub fn drill_due_line(
        &self,
        scenarios: &[Scenario],
        due: &[Due],
        today: i64,
        set: &str,
    ) -> Option<String> {
        let due = due.iter().filter(|due| due.day <= today);
        let due = due.min_by_key(|due| (due.crew != set, due.day, due.crew.clone()))?;
        let of = scenarios
            .iter()
            .find(|scenario| scenario.id == due.scenario)?;
        Some(if due.crew.is_empty() {
            self.drill(DrillWord::DueLineNone, &[&of.letter])
        } else {
            self.drill(DrillWord::DueLine, &[&of.letter, &due.crew])
        })
    }

    /// Since when there is a new device, and which drills each crew does anew.
    pub fn drill_new_device(&self, scenarios: &[Scenario], date: &str) -> String {
        let about = scenarios.iter();
        let about = about.filter(|of| ::drill::ABOUT_DEVICE.contains(&of.id.as_str()));
        let letters: Vec<&str> = about.map(|of| of.letter.as_str()).collect();
        self.drill(DrillWord::DeviceSince, &[date, &letters.join(", ")])
    }

    /// A crew by its own opaque code, empty where it has none.
    pub fn drill_crew(&self, code: &str) -> String {
        if code.is_empty() {
            self.drill(DrillWord::CrewNone, &[])
        } else {
            self.drill(DrillWord::Crew, &[code])
        }
    }

    /// When a drill was, by the wall clock at its beginning as its record has it, and of which crew.
    pub fn drill_held(&self, began: Option<&str>, code: &str) -> String {
        let when = began.and_then(|when| when.get(..16));
        let crew = self.drill_crew(code);
        when.map_or_else(
            || crew.clone(),
            |when| format!("{} \u{b7} {crew}", when.replace('T', " ")),
        )
    }

    /// That so many drills are dated in the future, and count for nothing that asks for a day; `None` where none is.
    pub fn drill_ahead(&self, drills: usize) -> Option<String> {
        (drills > 0).then(|| self.drill(DrillWord::Ahead, &[&drills.to_string()]))
    }

    fn drill_due(&self, scenarios: &[Scenario], due: &Due, today: i64) -> String {
        let crew = self.drill_crew(&due.crew);
        let of = scenarios
            .iter()
            .find(|scenario| scenario.id == due.scenario);
        let name = of.map_or_else(
            || due.scenario.clone(),
            |scenario| self.drill_name(scenario),
        );
        if due.again {
            self.drill(DrillWord::DueAgain, &[&crew, &name])
        } else if due.new_device {
            self.drill(DrillWord::DueDevice, &[&crew, &name])
        } else if due.day <= today {
            self.drill(DrillWord::DueNow, &[&crew, &name])
        } else {
            let days = due.day.saturating_sub(today).to_string();
            self.drill(DrillWord::DueIn, &[&crew, &days, &name])
        }
    }

    /// A drill that was done by another version of its scenario, in a line: it has no points here.
    pub fn drill_done_before(&self, when: &str, scenario: &Scenario, version: &str) -> String {
        let name = self.drill_name(scenario);
        let why = self.drill(DrillWord::OtherVersion, &[version]);
        format!("{when} {name}. {why}")
    }

    /// A drill that was done, in a line.
    pub fn drill_done(&self, when: &str, scenario: &Scenario, sheet: &Sheet) -> String {
        let name = self.drill_name(scenario);
        if sheet.verdict == Verdict::NotFinished {
            return format!("{when} {name}. {}", self.drill(DrillWord::NotFinished, &[]));
        }
        let percent = self.decimal(&format!("{:.1}", sheet.percent));
        format!("{when} {name}, {percent} %")
    }
}
