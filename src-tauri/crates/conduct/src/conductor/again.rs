//! Pause, look, again: a drill is stopped anywhere, looked at together, and gone through again from ten seconds
//! before, or on to its end.

use std::{io, sync::Arc, thread};

use ::drill::{Scenario, told_until};
use cycle::{
    Act, Entry, Input, Ms, Run,
    fact::{DrillLine, DrillWord, Way},
};
use record::{Chain, Opened, RunKind};
use tokio::sync::mpsc;

use super::{Conductor, Live, drill::Drilling, kept::Nowhere};
use crate::{
    Clock, Heads, House, Order, RunClock, Stage, Store, Touch,
    clock::{WallWatch, uptime_ms},
    house::house_now,
    past,
};

/// Gone through again, a drill begins so long before it was stopped. Own.
const BACK: Ms = Ms(10_000);

/// The record of a drill that is to go on.
#[derive(Debug)]
pub(super) struct Reread {
    id: String,
    /// Up to when the next try is the same.
    cut: Ms,
    opened: Result<Opened, String>,
}

impl Live {
    /// It is a drill that was stopped.
    fn is_stopped(&self) -> bool {
        let drill = self.drill.as_ref();
        drill.is_some_and(|drill| drill.stopped.is_some())
    }

    /// Whether a run goes on that sounds, or will; one that was stopped is silent.
    pub(super) fn may_sound(&self) -> bool {
        self.stage.is_live() && !self.stage.is_sealed()
    }
}

impl Conductor {
    /// Stops the drill where it is. Its record is closed there: whatever becomes of it while the crew talks, this
    /// try is kept, and no touch marks anything.
    pub(super) fn stop(&mut self) {
        let live = self.live.as_mut().filter(|live| live.stage.is_live());
        let Some(live) = live.filter(|live| live.drill.is_some() && !live.is_stopped()) else {
            return;
        };
        let now = live.clock.now().max(live.last);
        live.last = now;
        if let Some(drill) = &mut live.drill {
            drill.stopped = Some(now);
        }
        // The noise ends in the record before it is closed.
        self.tend_noise();
        let Some(live) = &mut self.live else { return };
        let speaker = self.parts.speaker.as_mut();
        let stopped = Input::Drill(DrillLine::of(DrillWord::Stopped));
        live.stage.step(speaker, now, stopped);
        live.stage.seal(now);
        speaker.order(house_now(uptime_ms()), Order::Rest);
    }

    /// A drill that was stopped is put away as it is; the start card takes its place.
    pub(super) fn leave_stopped(&mut self) {
        if let Some(live) = self.live.take_if(|live| live.is_stopped()) {
            self.part_with(live);
        }
    }

    /// A patient goes first: a drill that goes on is stopped where it is and put away, a drill for ever, without an end.
    pub(super) fn leave_drill(&mut self) {
        self.stop();
        self.leave_stopped();
        // Its scenario may be of another version: then all that is known of it is that it is a drill.
        let is_drill = |live: &mut Live| live.may_sound() && live.stage.run().drill().is_some();
        if let Some(mut live) = self.live.take_if(is_drill) {
            live.stage.seal(live.last);
            let speaker = self.parts.speaker.as_mut();
            speaker.order(house_now(uptime_ms()), Order::Rest);
            self.part_with(live);
        }
    }

    /// There is a patient: the drill is over, and a run begins that is none, from the moment the finger went down.
    pub(super) fn real_patient(&mut self, touch: Touch, at_ms: u64) {
        let dated = self.page.date(touch, at_ms);
        self.no_drill();
        self.leave_drill();
        self.put_away();
        // In a run it is nothing new.
        if self.live.is_none() {
            self.start(Act::StartByHand, Way::Hand, (dated.down, dated.taken));
        }
    }

    /// A drill that was stopped goes on from there: all its lines, and what follows.
    pub(super) fn go_on(&mut self) {
        if self.live.as_ref().is_some_and(Live::is_stopped) {
            self.from(Ms::ZERO);
        }
    }

    /// Goes through the last ten seconds again.
    pub(super) fn again(&mut self) {
        self.from(BACK);
    }

    /// Does on a thread of its own what waits for the disk: a slow one must delay no start.
    pub(super) fn apart(
        &mut self,
        name: &str,
        work: impl FnOnce() + Send + 'static,
    ) -> io::Result<()> {
        let begun = thread::Builder::new().name(name.to_owned()).spawn(work)?;
        self.closing.retain(|before| !before.is_finished());
        self.closing.push(begun);
        Ok(())
    }

    /// Stops the drill, if it was not, and has its record read, to go on from so long before. Until then it stays
    /// stopped, and whoever starts goes before it.
    fn from(&mut self, back: Ms) {
        let is_awaited = !self.reread.is_closed();
        let Some(id) = self.showing.record_id().filter(|_| !is_awaited) else {
            return;
        };
        let id = id.to_owned();
        self.stop();
        let live = self.live.as_mut().filter(|live| live.drill.is_some());
        let Some(live) = live else { return };
        let stopped = live.drill.as_ref().and_then(|drill| drill.stopped);
        let cut = stopped.or(live.ended).unwrap_or(live.last).minus(back);
        live.stage.seal(live.last);
        let keeper = live.stage.let_go(Box::new(Nowhere));
        let (to_us, reread) = mpsc::unbounded_channel();
        self.reread = reread;
        let (store, of) = (self.store.clone(), id.clone());
        let begun = self.apart("record-again", move || {
            // All of it is written then.
            drop(keeper);
            let bytes = store.read(&of).map_err(|e| e.to_string());
            let opened = bytes.and_then(|bytes| record::open(&bytes).map_err(|e| e.to_string()));
            let id = of;
            // A start came meanwhile where nobody listens any more.
            drop(to_us.send(Reread { id, cut, opened }));
        });
        if let Err(error) = begun {
            let opened = Err(format!("no thread to read it: {error}"));
            self.go_from(Reread { id, cut, opened });
        }
    }

    /// Goes on from so far: another record, the same as the first up to then, line by line, and the state is folded
    /// from those. The first try stays as it is.
    pub(super) fn go_from(&mut self, Reread { id, cut, opened }: Reread) {
        let Some(live) = self.live.take_if(|live| live.drill.is_some()) else {
            return;
        };
        let again = opened.and_then(|opened| {
            let drill = live.drill.as_ref().ok_or_else(String::new)?;
            self.go_again(&id, &opened, drill, cut)
        });
        if let Err(why) = again {
            self.part_with(live);
            self.showing.lasting(format!("{id}: {why}"));
        }
    }

    fn go_again(
        &mut self,
        id: &str,
        first: &Opened,
        before: &Drilling,
        cut: Ms,
    ) -> Result<(), String> {
        let kept: Vec<Entry> = first
            .entries
            .iter()
            .take_while(|entry| entry.taken <= cut)
            .cloned()
            .collect();
        let setup = past::setup(first).map_err(|e| e.to_string())?;
        let clock: Arc<dyn Clock> = Arc::new(RunClock::begin(cut));
        let heads = Heads {
            kind: RunKind::Drill,
            record_id: uuid::Uuid::new_v4().to_string(),
            scenario: first.header.scenario.clone(),
            unit_code: first.header.unit_code.clone(),
            ..self.parts.heads.clone()
        };
        let stamp = clock.stamp(Ms::ZERO, 0);
        let (mut chain, mut opening) = heads.open(&setup, &stamp).map_err(|e| e.to_string())?;
        opening.extend(lines(&mut chain, clock.as_ref(), &kept)?);
        let run = Run::replay(setup, &kept).map_err(|e| e.to_string())?;
        self.showing.begin(run.setup(), heads.record_id.clone());
        let keeper = self.keeper(heads.record_id, true, &opening);
        let house = House::of(clock.as_ref());
        let mut stage = Stage::resumed(run, chain, Arc::clone(&clock), house, keeper, 0);
        // What was ticked and told up to there, by the clock or by hand, is ticked and told here as well.
        let told = told_until(first, cut);
        let scenario: Arc<Scenario> = Arc::clone(before.beside.scenario());
        let unit = first.header.unit_code.as_deref();
        let mut drill = Drilling::gone(scenario, &told, unit);
        drill.beside.by_hand(before.beside.is_by_hand());
        let now = clock.now().max(cut);
        let line = DrillLine {
            of: Some(id.to_owned()),
            from_ms: Some(cut),
            ..DrillLine::of(DrillWord::Again)
        };
        let speaker = self.parts.speaker.as_mut();
        stage.sound_again(speaker, now);
        stage.step(speaker, now, Input::Drill(line));
        drill.beside.look(stage.run());
        self.live = Some(Live {
            stage,
            clock,
            last: now,
            ended: None,
            wall: WallWatch::default(),
            drill: Some(drill),
        });
        self.tell_known(Ms(uptime_ms()));
        self.tend_noise();
        Ok(())
    }
}

/// The lines of a first try, as the second try's own.
fn lines(chain: &mut Chain, clock: &dyn Clock, entries: &[Entry]) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    for entry in entries {
        let stamp = clock.stamp(entry.taken, 0);
        bytes.extend(record::encode(chain, &stamp, entry).map_err(|e| e.to_string())?);
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests;
