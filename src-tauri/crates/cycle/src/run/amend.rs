//! Amendments of a run that goes on: undo, a mark taken away, a mark put earlier.

use alloc::{string::ToString, vec::Vec};

use super::Run;
use crate::{
    Ms,
    fact::{Amend, AmendOp, AmendReason, Deed, Fact, Seq, Source},
    mark::{Mark, RunMark},
};

impl Run {
    pub(super) fn undo(&mut self, now: Ms) {
        for target in self.story.last_act() {
            let (op, reason) = (AmendOp::Retract, AmendReason::MisTap);
            self.amend(now, Amend::of(target, op, reason));
        }
    }

    pub(super) fn remove(&mut self, now: Ms, seq: Seq) {
        let act = self.story.act_of(seq);
        if act.is_empty() {
            self.refuse_amend(now);
        }
        for target in act {
            let (op, reason) = (AmendOp::Retract, AmendReason::MisTap);
            self.amend(now, Amend::of(target, op, reason));
        }
    }

    pub(super) fn earlier(&mut self, now: Ms, seq: Seq, by: Ms) {
        let act = self.story.act_of(seq);
        if act.is_empty() {
            self.refuse_amend(now);
        }
        let marks: Vec<(Seq, Ms, Ms)> = act
            .iter()
            .filter_map(|target| {
                let (at, mark) = self.story.find(*target)?;
                let room = at.since(self.story.earliest(mark, (at, *target), &act));
                Some((*target, at, room))
            })
            .collect();
        // A shock and its resume stay together: none goes further than the one with least room.
        let by = marks.iter().fold(by, |by, (_, _, room)| by.min(*room));
        for (target, at, _) in marks {
            let op = AmendOp::Retime {
                at_ms: at.minus(by),
            };
            let reason = AmendReason::LateEntry;
            self.amend(now, Amend::of(target, op, reason));
        }
    }

    /// An amendment as it can stand: no mark of the state line is moved across the one before it, nor
    /// into the future.
    fn clamped(&self, now: Ms, mut amend: Amend) -> Amend {
        if let AmendOp::Retime { at_ms } = &mut amend.op
            && let Some((at, mark)) = self.story.find(amend.target)
        {
            let touch = self.story.act_of(amend.target);
            let earliest = self.story.earliest(mark, (at, amend.target), &touch);
            *at_ms = (*at_ms).max(earliest).min(now);
        }
        amend
    }

    pub(super) fn amend(&mut self, now: Ms, amend: Amend) {
        if self.story.stands(amend.target) && (self.is_live() || self.undoes_the_end(&amend)) {
            let amend = self.clamped(now, amend);
            self.write(now, now, Source::Button, Fact::Amend(amend));
        } else {
            self.refuse_amend(now);
        }
    }

    /// An end by mistake is taken back like any other mark; of a run that is over nothing else is.
    fn undoes_the_end(&self, amend: &Amend) -> bool {
        matches!(amend.op, AmendOp::Retract)
            && self
                .story
                .find(amend.target)
                .is_some_and(|(_, mark)| matches!(mark, Mark::Run(RunMark::End { .. })))
    }

    fn refuse_amend(&mut self, now: Ms) {
        let why = "no mark that stands in a live run".to_string();
        let kind = "amend".to_string();
        self.deed(now, Deed::Ignored { kind, why });
    }
}
