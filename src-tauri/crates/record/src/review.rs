//! The review of a run that is over: what its marks are, as recorded and as amended, and which
//! amendments can be.

use std::{collections::BTreeSet, fmt};

use cycle::{
    Entry, Fact, Line, Mark, Ms, Seq, Setup,
    amendments::{Folded, fold},
    fact::{Amend, AmendOp, AmendReason, ByRole, Source},
    mark::{FlowMark, RunMark, kind_of, kinds},
    trace,
};

use crate::{Opened, Wall, amended, script::check};

/// A time of the mission may be told so long after the last line of the run. Source: common practice, no
/// source: a day.
const MISSION: Ms = Ms::secs(24 * 3600);

/// Which state of the record a number or a list is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Revision {
    /// The last seal's; 0: none.
    pub rev: u32,
    /// Amendments after it.
    pub unsealed: usize,
}

/// One mark of a run: as it was recorded, and as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Marked {
    /// Its line; of one that was added, the line that adds it.
    pub seq: Seq,
    /// Where it comes from.
    pub src: Source,
    /// Time and mark as recorded; `None`: it was added.
    pub recorded: Option<(Ms, Mark)>,
    /// Its time as amended.
    pub at: Ms,
    /// The mark as amended.
    pub mark: Mark,
    /// It stands; one that was retracted does not.
    pub stands: bool,
    /// The amendments in force, in order.
    pub amended_by: Vec<Seq>,
    /// How sure the voice was, a decimal.
    pub conf: Option<String>,
    /// A voice mark that nobody has confirmed, replaced or moved.
    pub is_unconfirmed: bool,
    /// A flag that has no name yet.
    pub is_nameless: bool,
}

impl Marked {
    /// The record's word for the mark as it stands.
    pub const fn kind(&self) -> &'static str {
        kind_of(&self.mark)
    }
}

/// One amendment of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Amending {
    /// Its line.
    pub seq: Seq,
    /// What it says.
    pub amend: Amend,
    /// Where it comes from.
    pub src: Source,
    /// When it was written.
    pub wall: Wall,
    /// It is in force: not taken back, and it can be.
    pub in_force: bool,
    /// The seal that it lies before; `None`: it is not sealed.
    pub rev: Option<u32>,
}

/// A stretch of which nobody knows what was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// Its beginning, run milliseconds.
    pub from: Ms,
    /// Its end.
    pub to: Ms,
}

/// What a review is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Which state of the record this is.
    pub revision: Revision,
    /// Nothing in its file was changed.
    pub is_sound: bool,
    /// The last line of the run.
    pub end: Ms,
    /// All marks, those that do not stand among them, by time as amended.
    pub marks: Vec<Marked>,
    /// All amendments, in order.
    pub amendments: Vec<Amending>,
    /// What is not known, as amended.
    pub gaps: Vec<Gap>,
}

/// What a review sees of a record.
pub fn view(opened: &Opened, setup: &Setup) -> View {
    let amends = amends(opened);
    let known: BTreeSet<Seq> = marks(opened).map(|e| e.seq).collect();
    let folded = fold(&amends, |seq| known.contains(&seq));
    let mut all: Vec<Marked> = opened
        .entries
        .iter()
        .filter_map(|entry| marked(opened, entry, &folded))
        .collect();
    all.sort_by_key(|m| (m.at, m.seq));
    View {
        revision: revision(opened),
        is_sound: opened.is_sound(),
        end: opened.run_end(),
        marks: all,
        amendments: history(opened, &folded),
        gaps: gaps(opened, setup),
    }
}

/// The last seal, and how many amendments came after it.
pub fn revision(opened: &Opened) -> Revision {
    Revision {
        rev: opened.seals.last().map_or(0, |(seal, _)| seal.rev),
        unsealed: opened.unsealed(),
    }
}

fn marks(opened: &Opened) -> impl Iterator<Item = &Entry> {
    let all = opened.entries.iter();
    all.filter(|e| matches!(e.fact, Fact::Mark(_)))
}

fn amends(opened: &Opened) -> Vec<(Seq, &Amend)> {
    let all = opened.entries.iter();
    all.filter_map(|e| match &e.fact {
        Fact::Amend(amend) => Some((e.seq, amend)),
        Fact::Mark(_) | Fact::Deed(_) => None,
    })
    .collect()
}

fn marked(opened: &Opened, entry: &Entry, folded: &Folded<'_>) -> Option<Marked> {
    let change = folded.changes.get(&entry.seq);
    let recorded = match &entry.fact {
        Fact::Mark(mark) => Some((entry.at, mark.clone())),
        Fact::Amend(_) | Fact::Deed(_) => None,
    };
    let (at, mark) = match (change, &recorded) {
        (None, None) => return None,
        (None, Some((at, mark))) => (*at, mark.clone()),
        (Some(change), recorded) => {
            let recorded = recorded.as_ref();
            (
                change.at.or_else(|| recorded.map(|(at, _)| *at))?,
                change
                    .mark
                    .or_else(|| recorded.map(|(_, mark)| mark))?
                    .clone(),
            )
        }
    };
    let changed = change.is_some_and(|c| c.is_confirmed || c.at.is_some() || c.mark.is_some());
    let stands = change.is_none_or(|c| !c.is_gone);
    Some(Marked {
        seq: entry.seq,
        src: entry.src,
        is_unconfirmed: stands && entry.src == Source::Voice && !changed,
        is_nameless: stands && mark == Mark::Run(RunMark::Flag {}),
        recorded,
        at,
        mark,
        stands,
        amended_by: change.map(|c| c.by.clone()).unwrap_or_default(),
        conf: opened.conf.get(&entry.seq).cloned(),
    })
}

fn history(opened: &Opened, folded: &Folded<'_>) -> Vec<Amending> {
    let refused = |seq: Seq| folded.refused.iter().any(|(at, _)| *at == seq);
    let both = opened.entries.iter().zip(&opened.stamps);
    both.filter_map(|(entry, stamp)| match &entry.fact {
        Fact::Amend(amend) => Some(Amending {
            seq: entry.seq,
            amend: amend.clone(),
            src: entry.src,
            wall: stamp.wall,
            in_force: !folded.void.contains(&entry.seq) && !refused(entry.seq),
            rev: opened
                .seals
                .iter()
                .map(|(seal, _)| seal)
                .find(|seal| entry.seq.0 < seal.lines)
                .map(|seal| seal.rev),
        }),
        Fact::Mark(_) | Fact::Deed(_) => None,
    })
    .collect()
}

/// The stretches that are not known, as amended.
fn gaps(opened: &Opened, setup: &Setup) -> Vec<Gap> {
    let entries = amended(&opened.entries).entries;
    let mut out = Vec::new();
    let mut open: Option<Ms> = None;
    for step in trace(setup, &entries) {
        match (open, step.line) {
            (None, Line::Unknown) => open = Some(step.from),
            (Some(_), Line::Unknown) | (None, _) => {}
            (Some(from), _) => {
                open = None;
                let to = step.from;
                out.push(Gap { from, to });
            }
        }
    }
    if let Some(from) = open {
        let to = opened.run_end().max(from);
        out.push(Gap { from, to });
    }
    out.retain(|gap| gap.from < gap.to);
    out
}

/// An amendment that makes no sense.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AmendError {
    /// The field.
    pub field: String,
    /// What was found there.
    pub found: String,
    /// What is allowed, or what to do instead.
    pub allowed: String,
}

impl fmt::Display for AmendError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            field,
            found,
            allowed,
        } = self;
        write!(f, "amend: {field} = {found}, allowed: {allowed}")
    }
}

impl std::error::Error for AmendError {}

fn wrong(field: &str, found: impl fmt::Display, allowed: impl fmt::Display) -> AmendError {
    AmendError {
        field: field.to_owned(),
        found: found.to_string(),
        allowed: allowed.to_string(),
    }
}

/// The reviewer's amendment, if it can be. `now` is the present run time.
///
/// # Errors
/// The field, what was found, what is allowed.
pub fn amendment(
    opened: &Opened,
    now: Ms,
    (target, op, reason): (Option<Seq>, AmendOp, AmendReason),
) -> Result<Amend, AmendError> {
    match &op {
        AmendOp::Add { at_ms, new } => {
            if let Some(target) = target {
                return Err(wrong("target", target.0, "none where a mark is added"));
            }
            values(new)?;
            can_be_new(new)?;
            when(opened, now, new, *at_ms)?;
        }
        AmendOp::Retract | AmendOp::Retime { .. } | AmendOp::Replace { .. } | AmendOp::Confirm => {
            let Some(target) = target else {
                return Err(wrong("target", "null", "the seq of a mark"));
            };
            of_target(opened, now, target, &op)?;
        }
    }
    let amend = Amend {
        target: target.unwrap_or_default(),
        op,
        reason,
        by_role: Some(ByRole::Reviewer),
    };
    story(opened, &amend)?;
    Ok(amend)
}

fn of_target(opened: &Opened, now: Ms, target: Seq, op: &AmendOp) -> Result<(), AmendError> {
    let Some(entry) = opened.entries.iter().find(|e| e.seq == target) else {
        let last = opened.chain.next().0.saturating_sub(1);
        let allowed = format!("the seq of a mark; the record's lines go to {last}");
        return Err(wrong("target", target.0, allowed));
    };
    let amends = amends(opened);
    let known: BTreeSet<Seq> = marks(opened).map(|e| e.seq).collect();
    let folded = fold(&amends, |seq| known.contains(&seq));
    let adds = |amend: &Amend| matches!(amend.op, AmendOp::Add { .. });
    match &entry.fact {
        Fact::Deed(_) => {
            let allowed = "the seq of a mark; what the app did is never amended";
            return Err(wrong("target", format!("{} (a deed)", target.0), allowed));
        }
        Fact::Amend(amend) if !adds(amend) => {
            let found = format!("{} (an amendment)", target.0);
            if *op != AmendOp::Retract {
                let allowed = "retract, which takes an amendment back; then amend the mark itself";
                return Err(wrong("op", format!("{} of {found}", op.word()), allowed));
            }
            if folded.void.contains(&target) {
                let allowed = "an amendment in force; this one was taken back";
                return Err(wrong("target", found, allowed));
            }
            return Ok(());
        }
        Fact::Amend(_) if folded.void.contains(&target) => {
            return Err(wrong("target", target.0, "a mark that stands"));
        }
        Fact::Amend(_) | Fact::Mark(_) => {}
    }
    let Some(mark) = marked(opened, entry, &folded).filter(|m| m.stands) else {
        let allowed = "a mark that stands; this one was retracted: retract that amendment first";
        return Err(wrong("target", target.0, allowed));
    };
    match op {
        AmendOp::Retract | AmendOp::Confirm | AmendOp::Add { .. } => Ok(()),
        AmendOp::Retime { at_ms } => when(opened, now, &mark.mark, *at_ms),
        AmendOp::Replace { new } => {
            values(new)?;
            if *new == mark.mark {
                let allowed =
                    "a mark other than the one that stands; confirm says that it is right";
                return Err(wrong("new", kind_of(new), allowed));
            }
            can_replace(&mark.mark, new)?;
            when(opened, now, new, mark.at)
        }
    }
}

fn values(mark: &Mark) -> Result<(), AmendError> {
    check::mark(mark)
        .map_err(|(field, found, allowed)| wrong(&format!("new.{field}"), found, allowed))
}

/// Kinds that a review does not say: they were answers to the app, or they say nothing.
const NOT_NEW: [&str; 4] = ["flag", "ack", "sound", "resume"];

fn can_be_new(new: &Mark) -> Result<(), AmendError> {
    let kind = kind_of(new);
    if NOT_NEW.contains(&kind) {
        let allowed = format!(
            "a mark of what was done, not {}; state_set says what was so in a gap",
            NOT_NEW.join(", ")
        );
        return Err(wrong("new.ev", kind, allowed));
    }
    Ok(())
}

/// A flag gets any name. A gap's answer may become what was so. Any other mark stays of its kind, or, but
/// for the marks of the run as a whole, of its group.
///
/// # Errors
/// What is allowed in its place.
pub fn can_replace(old: &Mark, new: &Mark) -> Result<(), AmendError> {
    let (was, is) = (kind_of(old), kind_of(new));
    if was == is {
        return Ok(());
    }
    can_be_new(new)?;
    let groups = [
        kinds::FLOW,
        kinds::AIR,
        kinds::CHECK,
        kinds::DEVICE,
        kinds::CARE,
    ];
    let group = groups.into_iter().find(|group| group.contains(&was));
    let good = match (old, group) {
        (Mark::Run(RunMark::Flag {}), _) => true,
        (Mark::Run(RunMark::Resume { .. }), _) => kinds::FLOW.contains(&is),
        (_, Some(group)) => group.contains(&is),
        (_, None) => false,
    };
    if good {
        return Ok(());
    }
    let others = group.map_or_else(|| was.to_owned(), |group| group.join(", "));
    let allowed = format!("{others} in place of {was}; else retract it and add the other mark");
    Err(wrong("new.ev", is, allowed))
}

/// Care lies in the run; a time of the mission up to a day later; what a clock showed and a note up to now.
fn when(opened: &Opened, now: Ms, mark: &Mark, at: Ms) -> Result<(), AmendError> {
    let end = opened.run_end();
    let (latest, what) = match mark {
        Mark::Run(RunMark::ClockMark { .. } | RunMark::Note { .. }) => (now, "now"),
        Mark::Run(RunMark::Times { .. }) => (
            end.plus(MISSION).min(now),
            "a day after the run's last line",
        ),
        Mark::Run(_)
        | Mark::Flow(_)
        | Mark::Air(_)
        | Mark::Check(_)
        | Mark::Device(_)
        | Mark::Care(_) => (end, "the run's last line"),
    };
    if at <= latest {
        return Ok(());
    }
    let allowed = format!("0 (the header) to {} ({what}), run milliseconds", latest.0);
    Err(wrong("at_ms", at.0, allowed))
}

/// What no amendment may leave behind: a second end, or a mark of the state line after the end.
fn story(opened: &Opened, amend: &Amend) -> Result<(), AmendError> {
    let before = faults_of(&opened.entries);
    let mut entries = opened.entries.clone();
    entries.push(Entry {
        seq: opened.chain.next(),
        at: opened.last_run,
        taken: opened.last_run,
        src: Source::Review,
        fact: Fact::Amend(amend.clone()),
    });
    let after = faults_of(&entries);
    if after.ends > before.ends.max(1) {
        let allowed = "one end; retime, replace or retract the one that stands";
        return Err(wrong("new.ev", "end", allowed));
    }
    if let (Some((seq, at)), true) = (after.late, after.n_late > before.n_late) {
        let allowed = format!(
            "no mark of the state line after the end at {}; move the end first",
            after.end.0
        );
        return Err(wrong(
            "at_ms",
            format!("{} (line {})", at.0, seq.0),
            allowed,
        ));
    }
    Ok(())
}

#[derive(Default)]
struct Faults {
    ends: usize,
    end: Ms,
    late: Option<(Seq, Ms)>,
    n_late: usize,
}

fn faults_of(entries: &[Entry]) -> Faults {
    let standing = amended(entries).entries;
    let mut out = Faults::default();
    for entry in &standing {
        match &entry.fact {
            Fact::Mark(Mark::Run(RunMark::End { .. })) => {
                out.ends = out.ends.saturating_add(1);
                out.end = entry.at;
            }
            Fact::Mark(mark) if out.ends > 0 && of_line(mark) && entry.at > out.end => {
                out.n_late = out.n_late.saturating_add(1);
                out.late = out.late.or(Some((entry.seq, entry.at)));
            }
            Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => {}
        }
    }
    out
}

const fn of_line(mark: &Mark) -> bool {
    mark.is_of_state_line() || matches!(mark, Mark::Flow(FlowMark::Why { .. }))
}

/// The reviewer's last change that is in force and can be taken back.
pub fn last_change(opened: &Opened) -> Option<Seq> {
    let amends = amends(opened);
    let known: BTreeSet<Seq> = marks(opened).map(|e| e.seq).collect();
    let folded = fold(&amends, |seq| known.contains(&seq));
    let lines = opened.entries.iter().rev();
    let reviewed = lines.filter(|e| e.src == Source::Review);
    reviewed
        .filter_map(|e| match &e.fact {
            Fact::Amend(amend) => Some((e.seq, amend)),
            Fact::Mark(_) | Fact::Deed(_) => None,
        })
        .find(|(seq, amend)| {
            let takes_back =
                amend.op == AmendOp::Retract && amends.iter().any(|(at, _)| *at == amend.target);
            let is_gone = folded.changes.get(seq).is_some_and(|change| change.is_gone);
            !takes_back && !is_gone && !folded.void.contains(seq)
        })
        .map(|(seq, _)| seq)
}
