//! What stands beside the question: remarks, and the hand-over card's lines.

use cycle::{
    Act, Ask, DrugLine, DrugWord, Ms, Prompt, StateWord, View,
    hand_over::{DosesGiven, DueWord, HandOver},
    mark::{PatientClass, PriorCare},
};

use crate::{CardLine, Fixed, NoteLine, Words, face::stands_for_question};

/// From so many shocks in a row on, their number is said.
const ROW_SAID_FROM: u16 = 2;

impl Words {
    /// Remarks, the most pressing first: what was just said and stands nowhere else, what is asked, what is due, how the
    /// device must be set, and then the first lines of the moment's lists.
    pub(crate) fn notes(&self, view: &View) -> Vec<NoteLine> {
        let plain = |text: String| NoteLine { text, at: None };
        let mut notes: Vec<NoteLine> = view
            .said
            .filter(|said| !stands_for_question(view, said.prompt))
            .map(|said| plain(self.word("prompt", said.prompt.word())))
            .into_iter()
            .collect();
        let asks = view
            .asks
            .iter()
            // The card of a ratio by device asks this itself.
            .filter(|ask| **ask != Ask::DevicePause);
        notes.extend(asks.map(|ask| plain(self.word("ask", ask.word()))));
        // What the question has just said is not said again below it.
        let is_told = |drug: &DrugLine| {
            let told = match view.said.map(|said| said.prompt) {
                Some(Prompt::DrugDue) => DrugWord::Due,
                Some(Prompt::DrugLate) => DrugWord::Late,
                _ => return false,
            };
            drug.is_by_clock() && drug.stands == told
        };
        let untold = view.drugs.iter().filter(|drug| !is_told(drug));
        notes.extend(untold.filter_map(|drug| self.drug_note(drug)));
        notes.extend(
            view.device_mode
                .map(|mode| plain(self.word("device_mode", mode.word()))),
        );
        if view.in_a_row >= ROW_SAID_FROM {
            notes.push(plain(
                self.numbered(Fixed::InARow, u64::from(view.in_a_row)),
            ));
        }
        // With hands off the time is what is read: the lists wait behind the hand-over card.
        let lists = (view.state != StateWord::HandsOff).then_some(&view.lists);
        for list in lists.into_iter().flatten() {
            // Its first line says what the list is for.
            let title = self.word("list", list.word.word());
            let headed = |(n, line): (usize, &String)| match n {
                0 => format!("{title}: {line}"),
                _ => line.clone(),
            };
            notes.extend(list.lines.iter().enumerate().map(headed).map(plain));
        }
        notes
    }

    fn drug_note(&self, drug: &DrugLine) -> Option<NoteLine> {
        match drug.stands {
            DrugWord::NotAsked | DrugWord::NotDue => None,
            DrugWord::Due | DrugWord::Late | DrugWord::Withheld | DrugWord::Doubled => {
                Some(NoteLine {
                    text: self.named(&format!("drug-{}", drug.stands.word()), &drug.name),
                    at: None,
                })
            }
        }
    }

    /// The card's lines, in the order in which they are told.
    pub(crate) fn card_lines(&self, card: &HandOver) -> Vec<CardLine> {
        let mut lines = Lines {
            words: self,
            out: Vec::new(),
        };
        // An adult is what everybody expects.
        lines.words(
            "patient",
            (card.class != PatientClass::Adult).then(|| self.word("class", card.class.word())),
        );
        lines.since("arrest", card.arrest, None);
        lines.words(
            "basis",
            card.basis.map(|basis| self.word("basis", basis.word())),
        );
        lines.since("began", Some(signed(card.began)), None);
        lines.words(
            "before_us",
            card.before_us
                .as_ref()
                .map(|prior| self.prior(prior, &card.doses)),
        );
        lines.since(
            "state",
            Some(signed(card.state_since)),
            Some(self.word("state", card.state.word())),
        );
        lines.words("first_rhythm", card.first_rhythm.map(|r| self.rhythm(r)));
        lines.words("rhythm", card.rhythm.map(|r| self.rhythm(r)));
        lines.since(
            "shocks",
            card.last_shock.map(signed),
            Some(self.count(card.shocks, card.last_shock.is_some())),
        );
        for dose in &card.doses {
            lines.push(CardLine {
                name: dose.name.clone(),
                text: Some(self.count(dose.n, dose.last.is_some())),
                since: dose.last,
                until: None,
            });
        }
        lines.words("lines", (card.lines > 0).then(|| card.lines.to_string()));
        lines.words(
            "airway",
            card.airway.map(|airway| self.word("airway", airway.word())),
        );
        lines.words("breaths", Some(self.word("breaths", card.breaths.word())));
        lines.co2(card);
        lines.since("device", card.device_since.map(signed), None);
        lines.since("device_out", card.device_out.map(signed), None);
        lines.words("device_why", card.device_why.clone());
        lines.words(
            "device_refused",
            card.device_refused
                .as_deref()
                .map(|code| self.refusal(code)),
        );
        lines.until("power", card.power_until);
        if let Some(pause) = card.longest {
            let text = format!(
                "{} {}",
                self.seconds(pause.ms),
                self.word("reason", pause.reason.word())
            );
            lines.since("longest", Some(signed(pause.at)), Some(text));
        }
        for (from, to) in &card.pulses {
            let text = to.map(|to| readout(to.since(*from)));
            lines.since("pulse", Some(signed(*from)), text);
        }
        for (kind, band) in &card.overlays {
            let band = band.map(|band| self.word("cold", band.word()));
            let text = [Some(self.word("overlay", kind.word())), band];
            lines.words(
                "overlay",
                Some(text.into_iter().flatten().collect::<Vec<_>>().join(", ")),
            );
        }
        // After the run a review may have put marks right since.
        let is_over = card.state == StateWord::Ended;
        lines.words(
            "as_marked",
            is_over.then(|| self.fixed(Fixed::AsMarked).to_owned()),
        );
        // Of the minute marks the nearest is enough for the next crew.
        let first_minute = card.next.iter().position(|due| due.word == DueWord::Minute);
        let told = card
            .next
            .iter()
            .enumerate()
            .filter(|(n, due)| due.word != DueWord::Minute || Some(*n) == first_minute);
        for (_, next) in told {
            let key = format!("due-{}", due(next.word));
            lines.push(CardLine {
                name: self.named(&key, next.drug.as_deref().unwrap_or_default()),
                text: None,
                since: None,
                until: Some(next.at),
            });
        }
        lines.out
    }

    /// How many, and that the time of the last one follows. A bare 0 was read as a dose.
    fn count(&self, n: u16, has_last: bool) -> String {
        match (n, has_last) {
            (0, _) => self.fixed(Fixed::NoneMarked).to_owned(),
            (n, true) => self.numbered(Fixed::AndLast, u64::from(n)),
            (n, false) => n.to_string(),
        }
    }

    /// Why no device was used, by the words of its key; a reason with no key as it was recorded.
    fn refusal(&self, code: &str) -> String {
        let act = match code {
            "too_small" => Act::TooSmall,
            "too_large" => Act::TooLarge,
            "local_list" => Act::NotSuited,
            "other" => Act::NotNow,
            _ => return code.to_owned(),
        };
        self.word("act", act.word())
    }

    /// A rhythm as it was called.
    pub fn rhythm(&self, rhythm: cycle::mark::RhythmSeen) -> String {
        self.word("rhythm", rhythm.word())
    }

    fn prior(&self, prior: &PriorCare, given: &[DosesGiven]) -> String {
        let name = |key: &str| {
            let known = given.iter().find(|doses| doses.key == key);
            known.map_or_else(|| key.to_owned(), |doses| doses.name.clone())
        };
        let doses = prior.doses.iter().map(|dose| match dose.n {
            0 => self.named(Fixed::NoneOf.key(), &name(&dose.drug)),
            n => format!("{} {n}", name(&dose.drug)),
        });
        let shocks = prior.shocks.map(|n| self.shocks(u16::from(n)));
        [
            prior.cpr.map(|who| self.word("prior", who.word())),
            prior.aed.map(|aed| self.word("aed", aed.word())),
            shocks,
        ]
        .into_iter()
        .flatten()
        .chain(doses)
        .collect::<Vec<_>>()
        .join(", ")
    }
}

struct Lines<'a> {
    words: &'a Words,
    out: Vec<CardLine>,
}

impl Lines<'_> {
    fn co2(&mut self, card: &HandOver) {
        if let Some(co2) = &card.co2 {
            let words = self.words;
            let [first, low, now] = [&co2.first, &co2.low, &co2.now].map(|n| words.decimal(n));
            let text = format!("{first} / {low} / {now} {}", co2.unit);
            self.since("co2", Some(signed(co2.at)), Some(text));
        }
    }

    fn push(&mut self, line: CardLine) {
        self.out.push(line);
    }

    fn line(&mut self, name: &str, text: Option<String>, since: Option<i64>, until: Option<Ms>) {
        if text.as_deref().is_some_and(|text| !text.is_empty())
            || since.is_some()
            || until.is_some()
        {
            let name = self.words.word("card_line", name);
            self.push(CardLine {
                name,
                text: text.filter(|text| !text.is_empty()),
                since,
                until,
            });
        }
    }

    fn words(&mut self, name: &str, text: Option<String>) {
        self.line(name, text, None, None);
    }

    fn since(&mut self, name: &str, since: Option<i64>, text: Option<String>) {
        self.line(name, text, since, None);
    }

    fn until(&mut self, name: &str, until: Option<Ms>) {
        self.line(name, None, None, until);
    }
}

/// The names of the hand-over card's lines.
pub(crate) const CARD_LINES: [&str; 22] = [
    "patient",
    "arrest",
    "basis",
    "began",
    "before_us",
    "state",
    "first_rhythm",
    "rhythm",
    "shocks",
    "lines",
    "airway",
    "breaths",
    "co2",
    "device",
    "device_out",
    "device_why",
    "device_refused",
    "power",
    "longest",
    "pulse",
    "overlay",
    "as_marked",
];

/// What falls due next, in the order of the record's page.
pub(crate) const DUE: [DueWord; 7] = [
    DueWord::Check,
    DueWord::Drug,
    DueWord::Power,
    DueWord::HeartRate,
    DueWord::Pulse,
    DueWord::Minute,
    DueWord::Delivery,
];

pub(crate) const fn due(word: DueWord) -> &'static str {
    match word {
        DueWord::Check => "check",
        DueWord::Drug => "drug",
        DueWord::Power => "power",
        DueWord::HeartRate => "heart_rate",
        DueWord::Pulse => "pulse",
        DueWord::Minute => "minute",
        DueWord::Delivery => "delivery",
    }
}

/// A run time is far below the largest signed one.
fn signed(at: Ms) -> i64 {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

/// Hours, minutes and seconds of a length of time, seconds rounded down, as the page shows it.
pub(crate) fn readout(length: Ms) -> String {
    let whole = length.0 / 1000;
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{seconds:02}")
    } else {
        format!("{minutes}:{seconds:02}")
    }
}
