//! What is shown: the run's view, the house's banners, the ticks of what is kept, the coming sounds.

use cycle::{
    Banner, Colours, Input, LastAct, Mark, Ms, Run, Seq, Setup, Surroundings, View, fact::Source,
};

use listening::Progress;

use crate::{DrillShown, Parts, Pulse, Receipt, RunRecord, Shown, Stage, Voice};

/// The list of coming sounds reaches so far.
const PULSES_AHEAD_MS: u64 = 12_000;
/// It is sent anew this often, and on every change of the view or the score. The web page keeps some 60 kB
/// of each message until it tidies up, so not more often.
const PULSES_EVERY_MS: u64 = 6000;
/// A mark that is not kept after this is shown as waiting.
const WAITING_MS: u64 = 250;

/// What was shown last, and what the store has said.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is said by another part of the house"
)]
#[derive(Debug)]
pub(crate) struct Showing {
    /// A run that has not begun: the start card, with what was chosen on it.
    idle: Run,
    chosen: Vec<Mark>,
    /// What is wrong with the pack.
    pack: Vec<String>,
    /// What stays wrong whatever run is shown: a run that could not be taken up.
    lasting: Vec<String>,
    /// Why nothing is heard, as long as that is so; empty where nothing is known of it.
    silent: Option<String>,
    /// What went wrong since the last run began.
    faults: Vec<String>,
    not_saving: bool,
    disorder: bool,
    kept_through: Option<Seq>,
    waiting_since: Option<(Seq, u64)>,
    last: Option<Shown>,
    pulses_at: u64,
    /// The score of those pulses.
    sounding: Option<beat::Placed>,
    protocol: String,
    is_example: bool,
    record_id: Option<String>,
    /// Why another language or voice is not in force; until one is chosen.
    remarks: Vec<String>,
    lang: String,
    voice: String,
    listening: Option<Progress>,
    drill: Option<DrillShown>,
    is_locked: bool,
    colours: Colours,
}

impl Showing {
    pub(crate) fn new(parts: &Parts) -> Self {
        let setup = &parts.setup;
        Self {
            idle: Run::new(setup.clone()),
            chosen: Vec::new(),
            pack: parts.faults.clone(),
            lasting: parts.other_faults.clone(),
            silent: None,
            faults: Vec::new(),
            not_saving: false,
            disorder: false,
            kept_through: None,
            waiting_since: None,
            last: None,
            pulses_at: 0,
            sounding: None,
            protocol: setup.protocol.name.clone(),
            is_example: setup.protocol.is_example(),
            record_id: None,
            remarks: parts.remarks.clone(),
            lang: parts.heads.lang.clone(),
            voice: parts.heads.pack_id.clone(),
            listening: None,
            drill: None,
            is_locked: false,
            colours: Colours::Day,
        }
    }

    /// Where the listening test stands.
    pub(crate) fn listening(&mut self, progress: Option<Progress>) {
        self.listening = progress;
    }

    /// Why nothing is heard, if that is so.
    pub(crate) fn silent(&mut self, why: Option<String>) {
        self.silent = why;
    }

    /// The drill that is chosen, or goes on.
    pub(crate) fn drill(&mut self, drill: Option<DrillShown>) {
        self.drill = drill;
    }

    /// What bears on the page alone.
    pub(crate) fn phone(&mut self, is_locked: bool, colours: Colours) {
        self.is_locked = is_locked;
        self.colours = colours;
    }

    /// Another language, with what is wrong with its voice.
    pub(crate) fn speak(&mut self, voice: &Voice) {
        voice.lang.clone_into(&mut self.lang);
        voice.pack_id.clone_into(&mut self.voice);
        voice.faults.clone_into(&mut self.pack);
        voice.remarks.clone_into(&mut self.remarks);
    }

    /// A run begins, or is taken up: what the store says from now on is about its record.
    pub(crate) fn begin(&mut self, setup: &Setup, record_id: String) {
        self.clear(setup);
        self.faults.clear();
        self.not_saving = false;
        self.record_id = Some(record_id);
    }

    /// The record of the run that is shown.
    pub(crate) fn record_id(&self) -> Option<&str> {
        self.record_id.as_deref()
    }

    /// The start card again, for another patient. What went wrong stays said until a run begins.
    pub(crate) fn put_away(&mut self, setup: &Setup) {
        self.clear(setup);
    }

    fn clear(&mut self, setup: &Setup) {
        self.idle = Run::new(setup.clone());
        setup.protocol.name.clone_into(&mut self.protocol);
        self.is_example = setup.protocol.is_example();
        self.chosen.clear();
        self.disorder = false;
        self.kept_through = None;
        self.waiting_since = None;
        self.record_id = None;
    }

    /// Other numbers on the start card. What was chosen there besides stays chosen where it can stand.
    pub(crate) fn turn(&mut self, setup: &Setup) {
        self.idle = Run::new(setup.clone());
        setup.protocol.name.clone_into(&mut self.protocol);
        self.is_example = setup.protocol.is_example();
        let chosen = self.take_chosen();
        self.choose(chosen);
    }

    /// Something said on the start card: whose run it will be, and in what situation.
    pub(crate) fn choose(&mut self, marks: Vec<Mark>) {
        for mark in marks {
            if self.idle.check(&mark).is_ok() {
                self.chosen.push(mark.clone());
                let (at, src) = (Ms::ZERO, Source::Button);
                self.idle.handle(Ms::ZERO, Input::Mark { at, mark, src });
                while self.idle.poll().is_some() {}
            }
        }
    }

    /// What was chosen, in order; it belongs to the run that begins now.
    pub(crate) fn take_chosen(&mut self) -> Vec<Mark> {
        std::mem::take(&mut self.chosen)
    }

    pub(crate) fn receipt(&mut self, receipt: Receipt) {
        match receipt {
            Receipt::Saved { through } => {
                self.kept_through = self.kept_through.max(Some(through));
            }
            Receipt::NotSaving { error } => {
                self.not_saving = true;
                self.fault(error.to_string());
            }
        }
    }

    /// The house is in disorder: a fault outside the rules was caught.
    pub(crate) fn disorder(&mut self, what: String) {
        self.disorder = true;
        self.fault(what);
    }

    pub(crate) fn fault(&mut self, what: String) {
        if !self.faults.contains(&what) {
            self.faults.push(what);
        }
    }

    /// What no run to come mends.
    pub(crate) fn lasting(&mut self, what: String) {
        if !self.lasting.contains(&what) {
            self.lasting.push(what);
        }
    }

    /// Milliseconds until something has to be shown by itself.
    pub(crate) fn wake_in_ms(&self, mono_ms: u64) -> u64 {
        self.waiting_since.map_or(u64::MAX, |(_, since)| {
            since
                .saturating_add(WAITING_MS)
                .saturating_sub(mono_ms)
                .max(10)
        })
    }

    pub(crate) fn idle(
        &mut self,
        sound_lost: bool,
        around: Surroundings,
        mono_ms: u64,
    ) -> Option<Shown> {
        // A run that begins turns the volume up where it may.
        let mut banners = Surroundings {
            volume_pct: 100,
            ..around
        }
        .banners(false);
        if sound_lost {
            banners.push(Banner::NoSound);
        }
        // The next start is a drill: that stands on the start card.
        if self.drill.is_some() {
            banners.push(Banner::Drill);
        }
        self.send(
            self.idle.view(Ms::ZERO),
            banners,
            (Ms::ZERO, None),
            (Vec::new(), false),
            mono_ms,
        )
    }

    pub(crate) fn run(&mut self, stage: &mut Stage, now: Ms, mono_ms: u64) -> Option<Shown> {
        let mut view = stage.view(now);
        view.undo &= !stage.is_sealed();
        let mut banners = Vec::new();
        if stage.is_bare() {
            banners.push(Banner::PromptsStopped);
        }
        let last_act = stage.last_act();
        if let Some(LastAct { seq, .. }) = last_act {
            if self.kept_through >= Some(seq) {
                self.waiting_since = None;
            } else if self.waiting_since.is_none_or(|(known, _)| known != seq) {
                self.waiting_since = Some((seq, mono_ms));
            }
        }
        let sounding = stage.run().sounding().filter(|_| stage.is_live());
        let pulses = sounding.map_or_else(Vec::new, |placed| pulses(&placed, now));
        // Sounds that were foretold and will not come are taken back at once.
        let is_other = self.sounding != sounding;
        self.sounding = sounding;
        self.send(view, banners, (now, last_act), (pulses, is_other), mono_ms)
    }

    fn send(
        &mut self,
        view: View,
        mut banners: Vec<Banner>,
        (now, last_act): (Ms, Option<LastAct>),
        (pulses, is_other): (Vec<Pulse>, bool),
        mono_ms: u64,
    ) -> Option<Shown> {
        if self.not_saving {
            banners.push(Banner::NotSaving);
        }
        if !self.pack.is_empty() {
            banners.push(Banner::PackDamaged);
        }
        if self.disorder && !banners.contains(&Banner::PromptsStopped) {
            banners.push(Banner::PromptsStopped);
        }
        banners.sort_unstable();
        let waited = self
            .waiting_since
            .map_or(0, |(_, since)| mono_ms.saturating_sub(since));
        let why = self.silent.as_slice();
        let why = if why == [""] { &[] } else { why };
        let shown = Shown {
            view,
            banners,
            now,
            last_act,
            kept_through: self.kept_through,
            // Told in one step: the page shows "saving" or it does not.
            waiting_ms: if waited >= WAITING_MS { WAITING_MS } else { 0 },
            pulses,
            faults: once_each([why, &self.pack, &self.remarks, &self.lasting, &self.faults]),
            silent: self.silent.clone(),
            protocol: self.protocol.clone(),
            is_example: self.is_example,
            record: self.record_id.clone().map(|id| RunRecord {
                id,
                is_kept: !self.not_saving,
            }),
            lang: self.lang.clone(),
            voice: self.voice.clone(),
            is_locked: self.is_locked,
            colours: self.colours,
            listening: self.listening.clone(),
            drill: self.drill.clone(),
        };
        let is_due = mono_ms.saturating_sub(self.pulses_at) >= PULSES_EVERY_MS;
        let stale = is_other || (is_due && !shown.pulses.is_empty());
        let changed = self.last.as_ref().is_none_or(|last| {
            (
                &last.view,
                &last.banners,
                last.last_act,
                last.waiting_ms,
                &last.faults,
                (&last.protocol, last.is_example, &last.record),
                (&last.lang, &last.voice, &last.listening, &last.drill),
                (last.is_locked, last.colours, &last.silent),
            ) != (
                &shown.view,
                &shown.banners,
                shown.last_act,
                shown.waiting_ms,
                &shown.faults,
                (&shown.protocol, shown.is_example, &shown.record),
                (&shown.lang, &shown.voice, &shown.listening, &shown.drill),
                (shown.is_locked, shown.colours, &shown.silent),
            ) || kept(last) != kept(&shown)
        });
        (changed || stale).then(|| {
            self.pulses_at = mono_ms;
            self.last = Some(shown.clone());
            shown
        })
    }
}

/// What is wrong, each thing once: two steps that fail on one folder say the same.
fn once_each(lists: [&[String]; 5]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for fault in lists.into_iter().flatten() {
        if !all.contains(fault) {
            all.push(fault.clone());
        }
    }
    all
}

/// Whether the last mark is kept: the only thing of the ticks that is seen.
fn kept(shown: &Shown) -> bool {
    shown
        .last_act
        .is_some_and(|act| shown.kept_through >= Some(act.seq))
}

fn pulses(placed: &beat::Placed, now: Ms) -> Vec<Pulse> {
    let until = now.0.saturating_add(PULSES_AHEAD_MS);
    let first = placed.first(now.0, 1000);
    std::iter::successors(first, |s| placed.after(*s, 1000))
        .take_while(|s| s.at < until)
        .map(|s| Pulse {
            at: Ms(s.at),
            kind: s.kind,
            n: s.n,
        })
        .collect()
}
