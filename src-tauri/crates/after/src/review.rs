//! The review: what its marks are and what waits for a finger, and what a change comes to.

use cycle::{
    Act, Mark, Ms, Seq, Setup,
    fact::{AmendOp, AmendReason, Source},
    mark::{CareMark, ClockRef, FlowMark, RunMark, SetState, kind_of},
};
use record::review::{Amending, Marked, View};
use words::{
    Asks, Change, ClockKey, GapRow, GroupWord, KindKey, MarkRow, Review, SaidWord as S, SetKey,
};

use crate::seen::{Seen, of_day};

/// How exact a clock is that shows seconds, and one that shows none, s.
const CLOCK_S: u16 = 1;
const CLOCK_NO_SECONDS_S: u16 = 60;

/// A mark that a review can make, and its key.
#[derive(Clone, Debug)]
pub(crate) struct Kind {
    pub(crate) mark: Mark,
    key: KindKey,
}

/// Marks that a key makes, one by one; the service's other drugs stand among the drugs. What answers the
/// app, begins a run or ends it is not among them, and a pause's reason is said of the pause.
pub(crate) fn kinds(seen: &Seen<'_>, setup: &Setup) -> Vec<Kind> {
    let drugs = Seen::drugs(setup);
    let mut out: Vec<Kind> = Vec::new();
    // A mark whose words are another's as well has those of its key.
    let mut add = |mark: Mark, (said, other): (String, String), group: GroupWord| {
        if out.iter().all(|known| known.mark != mark) {
            let group = seen.words.group_name(group);
            let label = if out.iter().any(|known| known.key.label == said) {
                other
            } else {
                said
            };
            out.push(Kind {
                mark,
                key: KindKey { label, group },
            });
        }
    };
    for act in Act::ALL {
        let marks = act.marks();
        let [mark] = marks.as_slice() else { continue };
        let group = GroupWord::of(*act);
        if act.way().is_none() && can_be_made(mark) && group != GroupWord::Why {
            let said = seen.words.mark_text(mark, &drugs);
            add(mark.clone(), (said, seen.words.act_name(*act)), group);
        }
    }
    for (drug, name) in &drugs {
        let mark = Mark::Care(CareMark::Drug {
            drug: drug.clone(),
            dose: None,
            unit: None,
            route: None,
            prior: false,
            by_other_unit: false,
        });
        add(mark, (name.clone(), drug.clone()), GroupWord::Care);
    }
    out
}

fn can_be_made(mark: &Mark) -> bool {
    !matches!(
        mark,
        Mark::Run(
            RunMark::Flag {}
                | RunMark::Ack { .. }
                | RunMark::Sound { .. }
                | RunMark::Resume { .. }
                | RunMark::End { .. }
        )
    )
}

impl Seen<'_> {
    pub(crate) fn review(&self, setup: &Setup, view: &View, refused: Option<String>) -> Review {
        let words = self.words;
        let kinds = kinds(self, setup);
        let drugs = Seen::drugs(setup);
        let rev = view.revision.rev.to_string();
        let revision = if view.revision.unsealed == 0 {
            words.said(S::Revision, &[&rev])
        } else {
            words.said(
                S::RevisionOpen,
                &[&rev, &view.revision.unsealed.to_string()],
            )
        };
        let last = refused.is_none().then(|| self.last(view, &drugs)).flatten();
        Review {
            id: self.opened.header.record_id.clone(),
            title: words.after_labels().review,
            revision,
            refused,
            gaps: view
                .gaps
                .iter()
                .map(|gap| GapRow {
                    at: gap.from,
                    text: words.said(S::Gap, &[&chart::clock(gap.from), &chart::clock(gap.to)]),
                })
                .collect(),
            marks: view
                .marks
                .iter()
                .map(|mark| self.row(mark, &kinds, &drugs))
                .collect(),
            kinds: kinds.into_iter().map(|kind| kind.key).collect(),
            states: SetState::ALL
                .iter()
                .filter(|state| **state != SetState::Unknown)
                .map(|state| SetKey {
                    state: *state,
                    label: words.set_name(*state),
                })
                .collect(),
            last,
            unsealed: view.revision.unsealed > 0,
            clocks: ClockRef::ALL
                .iter()
                .map(|clock| ClockKey {
                    clock: *clock,
                    label: words.clock_name(*clock),
                })
                .collect(),
            offsets: self.offsets(),
            end: view.end,
            end_day_s: self.wall(view.end).map_or(0, seconds_of_day),
        }
    }

    fn row(&self, mark: &Marked, kinds: &[Kind], drugs: &[(String, String)]) -> MarkRow {
        let words = self.words;
        let wall = match &mark.recorded {
            Some((at, _)) if *at == mark.at => self.wall_of(mark.seq, mark.at),
            Some(_) | None => self.wall(mark.at),
        };
        MarkRow {
            seq: mark.seq.0,
            at: mark.at,
            when: self.when(wall, mark.at),
            day_s: wall.map_or(0, seconds_of_day),
            text: words.mark_text(&mark.mark, drugs),
            state: self.state(mark, drugs),
            stands: mark.stands,
            asks: if mark.is_nameless {
                Some(Asks::Name)
            } else {
                mark.is_unconfirmed.then_some(Asks::Confirm)
            },
            others: kinds
                .iter()
                .enumerate()
                .filter(|(_, kind)| {
                    mark.stands
                        && record::review::can_replace(&mark.mark, &kind.mark).is_ok()
                        && kind.mark != mark.mark
                })
                .map(|(n, _)| n)
                .collect(),
        }
    }

    fn state(&self, mark: &Marked, drugs: &[(String, String)]) -> Vec<String> {
        let words = self.words;
        let mut out = Vec::new();
        if mark.src == Source::Voice {
            out.push(mark.conf.as_ref().map_or_else(
                || words.said(S::ByVoice, &[]),
                |conf| words.said(S::ByVoiceSure, &[conf]),
            ));
        }
        if !mark.stands {
            out.push(words.said(S::Gone, &[]));
        }
        if mark.is_unconfirmed {
            out.push(words.said(S::ToConfirm, &[]));
        } else if mark.src == Source::Voice && mark.stands {
            out.push(words.said(S::Confirmed, &[]));
        }
        if mark.is_nameless {
            out.push(words.said(S::ToName, &[]));
        }
        match &mark.recorded {
            None => out.push(words.said(S::Added, &[])),
            Some((at, was)) => {
                if *at != mark.at {
                    let clock = self.wall_of(mark.seq, *at).map(of_day);
                    let clock = clock.unwrap_or_else(|| chart::clock(*at));
                    out.push(words.said(S::WasAt, &[&clock]));
                }
                if *was != mark.mark {
                    let was = words.mark_text(was, drugs);
                    out.push(words.said(S::Was, &[&was]));
                }
            }
        }
        out
    }

    /// The change that would be taken back, in words.
    fn last(&self, view: &View, drugs: &[(String, String)]) -> Option<String> {
        let seq = record::review::last_change(self.opened)?;
        let change: &Amending = view.amendments.iter().find(|a| a.seq == seq)?;
        let mark = |seq: Seq| {
            let found = view.marks.iter().find(|mark| mark.seq == seq);
            found.map_or_else(String::new, |mark| {
                let recorded = mark.recorded.as_ref().map(|(_, mark)| mark);
                self.words.mark_text(recorded.unwrap_or(&mark.mark), drugs)
            })
        };
        let target = || mark(change.amend.target);
        Some(match &change.amend.op {
            AmendOp::Retime { .. } => self.words.said(S::LastMoved, &[&target()]),
            AmendOp::Retract => self.words.said(S::LastGone, &[&target()]),
            AmendOp::Confirm => self.words.said(S::LastConfirmed, &[&target()]),
            AmendOp::Replace { new } => {
                let new = self.words.mark_text(new, drugs);
                self.words.said(S::LastReplaced, &[&new])
            }
            AmendOp::Add { new, .. } => {
                let new = self.words.mark_text(new, drugs);
                self.words.said(S::LastAdded, &[&new])
            }
        })
    }

    /// What other clocks showed less what this phone showed then.
    fn offsets(&self) -> Vec<String> {
        let measured = debrief::measures(self.opened, debrief::Basis::Amended);
        let Some(clocks) = measured.map(|m| m.clocks.of).ok() else {
            return Vec::new();
        };
        let of_span = |span: &debrief::ClockSpan| {
            let clock = self.words.clock_name(span.clock);
            if let Some((from, to)) = span.from_ms.zip(span.to_ms) {
                return self
                    .words
                    .said(S::Offset, &[&clock, &self.between(from, to)]);
            }
            let looks = clocks.rows.iter().filter(|row| row.clock == span.clock);
            let looks = looks.filter_map(|row| Some(self.between(row.from_ms?, row.to_ms?)));
            let looks: Vec<String> = looks.collect();
            self.words
                .said(S::ClockMoved, &[&clock, &looks.join(" / ")])
        };
        clocks.spans.iter().map(of_span).collect()
    }

    /// An offset that lies between two, in whole seconds that hold both.
    fn between(&self, from: i64, to: i64) -> String {
        let signed = |s: i64| {
            let sign = if s < 0 { "\u{2212}" } else { "+" };
            format!("{sign}{}", s.unsigned_abs())
        };
        let (from, to) = (
            from.div_euclid(1000),
            to.saturating_add(999).div_euclid(1000),
        );
        let to = self
            .words
            .sheet_with(words::SheetWord::Seconds, &[&signed(to)]);
        let values = [signed(from), to];
        let values: Vec<&str> = values.iter().map(String::as_str).collect();
        self.words.sheet_with(words::SheetWord::FromTo, &values)
    }
}

fn seconds_of_day(wall: record::Wall) -> u64 {
    let text = of_day(wall);
    let mut parts = text.split(':').map(|part| part.parse::<u64>().unwrap_or(0));
    let mut next = || parts.next().unwrap_or(0);
    let (h, m, s) = (next(), next(), next());
    h.saturating_mul(3600)
        .saturating_add(m.saturating_mul(60))
        .saturating_add(s)
}

/// What a change asks of the record: a target, what is done, and why. The screen asks for no reason, so that none is
/// stated but what the act itself tells: what is added after the run is entered late, a clock's reading is of another
/// clock. `None`: it is no amendment of a mark, or points at a kind that there is not.
pub(crate) fn wanted(
    change: &Change,
    kinds: &[Kind],
    view: &View,
    now: Ms,
) -> Option<(Option<Seq>, AmendOp, AmendReason)> {
    let kind = |n: usize| kinds.get(n).map(|kind| kind.mark.clone());
    Some(match change {
        Change::Move { seq, at } => (
            Some(Seq(*seq)),
            AmendOp::Retime { at_ms: *at },
            AmendReason::NotStated,
        ),
        Change::TakeOut { seq } => (Some(Seq(*seq)), AmendOp::Retract, AmendReason::NotStated),
        Change::Confirm { seq } => (Some(Seq(*seq)), AmendOp::Confirm, AmendReason::NotStated),
        Change::Replace { seq, with } => {
            let old = view.marks.iter().find(|mark| mark.seq.0 == *seq);
            let reason = match old {
                // A flag waits for its name.
                Some(old) if kind_of(&old.mark) == "flag" => AmendReason::LateEntry,
                Some(_) | None => AmendReason::NotStated,
            };
            (
                Some(Seq(*seq)),
                AmendOp::Replace { new: kind(*with)? },
                reason,
            )
        }
        Change::Add { what, at } => (
            None,
            AmendOp::Add {
                at_ms: *at,
                new: kind(*what)?,
            },
            AmendReason::LateEntry,
        ),
        Change::Why { at, reason } => (
            None,
            AmendOp::Add {
                at_ms: *at,
                new: Mark::Flow(FlowMark::Why { reason: *reason }),
            },
            AmendReason::LateEntry,
        ),
        Change::WasSo { at, state } => (
            None,
            AmendOp::Add {
                at_ms: *at,
                new: Mark::Flow(FlowMark::StateSet { state: *state }),
            },
            AmendReason::LateEntry,
        ),
        Change::Clock {
            clock,
            shown,
            no_seconds,
            ago,
        } => (
            None,
            AmendOp::Add {
                at_ms: now.since(Ms(*ago)),
                new: Mark::Run(RunMark::ClockMark {
                    clock: *clock,
                    shown: shown.clone(),
                    precision_s: Some(if *no_seconds {
                        CLOCK_NO_SECONDS_S
                    } else {
                        CLOCK_S
                    }),
                }),
            },
            AmendReason::OtherClock,
        ),
        Change::PutBack { .. } | Change::TakeBack {} | Change::Seal {} => return None,
    })
}
