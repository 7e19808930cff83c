//! Times from the window's beginning to the first of each.

use cycle::{
    Mark, Ms,
    mark::{AirMark, AirwayAct, By, CareMark, CheckMark, RhythmSeen},
};
use serde::Serialize;

use crate::{run::Run, spans::Doing, window::Window};

/// Times to the first of each, ms from the window's beginning. `None`: there was none, or it lies before
/// the window.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct First {
    /// Compression by the crew.
    pub compression_ms: Option<Ms>,
    /// Rhythm, called or told by a result.
    pub rhythm_ms: Option<Ms>,
    /// Shock.
    pub shock_ms: Option<Ms>,
    /// Dose on the scene.
    pub drug_ms: Option<Ms>,
    /// Airway device in place.
    pub airway_ms: Option<Ms>,
    /// Compression by device.
    pub device_ms: Option<Ms>,
}

pub(crate) fn first(run: &Run<'_>, window: Window) -> First {
    let from = |at: Ms| (at >= window.from_ms).then(|| at.since(window.from_ms));
    let first_mark = |is: fn(&Mark) -> bool| {
        let mut marks = run.marks();
        marks
            .find(|(_, mark)| is(mark))
            .and_then(|(at, _)| from(at))
    };
    let first_span = |is: fn(Doing) -> bool| {
        let span = run.spans.iter().find(|span| is(span.doing));
        span.and_then(|span| from(span.from))
    };
    First {
        compression_ms: first_span(|d| matches!(d, Doing::Compressing(_))),
        rhythm_ms: first_mark(|mark| match mark {
            Mark::Check(CheckMark::Rhythm { rhythm, .. }) => *rhythm != RhythmSeen::Unknown,
            Mark::Check(CheckMark::Shock { .. } | CheckMark::NoShock {}) => true,
            Mark::Check(_)
            | Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Air(_)
            | Mark::Device(_)
            | Mark::Care(_) => false,
        }),
        shock_ms: first_mark(|mark| matches!(mark, Mark::Check(CheckMark::Shock { .. }))),
        drug_ms: first_mark(|mark| matches!(mark, Mark::Care(CareMark::Drug { prior: false, .. }))),
        airway_ms: first_mark(|mark| {
            matches!(
                mark,
                Mark::Air(AirMark::Airway {
                    act: AirwayAct::In,
                    ..
                })
            )
        }),
        device_ms: first_span(|d| d == Doing::Compressing(By::Mechanical)),
    }
}
