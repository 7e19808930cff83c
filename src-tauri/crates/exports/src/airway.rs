//! Airway procedures from their tries, and `eAirway`: how the place of one was confirmed.

use cycle::{
    Mark, Ms,
    mark::{AirMark, AirwayAct, AirwayDevice, ConfirmBy},
};
use words::CarryWord;

use crate::{
    codes::{self, Procedure},
    facts::{Facts, Marked},
    filled::{Filled, Value},
    groups::{numbered, procedure, said, tries, unsure},
};

struct Act<'f> {
    marked: &'f Marked,
    act: AirwayAct,
    device: Option<AirwayDevice>,
    attempt: Option<u8>,
    success: Option<bool>,
    technique: Option<&'f str>,
}

fn acts<'f>(facts: &'f Facts<'_>) -> impl Iterator<Item = Act<'f>> {
    facts.marks.iter().filter_map(|marked| {
        let Mark::Air(AirMark::Airway {
            act,
            device,
            attempt,
            success,
            technique,
        }) = &marked.mark
        else {
            return None;
        };
        Some(Act {
            marked,
            act: *act,
            device: *device,
            attempt: *attempt,
            success: *success,
            technique: technique.as_deref(),
        })
    })
}

/// Tries that have led to nothing so far.
struct Trying<'f> {
    last: Act<'f>,
    /// Tries whose beginning was marked.
    begun: u16,
    /// The highest number that was said.
    said: u16,
    failed: bool,
}

impl<'f> Trying<'f> {
    fn take(before: Option<Self>, act: Act<'f>) -> Self {
        let (begun, said, failed, device, technique) = before
            .map_or((0, 0, false, None, None), |b| {
                (b.begun, b.said, b.failed, b.last.device, b.last.technique)
            });
        let began = u16::from(act.act == AirwayAct::TryBegin);
        Self {
            begun: begun.saturating_add(began),
            said: said.max(u16::from(act.attempt.unwrap_or(0))),
            failed: match act.act {
                AirwayAct::TryBegin => failed,
                AirwayAct::TryEnd => act.success.map_or(failed, |yes| !yes),
                AirwayAct::In | AirwayAct::Lost => false,
            },
            last: Act {
                device: act.device.or(device),
                technique: act.technique.or(technique),
                ..act
            },
        }
    }

    fn rows(&self, success: Option<bool>) -> (Ms, Vec<Filled>) {
        let marked = self.last.marked;
        let (what, why) = match self.last.device {
            Some(AirwayDevice::Opa) => (Procedure::Opa, None),
            Some(AirwayDevice::Npa) => (Procedure::Npa, None),
            // The list has codes by the number of lumens.
            Some(AirwayDevice::Sga) => (Procedure::Sga, Some(CarryWord::AskWhich)),
            Some(AirwayDevice::Ett) => (Procedure::Ett, None),
            Some(AirwayDevice::Cric) => (Procedure::Cric, None),
            None => (Procedure::Airway, Some(CarryWord::AskWhich)),
        };
        let mut rows = procedure(marked, what);
        if let Some(why) = why {
            rows = unsure(rows, why);
        }
        let n = self.begun.max(self.said);
        if n > 0 {
            rows.push(tries(marked, n));
        }
        rows.extend(success.map(|yes| Filled::by("eProcedures.06", said(yes), marked)));
        if let Some(technique) = self.last.technique {
            let own = codes::is_code(technique, "3914");
            rows.push(if own {
                Filled::by("eProcedures.14", Value::Own(technique.to_owned()), marked)
            } else {
                Filled::open("eProcedures.14")
            });
        }
        (marked.at, rows)
    }
}

/// Airways: one procedure for each that was put in with the tries before it, and one for tries of a device that
/// came to nothing.
pub(crate) fn placed(facts: &Facts<'_>) -> Vec<(Ms, Vec<Filled>)> {
    let mut groups = Vec::new();
    let mut trying: Option<Trying<'_>> = None;
    for act in acts(facts) {
        let other = trying.as_ref().is_some_and(|t| {
            act.device.is_some() && t.last.device.is_some() && act.device != t.last.device
        });
        if other && let Some(given_up) = trying.take() {
            groups.push(given_up.rows(given_up.failed.then_some(false)));
        }
        match act.act {
            AirwayAct::Lost => {}
            AirwayAct::In => {
                groups.push(Trying::take(trying.take(), act).rows(Some(true)));
            }
            AirwayAct::TryBegin | AirwayAct::TryEnd => {
                trying = Some(Trying::take(trying.take(), act));
            }
        }
    }
    if let Some(given_up) = trying {
        groups.push(given_up.rows(given_up.failed.then_some(false)));
    }
    groups
}

/// What the place of an airway was confirmed by, each with the device that was in then.
pub(crate) fn confirmed(facts: &Facts<'_>) -> Vec<Filled> {
    let mut device: Option<AirwayDevice> = None;
    let mut groups = Vec::new();
    for marked in &facts.marks {
        let Mark::Air(air) = &marked.mark else {
            continue;
        };
        if let AirMark::Airway {
            act, device: which, ..
        } = air
        {
            match act {
                AirwayAct::In => device = *which,
                AirwayAct::Lost => device = None,
                AirwayAct::TryBegin | AirwayAct::TryEnd => {}
            }
        }
        let AirMark::AirwayConfirm { method } = air else {
            continue;
        };
        // The section is of invasive airways.
        if matches!(device, Some(AirwayDevice::Opa | AirwayDevice::Npa)) {
            continue;
        }
        let which = match device {
            Some(AirwayDevice::Ett) => Some(Value::Code("4003003", CarryWord::Ett)),
            Some(AirwayDevice::Cric) => Some(Value::Code("4003001", CarryWord::Cric)),
            Some(AirwayDevice::Sga) => Some(Value::Word(CarryWord::Sga)),
            Some(AirwayDevice::Opa | AirwayDevice::Npa) | None => None,
        };
        let (method, unclear) = match method {
            ConfirmBy::Waveform => (Value::Code("4004019", CarryWord::Waveform), false),
            ConfirmBy::Digital => (Value::Code("4004009", CarryWord::Digital), false),
            ConfirmBy::Colorimetric => (Value::Code("4004005", CarryWord::Colorimetric), false),
            ConfirmBy::Auscultation => (Value::Code("4004001", CarryWord::Auscultation), false),
            ConfirmBy::ChestRise => (Value::Code("4004021", CarryWord::ChestRise), false),
            // Of the cords or of the tube: two codes.
            ConfirmBy::Visual => (Value::Word(CarryWord::Visual), true),
        };
        groups.push(vec![
            Filled::by("eAirway.02", Value::Time, marked),
            match which {
                Some(value) => {
                    let open = matches!(value, Value::Word(_));
                    Filled::by("eAirway.03", value, marked).ask_if(open, CarryWord::AskWhich)
                }
                None => Filled::open("eAirway.03"),
            },
            Filled::by("eAirway.04", method, marked).ask_if(unclear, CarryWord::AskWhich),
        ]);
    }
    numbered(groups)
}
