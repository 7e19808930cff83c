//! What marks fill of the standard's elements: one piece an element, in the dictionary's order.

use cycle::fact::Source;
use record::Wall;
use words::CarryWord;

use crate::{codes::Procedure, facts::Marked};

/// Names of the elements that marks can fill (NEMSIS v3.5.1, build 250403CP1), in the dictionary's order.
pub(crate) const NAMES: [(&str, &str); 41] = [
    ("eTimes.07", "Arrived at Patient Date/Time"),
    ("eTimes.09", "Unit Left Scene Date/Time"),
    ("eTimes.11", "Patient Arrived at Destination Date/Time"),
    (
        "eTimes.12",
        "Destination Patient Transfer of Care Date/Time",
    ),
    ("eArrest.01", "Cardiac Arrest"),
    ("eArrest.02", "Cardiac Arrest Etiology"),
    ("eArrest.03", "Resuscitation Attempted By EMS"),
    ("eArrest.04", "Arrest Witnessed By"),
    ("eArrest.07", "AED Use Prior to EMS Arrival"),
    ("eArrest.09", "Type of CPR Provided"),
    ("eArrest.11", "First Monitored Arrest Rhythm of the Patient"),
    ("eArrest.12", "Any Return of Spontaneous Circulation"),
    ("eArrest.14", "Date/Time of Cardiac Arrest"),
    ("eArrest.15", "Date/Time Resuscitation Discontinued"),
    ("eArrest.16", "Reason CPR/Resuscitation Discontinued"),
    ("eArrest.18", "End of EMS Cardiac Arrest Event"),
    ("eArrest.19", "Date/Time of Initial CPR"),
    ("eArrest.20", "Who First Initiated CPR"),
    ("eArrest.21", "Who First Applied the AED"),
    ("eArrest.22", "Who First Defibrillated the Patient"),
    ("eVitals.01", "Date/Time Vital Signs Taken"),
    ("eVitals.02", "Obtained Prior to this Unit's EMS Care"),
    ("eVitals.03", "Cardiac Rhythm / Electrocardiography (ECG)"),
    ("eVitals.16", "End Tidal Carbon Dioxide (ETCO2)"),
    ("eMedications.01", "Date/Time Medication Administered"),
    (
        "eMedications.02",
        "Medication Administered Prior to this Unit's EMS Care",
    ),
    ("eMedications.03", "Medication Administered"),
    ("eMedications.04", "Medication Administered Route"),
    ("eMedications.05", "Medication Dosage"),
    ("eMedications.06", "Medication Dosage Units"),
    ("eMedications.13", "Medication Administered by Another Unit"),
    ("eProcedures.01", "Date/Time Procedure Performed"),
    (
        "eProcedures.02",
        "Procedure Performed Prior to this Unit's EMS Care",
    ),
    ("eProcedures.03", "Procedure"),
    ("eProcedures.05", "Number of Procedure Attempts"),
    ("eProcedures.06", "Procedure Successful"),
    ("eProcedures.13", "Vascular Access Location"),
    ("eProcedures.14", "Airway Placement Technique"),
    (
        "eAirway.02",
        "Date/Time Airway Device Placement Confirmation",
    ),
    ("eAirway.03", "Airway Device Being Confirmed"),
    ("eAirway.04", "Airway Device Placement Confirmed Method"),
];

/// What an element says.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    /// A code of the standard's list.
    Code(&'static str, CarryWord),
    /// The moment itself.
    Time,
    /// The moment itself, which is about right.
    About,
    /// A number as it was entered.
    Number(String),
    /// A number of tries.
    Tries(u8),
    /// Carbon dioxide as it was read, the code of its unit, and the unit.
    Gas(String, &'static str, String),
    /// A drug's key.
    Drug(String),
    /// A unit of dose, by its key.
    Unit(&'static str, String),
    /// A procedure; its code is the service's.
    Procedure(Procedure),
    /// A code that the service's own list already holds.
    Own(String),
    /// Known in words, without a code.
    Word(CarryWord),
    /// Not said.
    Open,
}

/// An element that is filled, or that only the crew can fill.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Filled {
    pub(crate) element: &'static str,
    /// Which dose, procedure, reading or confirmation, from 1.
    pub(crate) group: Option<usize>,
    pub(crate) value: Value,
    pub(crate) wall: Option<Wall>,
    pub(crate) src: Option<Source>,
    /// Why the crew still has to confirm it.
    pub(crate) ask: Option<CarryWord>,
}

impl Filled {
    /// By one mark.
    pub(crate) fn by(element: &'static str, value: Value, marked: &Marked) -> Self {
        Self {
            element,
            group: None,
            value,
            wall: marked.wall,
            src: Some(marked.src),
            ask: (marked.src == Source::Voice).then_some(CarryWord::AskVoice),
        }
    }

    /// Nothing was marked: the crew says.
    pub(crate) const fn open(element: &'static str) -> Self {
        Self {
            element,
            group: None,
            value: Value::Open,
            wall: None,
            src: None,
            ask: Some(CarryWord::AskCrew),
        }
    }

    /// The code of the standard's list, where it is one.
    pub(crate) const fn code(&self) -> Option<&'static str> {
        if let Value::Code(code, _) = self.value {
            Some(code)
        } else {
            None
        }
    }

    /// To be confirmed, and why; the first reason stands.
    pub(crate) fn ask(mut self, why: CarryWord) -> Self {
        self.ask = self.ask.or(Some(why));
        self
    }

    pub(crate) fn ask_if(self, when: bool, why: CarryWord) -> Self {
        if when { self.ask(why) } else { self }
    }
}

/// The name of an element.
pub(crate) fn name(element: &str) -> &'static str {
    let found = NAMES.iter().find(|(id, _)| *id == element);
    found.map_or("", |(_, name)| name)
}
