use cycle::{
    Act, Banner, Card, Class, Figure, FitStep, Ms, Prompt, StateWord, View,
    mark::{AirwayDevice, PatientClass, Preset, SetState},
};

use crate::{
    AirwayKey, BannerLine, ClassKey, DrillWord, EntryWords, Face, Fixed, Group, GroupWord, Key,
    Labels, LastLine, ListLines, NextLine, PageKey, PaperWord, PresetKey, SaidLine, SpanKey,
    StateKey, ThemeKey, Words,
    paper::{CAUTIONS, THEMES, title},
};

/// The keys that end a run, after the end key was held.
const ENDS: [Act; 4] = [
    Act::EndHandedOver,
    Act::EndStopped,
    Act::EndPulse,
    Act::EndNoArrest,
];

/// How long ago the true state can be said to have begun, minutes.
const BACKS_MIN: [u32; 4] = [0, 1, 2, 5];
/// Further back than any run lasts: the rules take the true state back to the change before it, no further.
const LAST_CHANGE: Ms = Ms::secs(24 * 60 * 60);
/// By how much a mark can be moved back, seconds.
const EARLIER_S: [u32; 3] = [5, 15, 30];

impl Words {
    /// The card of a view, with the banners of the house beside those of the run.
    pub fn face(&self, view: &View, house: &[Banner]) -> Face {
        let mut sheet = view.sheet.clone();
        if view.card == Card::Before {
            // Before a run a class is chosen with its own protocol: see [`Labels::classes`].
            sheet.retain(|act| !is_class(*act));
        }
        let drugs: Vec<(String, String)> = view
            .drugs
            .iter()
            .map(|drug| (drug.key.clone(), drug.name.clone()))
            .collect();
        Face {
            card: view.card,
            state: view.state,
            state_text: self.word("state", view.state.word()),
            reason: view.reason.map(|reason| self.word("reason", reason.word())),
            question: self.question(view),
            figure: view.figure,
            figure_label: self.fixed(figure_label(view)).to_owned(),
            figure_over: self.fixed(Fixed::FigureOver).to_owned(),
            next: view.next.map(|next| NextLine {
                text: self.word("next", next.word.word()),
                at: next.at,
            }),
            urgent: view.urgent,
            main: self.keys(view.card, &view.main),
            side: self.keys(view.card, &view.side),
            sheet: self.keys(view.card, &sheet),
            groups: self.groups(GroupWord::MARKS, &sheet),
            right: self.groups(GroupWord::RIGHT, &sheet),
            notes: self.notes(view),
            lists: view
                .lists
                .iter()
                .map(|list| ListLines {
                    title: self.word("list", list.word.word()),
                    lines: list.lines.clone(),
                })
                .collect(),
            last: view
                .last
                .iter()
                .map(|mark| LastLine {
                    seq: mark.seq.0,
                    at: mark.at,
                    text: self.mark_text(&mark.mark, &drugs),
                })
                .collect(),
            hand_over: view
                .hand_over
                .as_ref()
                .map_or_else(Vec::new, |card| self.card_lines(card)),
            class: view.class,
            undo: view.undo,
            banners: self.banners(view, house),
            said: view
                .said
                .map(|said| SaidLine {
                    text: self.word("prompt", said.prompt.word()),
                    at: said.at,
                    alert: said.prompt.class() == Class::A && is_unspoken(view, house),
                    beside: !stands_for_question(view, said.prompt),
                })
                // What was heard need not be read.
                .filter(|said| !said.beside || is_unspoken(view, house)),
            shocks: (view.shocks > 0).then(|| self.shocks(view.shocks)),
            outcome: view
                .outcome
                .map(|outcome| self.word("outcome", outcome.word())),
            entries: view.entries.clone(),
            covered: view.covered,
        }
    }

    /// The words that are the same on every card. `theme` is one of [`crate::THEMES`]; `first` asks for
    /// the page for new users.
    pub fn labels(&self, theme: &str, first: bool) -> Labels {
        let fixed = |fixed| self.fixed(fixed).to_owned();
        Labels {
            lang: self.lang().to_owned(),
            decimal: fixed(Fixed::Decimal),
            theme: theme.to_owned(),
            themes: THEMES
                .map(|theme| ThemeKey {
                    theme: theme.to_owned(),
                    label: self.word("colours", theme),
                })
                .to_vec(),
            screen: fixed(Fixed::Screen),
            colours: fixed(Fixed::Colours),
            cover: fixed(Fixed::Cover),
            covered: fixed(Fixed::Covered),
            first,
            app: fixed(Fixed::App),
            mark: fixed(Fixed::Mark),
            marks: fixed(Fixed::Marks),
            undo: fixed(Fixed::Undo),
            close: fixed(Fixed::Close),
            put_away: fixed(Fixed::PutAway),
            more: fixed(Fixed::More),
            hold_end: fixed(Fixed::HoldEnd),
            how_ended: fixed(Fixed::HowEnded),
            ends: self.keys(Card::Ended, &ENDS),
            new_run: fixed(Fixed::NewRun),
            not_ended: fixed(Fixed::NotEnded),
            touched: fixed(Fixed::Touched),
            kept: fixed(Fixed::Kept),
            saving: fixed(Fixed::Saving),
            refused: fixed(Fixed::Refused),
            beat_light: fixed(Fixed::BeatLight),
            cautions: CAUTIONS.map(fixed).to_vec(),
            set_right: fixed(Fixed::SetRight),
            what_is_true: fixed(Fixed::WhatIsTrue),
            states: SetState::ALL
                .iter()
                .map(|state| StateKey {
                    state: *state,
                    label: self.word("set", state.word()),
                })
                .collect(),
            since_when: fixed(Fixed::SinceWhen),
            backs: self.back_keys(),
            last_marks: fixed(Fixed::LastMarks),
            no_marks: fixed(Fixed::NoMarks),
            earlier: EARLIER_S
                .map(|s| SpanKey {
                    ms: Ms::secs(s),
                    label: self.numbered(Fixed::EarlierBy, u64::from(s)),
                })
                .to_vec(),
            remove: fixed(Fixed::Remove),
            ago: fixed(Fixed::Ago),
            to_go: fixed(Fixed::FigureUntil),
            over: fixed(Fixed::FigureOver),
            hand_over: fixed(Fixed::HandOver),
            own_lists: fixed(Fixed::OwnLists),
            lists: fixed(Fixed::Lists),
            back: fixed(Fixed::Back),
            menu: fixed(Fixed::Menu),
            patient: fixed(Fixed::Patient),
            classes: PatientClass::ALL
                .iter()
                .map(|class| ClassKey {
                    class: *class,
                    label: self.word("class", class.word()),
                })
                .collect(),
            turn: fixed(Fixed::Turn),
            debrief: fixed(Fixed::Debrief),
            make_ready: fixed(Fixed::MakeReady),
            pages: [
                PaperWord::Ready,
                PaperWord::Past,
                PaperWord::Protocol,
                PaperWord::Settings,
                PaperWord::About,
            ]
            .map(|page| PageKey {
                page,
                label: self.fixed(title(page)).to_owned(),
            })
            .to_vec(),
            entry: self.entry_words(),
            after: self.after_labels(),
            listening: self.listening_labels(),
            drills: self.drill(DrillWord::Title, &[]),
        }
    }

    fn entry_words(&self) -> EntryWords {
        let word = |word| self.word("entry", word);
        EntryWords {
            done: word("done"),
            next: word("next"),
            not_known: word("not_known"),
            minutes: word("minutes"),
            shocks: word("shocks"),
            doses: word("doses"),
            last_dose: word("last_dose"),
            by: word("by"),
            airway: word("airway"),
            hand: word("hand"),
            device: word("device"),
            airways: AirwayDevice::ALL
                .iter()
                .map(|airway| AirwayKey {
                    airway: *airway,
                    label: self.word("airway_key", airway.word()),
                })
                .collect(),
            beat: word("beat"),
            breath: word("breath"),
            voice: word("voice"),
            all: word("all"),
            db: word("db"),
            full: word("full"),
            presets: Preset::ALL
                .iter()
                .map(|preset| PresetKey {
                    preset: *preset,
                    label: self.word("preset", preset.word()),
                })
                .collect(),
        }
    }

    fn back_keys(&self) -> Vec<SpanKey> {
        let key = |ms, label| SpanKey { ms, label };
        let minutes = BACKS_MIN.iter().map(|min| {
            let label = match min {
                0 => self.fixed(Fixed::SinceNow).to_owned(),
                _ => self.numbered(Fixed::SinceMinutes, u64::from(*min)),
            };
            key(Ms::secs(min.saturating_mul(60)), label)
        });
        let change = key(LAST_CHANGE, self.fixed(Fixed::SinceChange).to_owned());
        minutes.chain([change]).collect()
    }

    fn groups(&self, pages: &[GroupWord], sheet: &[Act]) -> Vec<Group> {
        pages
            .iter()
            .map(|group| {
                let keys = sheet.iter().copied();
                let keys: Vec<Act> = keys.filter(|act| GroupWord::of(*act) == *group).collect();
                Group {
                    group: *group,
                    label: self.word("group", group.word()),
                    stays: keys
                        .iter()
                        .copied()
                        .filter(|act| *act == Act::PulseBack)
                        .collect(),
                    keys,
                }
            })
            .filter(|group| !group.keys.is_empty())
            .collect()
    }

    /// The card's question, as the service's windows and its change of compressor make it.
    fn question(&self, view: &View) -> String {
        let own = match (view.card, view.fit) {
            (Card::Check, _) if view.main.first() == Some(&Act::HandsOn) => Fixed::CheckAnswered,
            // The pack is in: what is asked for is the device.
            (Card::Power | Card::PowerLate, _) if !view.main.contains(&Act::Swapped) => {
                Fixed::PackIn
            }
            (Card::CheckDue, Some(FitStep::InCheck)) => Fixed::CheckFit,
            (Card::CheckDue, _) if view.rotate => Fixed::CheckRotate,
            (Card::Fitting, Some(FitStep::First)) => Fixed::FittingFirst,
            (Card::Fitting, Some(FitStep::InCheck)) => Fixed::FittingInCheck,
            (Card::FitPause, Some(FitStep::First)) => Fixed::FitPauseFirst,
            _ => return self.word("card", view.card.word()),
        };
        self.fixed(own).to_owned()
    }

    fn keys(&self, card: Card, acts: &[Act]) -> Vec<Key> {
        acts.iter()
            .map(|act| Key {
                act: *act,
                label: self.label(card, *act),
            })
            .collect()
    }

    /// With the pack out, the way on without the device has its own name.
    fn label(&self, card: Card, act: Act) -> String {
        if act == Act::HandsOn && matches!(card, Card::Power | Card::PowerLate) {
            self.fixed(Fixed::HandsInstead).to_owned()
        } else {
            self.word("act", act.word())
        }
    }

    fn banners(&self, view: &View, house: &[Banner]) -> Vec<BannerLine> {
        let mut banners: Vec<Banner> = house.iter().chain(&view.banners).copied().collect();
        banners.sort_unstable();
        banners.dedup();
        banners
            .into_iter()
            .map(|banner| BannerLine {
                banner,
                chosen: is_chosen(banner),
                text: self.word("banner", banner.word()),
            })
            .collect()
    }
}

/// What a crew set itself, and knows.
const fn is_chosen(banner: Banner) -> bool {
    matches!(
        banner,
        Banner::Quiet | Banner::Led | Banner::VoiceOff | Banner::BeatOff
    )
}

/// Whether a prompt's words may stand where the card's question does: the keys below would be taken for answers to them.
/// Where they answer something else, what is said stands among the remarks.
pub(crate) fn stands_for_question(view: &View, prompt: Prompt) -> bool {
    let answered = |act| view.main.first() == Some(&act);
    match view.card {
        Card::Cup => matches!(prompt, Prompt::CupDown | Prompt::CupNow | Prompt::PowerOver),
        Card::Check => answered(Act::HandsOn),
        Card::CheckDue if answered(Act::ShockThrough) => matches!(
            prompt,
            Prompt::Chk30
                | Prompt::Chk15
                | Prompt::Charge
                | Prompt::ChkCd5
                | Prompt::ChkCd4
                | Prompt::ChkCd3
                | Prompt::ChkCd2
                | Prompt::ChkCd1
                | Prompt::ChkNow
                | Prompt::ChkOver
        ),
        // What can be done there answers nothing, or the words themselves ask for it.
        Card::CheckDue
        | Card::Before
        | Card::HandRatio
        | Card::HandContinuous
        | Card::Fitting
        | Card::DeviceRatio
        | Card::DeviceContinuous
        | Card::Moving
        | Card::HandsOff
        | Card::FitPause
        | Card::Reseating
        | Card::Power
        | Card::PowerLate
        | Card::Stopped
        | Card::FirstBreaths
        | Card::Pulse
        | Card::Unknown
        | Card::Ended => true,
    }
}

/// Whether the words of a prompt stand on the screen alone, as far as the screen knows.
fn is_unspoken(view: &View, house: &[Banner]) -> bool {
    house.iter().chain(&view.banners).any(|banner| {
        matches!(
            banner,
            Banner::NoSound
                | Banner::Call
                | Banner::Muted
                | Banner::Taken
                | Banner::Quiet
                | Banner::VoiceOff
        )
    })
}

const fn is_class(act: Act) -> bool {
    matches!(
        act,
        Act::ClassAdult | Act::ClassChild | Act::ClassInfant | Act::ClassNewborn
    )
}

fn figure_label(view: &View) -> Fixed {
    match view.figure {
        Figure::Count => Fixed::FigureCount,
        Figure::Down { .. } => Fixed::FigureUntil,
        Figure::Up { .. } if view.state == StateWord::HandsOff => Fixed::FigureOff,
        Figure::Up { .. } | Figure::None => Fixed::FigureSince,
    }
}

#[cfg(test)]
mod tests;
