//! Drugs, lines, procedures.

use super::{Line, State, When, long};
use crate::{
    mark::{CareMark, ProcedureAct, ProcedureWhat, Reason},
    protocol::{DrugDue, Protocol},
    rules::drugs,
};

impl State {
    pub(super) fn care_mark(&mut self, p: &Protocol, when: When, mark: &CareMark) {
        match mark {
            CareMark::Drug { drug, prior, .. } => {
                let at = long(when.at);
                let early = p.drug(drug).is_some_and(|rule| match rule.due {
                    DrugDue::Interval { min, .. } => {
                        let last = self.doses_of(drug).and_then(|d| d.last);
                        let min = drugs::stretched(p, self, min);
                        last.is_some_and(|last| at.saturating_sub(last) < long(min))
                    }
                    DrugDue::Shocks(_) => false,
                });
                self.dose(drug, 1, Some(at), early && !prior);
                if let Some(known) = self.doses.iter_mut().find(|d| d.key == *drug) {
                    known.ours = known.ours.max(Some(at));
                }
            }
            CareMark::Access { success, .. } => {
                if *success != Some(false) {
                    self.lines_in = self.lines_in.saturating_add(1);
                }
            }
            CareMark::Procedure { act, what } => {
                self.procedure = match act {
                    ProcedureAct::Begin => Some((*what, when.at)),
                    ProcedureAct::End => None,
                };
                if *act == ProcedureAct::Begin && self.line == Line::HandsOff(Reason::Unknown) {
                    self.line = Line::HandsOff(match what {
                        ProcedureWhat::Ultrasound => Reason::Ultrasound,
                        ProcedureWhat::Decompression | ProcedureWhat::Other => Reason::Procedure,
                    });
                }
            }
            CareMark::Awake { on } => self.awake = on.then_some(when.at),
        }
    }
}
