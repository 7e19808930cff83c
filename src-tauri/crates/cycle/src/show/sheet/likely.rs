//! Which marks a crew is likeliest to look for behind Mark, by card. As many of them as find room stand
//! on the sheet's first page, two touches away. The page draws them in this order and decides nothing.
//!
//! No source: the order follows what each card is for, and what is marked most often comes first. A row
//! may name what cannot stand now or has its key on the card: it is left out, and the next moves up.

use alloc::vec::Vec;

use crate::{
    Ms,
    acts::Act,
    mark::By,
    protocol::{CheckForm, Protocol},
    state::State,
    view::Card,
};

/// So long after the run's first mark the patient's class comes before all others.
const CLASS_FIRST: Ms = Ms(60_000);

const CLASSES: &[Act] = &[
    Act::ClassAdult,
    Act::ClassChild,
    Act::ClassInfant,
    Act::ClassNewborn,
];

/// Where the service marks rhythm and charge at each check.
const FULL_CHECK: &[Act] = &[
    Act::Analysing,
    Act::Charge,
    Act::ChargeDumped,
    Act::Shockable,
    Act::NotShockable,
];

#[expect(clippy::too_many_lines, reason = "one table, one row a card")]
const fn table(card: Card, by: By) -> &'static [Act] {
    match (card, by) {
        (Card::CheckDue, By::Mechanical) => &[
            Act::Analysing,
            Act::DrugByClock,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::Moving,
            Act::PowerSwap,
            Act::Charge,
            Act::ChargeDumped,
            Act::Flag,
        ],
        (Card::HandRatio | Card::HandContinuous | Card::CheckDue, _) => &[
            Act::Analysing,
            Act::HeartBelow60,
            Act::HeartFrom60,
            Act::HeartAbove100,
            Act::PadsOn,
            Act::DrugByClock,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::ShockNow,
            Act::LineIn,
            Act::AirwayTry,
            Act::Flag,
            Act::Co2,
            Act::LineBone,
        ],
        (Card::Fitting, _) => &[
            Act::HandsOff,
            Act::TooSmall,
            Act::TooLarge,
            Act::FitParts,
            Act::DrugByClock,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::ShockNow,
        ],
        (Card::FitPause, _) => &[
            Act::FitParts,
            Act::TooSmall,
            Act::TooLarge,
            Act::PulseBack,
            Act::ShockNow,
        ],
        (Card::DeviceRatio | Card::DeviceContinuous, _) => &[
            Act::FullPack,
            Act::DrugByClock,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::PowerSwap,
            Act::Reseat,
            Act::ShockNow,
            Act::Flag,
            Act::Co2,
            Act::LineIn,
            Act::AirwayTry,
        ],
        (Card::Cup, _) => &[
            Act::FullPack,
            Act::DrugByClock,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::PowerSwap,
            Act::Moving,
            Act::Loaded,
            Act::Flag,
        ],
        (Card::Moving, _) => &[
            Act::Loaded,
            Act::Reseat,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::PowerSwap,
            Act::DrugByClock,
            Act::ShockNow,
            Act::Flag,
        ],
        (Card::HandsOff, _) => &[
            Act::PulseBack,
            Act::ShockNow,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::PowerSwap,
            Act::PulseNone,
            Act::DrugByClock,
            Act::Flag,
        ],
        (Card::Check, _) => &[
            Act::Analysing,
            Act::Charge,
            Act::ChargeDumped,
            Act::PulseNone,
            Act::HandsOn,
            Act::DeviceRunning,
            Act::DrugByClock,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::Flag,
        ],
        (Card::Reseating, _) => &[
            Act::CupGood,
            Act::Stopped,
            Act::PowerSwap,
            Act::PulseBack,
            Act::ShockNow,
        ],
        (Card::Power | Card::PowerLate, _) => &[
            Act::DeviceRunning,
            Act::Swapped,
            Act::FullPack,
            Act::Stopped,
            Act::PulseBack,
            Act::ShockNow,
        ],
        (Card::Stopped, _) => &[
            Act::PulseBack,
            Act::ShockNow,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::DrugByClock,
            Act::Flag,
        ],
        (Card::Pulse, _) => &[
            Act::PulseStill,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::Co2,
            Act::Moving,
            Act::Flag,
        ],
        (Card::FirstBreaths, _) => &[
            Act::PulseBack,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::PadsOn,
            Act::SignsOfLife,
            Act::Flag,
        ],
        (Card::Unknown, _) => &[
            Act::HandsOff,
            Act::PulseBack,
            Act::DrugByClock,
            Act::ShockNow,
            Act::AirwayIn,
            Act::AirwayLost,
            Act::Flag,
        ],
        (Card::Before | Card::Ended, _) => &[],
    }
}

/// The likeliest of `offered`, in the order of the table.
pub(super) fn first(p: &Protocol, s: &State, card: Card, now: Ms, offered: &[Act]) -> Vec<Act> {
    let is_new = s.began.is_some_and(|began| now.since(began) < CLASS_FIRST);
    let is_full = matches!(card, Card::Check | Card::CheckDue) && p.check_form == CheckForm::Full;
    let rows = [
        (is_new, CLASSES),
        (is_full, FULL_CHECK),
        (true, table(card, s.by)),
    ];
    let mut first: Vec<Act> = Vec::new();
    for (_, row) in rows.into_iter().filter(|(stands, _)| *stands) {
        for act in row {
            if offered.contains(act) && !is_done(p, s, *act) && !first.contains(act) {
                first.push(*act);
            }
        }
    }
    first
}

/// What is said once is looked for less from then on, and pads where no check follows them.
#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "few marks are said once; the others come again"
)]
fn is_done(p: &Protocol, s: &State, act: Act) -> bool {
    match act {
        Act::PadsOn => s.pads.is_some() || s.checks > 0 || !p.has_cycle(),
        Act::LineIn | Act::LineBone => s.lines_in > 0,
        // Where the service has no figure for a full pack, nothing is counted from it.
        Act::FullPack => s.pack.is_some() || s.mains || p.full_pack.is_none(),
        _ => false,
    }
}
