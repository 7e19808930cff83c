//! Pauses around shocks.

use cycle::{
    Mark, Ms,
    mark::{CheckMark, GivenBy},
};
use serde::Serialize;

use crate::{
    pauses::{EndedBy, Off},
    run::Run,
    spans::Doing,
};

/// One shock. A span that is empty is not known, or there was none; the flags say which.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a flag of its own in the definitions"
)]
pub struct ShockRow {
    /// The mark's time.
    pub at_ms: Ms,
    /// Who gave it.
    pub by: GivenBy,
    /// Whether that time is the shock's own.
    pub timed: bool,
    /// Last compression to shock; of several in one pause only the first has it.
    pub pre_ms: Option<Ms>,
    /// Shock to next compression; of several in one pause only the last has it.
    pub post_ms: Option<Ms>,
    /// From the last compression to the next; of several in one pause only the last has it.
    pub peri_ms: Option<Ms>,
    /// The pause that the shock lies in, timed or not.
    pub pause_ms: Option<Ms>,
    /// Compressions went on through it.
    pub through_shock: bool,
    /// One of several in one pause.
    pub stacked: bool,
    /// No compressions came after it: circulation, a gap or the end came first.
    pub no_resume: bool,
    /// By the marks hands were on while it was given by hand: the pause was not marked.
    pub pause_not_marked: bool,
}

/// How many spans lie below a first edge, from it to a second, and from that on.
pub type Bands = [usize; 3];

/// The spans around shocks by the bands in which outcome was reported, each with its lower edge (Cheskes
/// 2011 and 2014, as summarised). Of each span by itself: a median of sums is no sum of medians.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct ShockBands {
    /// Before: below 10 s, below 20 s, longer.
    pub pre: Bands,
    /// After: below 5 s, below 10 s, longer.
    pub post: Bands,
    /// Around: below 20 s, below 40 s, longer.
    pub peri: Bands,
}

impl ShockBands {
    fn of(rows: &[ShockRow]) -> Self {
        let count = |span: fn(&ShockRow) -> Option<Ms>, first: Ms, second: Ms| {
            let spans = || rows.iter().filter_map(span);
            [
                spans().filter(|ms| *ms < first).count(),
                spans().filter(|ms| first <= *ms && *ms < second).count(),
                spans().filter(|ms| second <= *ms).count(),
            ]
        };
        Self {
            pre: count(|row| row.pre_ms, Ms(10_000), Ms(20_000)),
            post: count(|row| row.post_ms, Ms(5_000), Ms(10_000)),
            peri: count(|row| row.peri_ms, Ms(20_000), Ms(40_000)),
        }
    }
}

/// The shocks of the window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shocks {
    /// How long, in bands.
    pub bands: ShockBands,
    /// In order.
    pub rows: Vec<ShockRow>,
}

#[derive(Clone, Copy)]
struct Shock {
    at: Ms,
    timed: bool,
    by: GivenBy,
    through: bool,
}

pub(crate) fn shocks(run: &Run<'_>) -> Shocks {
    let all: Vec<Shock> = run
        .marks()
        .filter(|(at, _)| run.is_in_window(*at))
        .filter_map(|(at, mark)| match mark {
            Mark::Check(CheckMark::Shock {
                timed, by, through, ..
            }) => Some(Shock {
                at,
                timed: *timed,
                by: *by,
                through: *through,
            }),
            Mark::Check(_)
            | Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Air(_)
            | Mark::Device(_)
            | Mark::Care(_) => None,
        })
        .collect();
    let rows: Vec<ShockRow> = all.iter().map(|shock| row(run, shock, &all)).collect();
    Shocks {
        bands: ShockBands::of(&rows),
        rows,
    }
}

/// The stretch of hands off that a shock lies in. Where the crew says that compressions went on
/// through it, one that only ends or begins with it does not count.
fn around<'r>(run: &'r Run<'_>, shock: &Shock) -> Option<&'r Off> {
    run.off_at(shock.at)
        .filter(|off| !shock.through || (off.span.from < shock.at && shock.at < off.span.to))
}

fn row(run: &Run<'_>, shock: &Shock, all: &[Shock]) -> ShockRow {
    let empty = ShockRow {
        at_ms: shock.at,
        by: shock.by,
        timed: shock.timed,
        pre_ms: None,
        post_ms: None,
        peri_ms: None,
        pause_ms: None,
        through_shock: false,
        stacked: false,
        no_resume: false,
        pause_not_marked: false,
    };
    match around(run, shock) {
        Some(off) => in_pause(run, off, shock, all, empty),
        None => without_pause(run, shock, empty),
    }
}

fn in_pause(run: &Run<'_>, off: &Off, shock: &Shock, all: &[Shock], empty: ShockRow) -> ShockRow {
    let mates = all.iter().filter(|other| around(run, other) == Some(off));
    let mates: Vec<&Shock> = mates.collect();
    let is = |other: Option<&&Shock>| other.is_some_and(|other| std::ptr::eq(*other, shock));
    let (is_first, is_last) = (is(mates.first()), is(mates.last()));
    let resumed = off.ended_by == EndedBy::Compressions;
    let begun = off.follows_compressions();
    let whole = begun
        && resumed
        && mates.first().is_some_and(|s| s.timed)
        && mates.last().is_some_and(|s| s.timed);
    let when = |good: bool, span: Ms| good.then_some(span);
    ShockRow {
        pre_ms: when(
            shock.timed && is_first && begun,
            shock.at.since(off.span.from),
        ),
        post_ms: when(
            shock.timed && is_last && resumed,
            off.span.to.since(shock.at),
        ),
        peri_ms: when(is_last && whole, off.span.len()),
        pause_ms: when(begun && off.ended_by != EndedBy::Unknown, off.span.len()),
        stacked: mates.len() > 1,
        no_resume: is_last && !resumed,
        ..empty
    }
}

fn without_pause(run: &Run<'_>, shock: &Shock, empty: ShockRow) -> ShockRow {
    match run.doing_at(shock.at) {
        Some(Doing::Compressing(by)) => {
            let through = shock.through || by == cycle::mark::By::Mechanical;
            let none = (through && shock.timed).then_some(Ms::ZERO);
            ShockRow {
                pre_ms: none,
                post_ms: none,
                peri_ms: none,
                through_shock: through,
                pause_not_marked: !through,
                ..empty
            }
        }
        Some(Doing::HandsOff | Doing::Circulation | Doing::Unknown | Doing::Ended) | None => empty,
    }
}
