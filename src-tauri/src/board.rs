use std::sync::{Arc, Mutex, PoisonError};

use conduct::{DrillSaid, DrillShown, Shown};
use cycle::{Card, Ms, mark::PatientClass};
use listening::{Progress, Sheet};
use tauri::ipc::Channel;
use words::{
    DrillFace, DrillGoing, News, NextSounds, Pulse, PulseKind, Receipt, RecordLine, SaidLine,
    Screen, Words,
};

/// The last screen and the page that it goes to. Shared by the conductor's thread and the page's.
#[derive(Clone, Default)]
pub(crate) struct Board(Arc<Mutex<Slots>>);

#[derive(Default)]
struct Slots {
    page: Option<Channel<News>>,
    last: Option<Screen>,
    /// Of the listening test that is over.
    sheet: Option<Sheet>,
    /// The phone is locked.
    is_locked: bool,
    /// Why nothing is heard, if that is so.
    silent: Option<String>,
    /// The language of what is shown.
    lang: String,
}

impl Board {
    /// Sends what is shown to the page and keeps it for a page that comes later; `words` are the screen's and the
    /// voice's.
    /// `gone` is the id of a protocol that was chosen and cannot be had.
    pub(crate) fn show(&self, words: (&Words, &Words), shown: &Shown, gone: Option<&str>) {
        let mut screen = screen(words, shown);
        let (words, _) = words;
        if shown.voice != shown.lang {
            screen.faults.push(words.other_voice(&shown.voice));
        }
        screen.faults.extend(gone.map(|id| words.own_gone(id)));
        let mut slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let news = match &slots.last {
            Some(last) if is_but_the_beat(last, &screen) => News::Beat(NextSounds {
                now: screen.now,
                pulses: screen.pulses.clone(),
            }),
            Some(_) | None => News::Screen(Box::new(screen.clone())),
        };
        deliver(&mut slots.page, news);
        slots.is_locked = shown.is_locked;
        slots.silent.clone_from(&shown.silent);
        shown.lang.clone_into(&mut slots.lang);
        slots.sheet = match &shown.listening {
            Some(Progress::Done(sheet)) => Some(Sheet::clone(sheet)),
            Some(_) | None => None,
        };
        slots.last = Some(screen);
    }

    /// The language of what is shown; empty before anything is.
    pub(crate) fn lang(&self) -> String {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        slots.lang.clone()
    }

    /// Whether a run goes on, or one that is over is still shown.
    pub(crate) fn has_run(&self) -> bool {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let last = slots.last.as_ref();
        last.is_some_and(|screen| screen.face.card != Card::Before)
    }

    /// Whether a run goes on.
    pub(crate) fn is_live(&self) -> bool {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let card = slots.last.as_ref().map(|screen| screen.face.card);
        card.is_some_and(|card| card != Card::Before && card != Card::Ended)
    }

    /// Whether the phone is locked: what is kept stays out of sight.
    pub(crate) fn is_locked(&self) -> bool {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        slots.is_locked
    }

    /// Why nothing is heard, if that is so; empty where nothing is known of it.
    pub(crate) fn silent(&self) -> Option<String> {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        slots.silent.clone()
    }

    /// The colours in force.
    pub(crate) fn theme(&self) -> after::Theme {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        match slots.last.as_ref().map(|screen| screen.theme.as_str()) {
            Some("glare") => after::Theme::Glare,
            Some("night") => after::Theme::Night,
            Some(_) | None => after::Theme::Day,
        }
    }

    /// Whose numbers are on the start card, if that is what is shown.
    pub(crate) fn class(&self) -> Option<PatientClass> {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let face = &slots.last.as_ref()?.face;
        (face.card == Card::Before).then_some(face.class)
    }

    /// The record of the run that is not put away yet.
    pub(crate) fn record(&self) -> Option<String> {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let record = slots.last.as_ref()?.record.as_ref()?;
        Some(record.id.clone())
    }

    /// The sheet of the listening test that is over.
    pub(crate) fn sheet(&self) -> Option<Sheet> {
        let slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        slots.sheet.clone()
    }

    /// Tells the page why something that it asked for a while ago was not done. In a run nobody asked for it just now.
    pub(crate) fn refuse(&self, words: &Words, why: &str) {
        let text = words.fault(why);
        let mut slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let card = slots.last.as_ref().map(|screen| screen.face.card);
        if matches!(card, Some(Card::Before | Card::Ended)) {
            deliver(&mut slots.page, News::Refused { text });
        }
    }

    /// The page is gone: nothing is sent to it any more, not even while its window still closes.
    pub(crate) fn leave(&self) {
        let mut slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        slots.page = None;
    }

    /// Takes a page's channel in place of an earlier one and sends the current screen at once.
    pub(crate) fn subscribe(&self, page: Channel<News>) {
        let mut slots = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        slots.page = Some(page);
        let Slots { page, last, .. } = &mut *slots;
        if let Some(screen) = last {
            deliver(page, News::Screen(Box::new(screen.clone())));
        }
    }
}

/// A page that is gone takes no more: the channel is let go.
fn deliver(page: &mut Option<Channel<News>>, news: News) {
    if page
        .as_ref()
        .is_some_and(|channel| channel.send(news).is_err())
    {
        *page = None;
    }
}

/// Whether nothing has changed but the next sounds and the time.
fn is_but_the_beat(last: &Screen, screen: &Screen) -> bool {
    let Screen {
        face,
        theme,
        now: _,
        receipt,
        pulses: _,
        faults,
        protocol,
        record,
        listening,
        drill,
    } = screen;
    (
        face, theme, receipt, faults, protocol, record, listening, drill,
    ) == (
        &last.face,
        &last.theme,
        &last.receipt,
        &last.faults,
        &last.protocol,
        &last.record,
        &last.listening,
        &last.drill,
    )
}

fn screen((words, spoken): (&Words, &Words), shown: &Shown) -> Screen {
    let mut face = words.face(&shown.view, &shown.banners);
    // What the crew is told in a drill stands where a prompt's words would.
    if let Some((told, at)) = shown
        .drill
        .as_ref()
        .and_then(|drill| last_told(words, drill))
        && face.said.as_ref().is_none_or(|said| said.at <= at)
    {
        // The instructor reads it out, and nothing is pressed for it.
        face.said = Some(SaidLine {
            text: told,
            at,
            alert: false,
            beside: false,
        });
    }
    Screen {
        face,
        theme: shown.colours.word().to_owned(),
        now: shown.now,
        receipt: shown.last_act.map(|act| Receipt {
            seq: act.seq.0,
            at: act.at,
            kept: shown.kept_through.is_some_and(|through| act.seq <= through),
            taken: act.taken,
            waiting_ms: shown.waiting_ms,
        }),
        pulses: shown
            .pulses
            .iter()
            .map(|pulse| Pulse {
                at: pulse.at,
                kind: match pulse.kind {
                    beat::Kind::BeatFirst => PulseKind::BeatFirst,
                    beat::Kind::Beat => PulseKind::Beat,
                    beat::Kind::BeatLast => PulseKind::BeatLast,
                    beat::Kind::Breath => PulseKind::Breath,
                },
                n: pulse.n,
            })
            .collect(),
        faults: shown.faults.iter().map(|it| words.fault(it)).collect(),
        protocol: words.protocol_name(&shown.protocol, shown.is_example),
        record: shown.record.as_ref().map(|record| RecordLine {
            id: record.id.clone(),
            is_kept: record.is_kept,
            text: words.record_kept(record.is_kept),
        }),
        listening: shown
            .listening
            .as_ref()
            .map(|progress| words.listening(progress, spoken)),
        drill: shown.drill.as_ref().map(|drill| drill_face(words, drill)),
    }
}

fn last_told(words: &Words, drill: &DrillShown) -> Option<(String, Ms)> {
    let (said, at) = drill.live.as_ref()?.last?;
    let text = match said {
        DrillSaid::Cue(cue) => words.drill_said(&drill.scenario, drill.seed, cue),
        DrillSaid::Event(kind) => words.drill_event(kind),
    };
    Some((text, at))
}

fn drill_face(words: &Words, drill: &DrillShown) -> DrillFace {
    let going = drill.live.as_ref().map(|live| DrillGoing {
        told: &live.told,
        next: live.next.map(|(cue, _)| cue),
        by_hand: live.by_hand,
        ticked: &live.ticked,
        is_noisy: live.is_noisy,
        stopped: live.stopped,
    });
    words.drill_face(&drill.scenario, drill.seed, going)
}
