//! A drill on the card and in the instructor's corner.

use ::drill::{CueKind, Scenario};
use cycle::Ms;

use super::{DrillFace, DrillGoing, DrillKey, DrillStop, DrillWord};
use crate::Words;

impl Words {
    /// A drill that is chosen, or goes on.
    pub fn drill_face(
        &self,
        scenario: &Scenario,
        seed: u32,
        going: Option<DrillGoing<'_>>,
    ) -> DrillFace {
        let word = |word| self.drill(word, &[]);
        let say = |cue: usize| {
            scenario
                .cue(cue, seed)
                .map_or("", |(_, say)| say.of(self.lang()))
        };
        let next = going.and_then(|going| going.next);
        let untold = |cue: &usize| going.is_some_and(|going| going.told.get(*cue) == Some(&false));
        let by_hand = going.is_some_and(|going| going.by_hand);
        DrillFace {
            title: self.drill_name(scenario),
            begin: going.is_none().then(|| self.drill_begin(scenario)),
            variation: self.drill_variation(seed),
            instructor: word(DrillWord::Instructor),
            next: next.map_or_else(
                || word(DrillWord::NoNext),
                |cue| self.drill(DrillWord::Next, &[say(cue)]),
            ),
            tell: next.is_some().then(|| word(DrillWord::TellNow)),
            by_hand,
            by_hand_key: word(if by_hand {
                DrillWord::ByClock
            } else {
                DrillWord::ByHand
            }),
            stop: word(DrillWord::Stop),
            stopped: going.and_then(|going| going.stopped).map(|at| DrillStop {
                at,
                title: self.drill(DrillWord::Stopped, &[&clock(at)]),
                note: word(DrillWord::StoppedNote),
                go_on: word(DrillWord::GoOn),
                again: word(DrillWord::Again),
                end: word(DrillWord::End),
            }),
            events: (CueKind::EVENTS.iter())
                .map(|kind| DrillKey {
                    id: kind.word().to_owned(),
                    label: self.drill(DrillWord::Injected, &[&self.drill_kind(*kind)]),
                    on: false,
                })
                .collect(),
            quiet: (going.is_some_and(|going| going.is_noisy)).then(|| word(DrillWord::Quiet)),
            cues: (0..scenario.cues.len())
                .filter(untold)
                .filter_map(|cue| {
                    let rule = scenario.cues.get(cue)?;
                    let (kind, _) = scenario.cue(cue, seed)?;
                    // What is only said is told by its own words.
                    let label = match kind {
                        CueKind::Say | CueKind::Rhythm => say(cue).to_owned(),
                        CueKind::DeviceStops
                        | CueKind::CupSlips
                        | CueKind::PackLow
                        | CueKind::TooLarge
                        | CueKind::AirwayPlaced
                        | CueKind::Noise => self.drill_kind(kind),
                    };
                    let (id, on) = (rule.id.clone(), false);
                    Some(DrillKey { id, label, on })
                })
                .collect(),
            items: (scenario.checklist.iter())
                .map(|item| DrillKey {
                    id: item.word().to_owned(),
                    label: self.drill_item(*item),
                    on: going.is_some_and(|going| going.ticked.contains(item)),
                })
                .collect(),
            again: word(DrillWord::Again),
            sheet: word(DrillWord::SheetKey),
            leave: word(DrillWord::Leave),
            real_patient: word(DrillWord::RealPatient),
        }
    }

    /// What a cue says, for the card.
    pub fn drill_said(&self, scenario: &Scenario, seed: u32, cue: usize) -> String {
        let say = scenario
            .cue(cue, seed)
            .map_or("", |(_, say)| say.of(self.lang()));
        say.to_owned()
    }

    /// What an event that the instructor injects says, for the card.
    pub fn drill_event(&self, kind: CueKind) -> String {
        let said = self.word("drill_event", kind.word());
        self.drill(DrillWord::Injected, &[&said])
    }
}

/// Minutes and seconds of the run.
pub(super) fn clock(at: Ms) -> String {
    let s = at.0.checked_div(1000).unwrap_or(0);
    format!("{}:{:02}", s.div_euclid(60), s.rem_euclid(60))
}
