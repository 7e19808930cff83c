//! Codes of the national standard and of open code systems, and the list of procedures whose codes a service
//! brings itself.

use std::collections::BTreeMap;

use cycle::mark::RhythmSeen;
use words::CarryWord;

/// A code that was left open: the crew has not said (NEMSIS v3.5, NOT values: put in at export).
pub(crate) const NOT_RECORDED: &str = "7701003";
/// The value is about right (pertinent negatives).
pub(crate) const APPROXIMATE: &str = "8801029";
pub(crate) const YES: &str = "9923003";
pub(crate) const NO: &str = "9923001";

/// A drug by its key: our word and its `RxNorm` concept. Those of the standard's own list (2025-01-14); 3992 is
/// the drug itself, for a mark does not say the strength.
pub(crate) fn drug(key: &str) -> Option<(CarryWord, Option<&'static str>)> {
    Some(match key {
        "adrenaline" | "epinephrine" => (CarryWord::Adrenaline, Some("3992")),
        "amiodarone" => (CarryWord::Amiodarone, Some("703")),
        "lidocaine" => (CarryWord::Lidocaine, Some("6387")),
        "bicarbonate" => (CarryWord::Bicarbonate, Some("36676")),
        "calcium_chloride" => (CarryWord::CalciumChloride, Some("1901")),
        "calcium_gluconate" => (CarryWord::CalciumGluconate, Some("1908")),
        "magnesium" => (CarryWord::Magnesium, Some("6585")),
        "atropine" => (CarryWord::Atropine, Some("1223")),
        "naloxone" => (CarryWord::Naloxone, Some("7242")),
        "norepinephrine" => (CarryWord::Norepinephrine, Some("7512")),
        "vasopressin" => (CarryWord::Vasopressin, Some("11149")),
        // Two drugs, or one of several salts: the crew says which.
        "antiarrhythmic" => (CarryWord::Antiarrhythmic, None),
        "calcium" => (CarryWord::Calcium, None),
        "glucose" => (CarryWord::Glucose, None),
        _ => return None,
    })
}

pub(crate) fn route(key: &str) -> Option<(&'static str, CarryWord)> {
    Some(match key {
        "iv" => ("9927023", CarryWord::RouteIv),
        "io" => ("9927021", CarryWord::RouteIo),
        "im" => ("9927015", CarryWord::RouteIm),
        "in" => ("9927017", CarryWord::RouteIn),
        "et" => ("9927005", CarryWord::RouteEt),
        _ => return None,
    })
}

pub(crate) fn unit(key: &str) -> Option<&'static str> {
    Some(match key {
        "mg" => "3706021",
        "mcg" => "3706015",
        "mL" => "3706025",
        "g" => "3706001",
        "mEq" => "3706019",
        _ => return None,
    })
}

pub(crate) fn gas(key: &str) -> Option<&'static str> {
    Some(match key {
        "mmHg" => "3340001",
        "pct" => "3340003",
        "kPa" => "3340005",
        _ => return None,
    })
}

/// A rhythm: as the first of the arrest, and as a vital sign.
pub(crate) fn rhythm(seen: RhythmSeen) -> Option<(&'static str, &'static str, CarryWord)> {
    Some(match seen {
        RhythmSeen::Asystole => ("3011001", "9901003", CarryWord::Asystole),
        RhythmSeen::Pea => ("3011005", "9901035", CarryWord::Pea),
        RhythmSeen::AedNoShock => ("3011007", "9901063", CarryWord::AedNoShock),
        RhythmSeen::AedShock => ("3011009", "9901065", CarryWord::AedShock),
        RhythmSeen::Vf => ("3011011", "9901067", CarryWord::Vf),
        RhythmSeen::Pvt => ("3011013", "9901071", CarryWord::Pvt),
        RhythmSeen::Organised
        | RhythmSeen::Shockable
        | RhythmSeen::NotShockable
        | RhythmSeen::Unknown => return None,
    })
}

/// A service's reason for stopping: our words, or the standard's own code as the list's key.
pub(crate) fn stop_reason(key: &str) -> Option<(&'static str, CarryWord)> {
    Some(match key {
        "dnr" | "3016001" => ("3016001", CarryWord::StopDnr),
        "medical_control" | "3016003" => ("3016003", CarryWord::StopControl),
        "obvious_death" | "3016005" => ("3016005", CarryWord::StopObvious),
        "unable" | "3016007" => ("3016007", CarryWord::StopUnable),
        "protocol" | "3016009" => ("3016009", CarryWord::StopProtocol),
        _ => return None,
    })
}

/// Whether a service's key is itself a code of a list that begins so, as of sites (3913) and techniques (3914).
pub(crate) fn is_code(key: &str, list: &str) -> bool {
    key.len() == 7 && key.starts_with(list) && key.bytes().all(|b| b.is_ascii_digit())
}

macro_rules! procedures {
    ($($variant:ident = $word:literal, $said:ident;)+) => {
        /// A procedure that marks tell.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        #[expect(missing_docs, reason = "each is named as its word in docs/exports.md")]
        pub enum Procedure { $($variant,)+ }
        impl Procedure {
            /// Every one.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];
            /// Its word in a service's list of codes.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
            pub(crate) const fn said(self) -> CarryWord {
                match self { $(Self::$variant => CarryWord::$said,)+ }
            }
        }
    };
}

procedures! {
    ByHand = "compressions_by_hand", ByHand;
    ByDevice = "compressions_by_device", ByDevice;
    Shock = "shock", Shock;
    ShockAed = "shock_aed", ShockAed;
    ShockManual = "shock_manual", ShockManual;
    Iv = "access_iv", AccessIv;
    Io = "access_io", AccessIo;
    Opa = "airway_opa", Opa;
    Npa = "airway_npa", Npa;
    Sga = "airway_sga", Sga;
    Ett = "airway_ett", Ett;
    Cric = "airway_cric", Cric;
    Airway = "airway", AirwayUnnamed;
}

/// A service's own codes of procedures. Their code system needs a licence, so none are built in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ProcedureCodes(BTreeMap<Procedure, String>);

impl ProcedureCodes {
    /// Reads a list: a line `procedure,code` for each; empty lines and lines with `#` are left out.
    ///
    /// # Errors
    /// Each line that is wrong, with what is allowed.
    pub fn parse(text: &str) -> Result<Self, Vec<String>> {
        let mut codes = BTreeMap::new();
        let mut faults = Vec::new();
        for (n, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let place = n.saturating_add(1);
            let (word, code) = line.split_once(',').unwrap_or((line, ""));
            let (word, code) = (word.trim(), code.trim());
            let Some(procedure) = Procedure::ALL.iter().find(|p| p.word() == word) else {
                let words: Vec<&str> = Procedure::ALL.iter().map(|p| p.word()).collect();
                faults.push(format!(
                    "line {place}: procedure {word}, allowed: {}",
                    words.join(", ")
                ));
                continue;
            };
            // eProcedures.03: a whole number from 100000 on, 18 digits at most.
            let fits = (6..=18).contains(&code.len())
                && code.bytes().all(|b| b.is_ascii_digit())
                && !code.starts_with('0');
            if fits {
                if codes.insert(*procedure, code.to_owned()).is_some() {
                    faults.push(format!(
                        "line {place}: {word} is there twice, allowed: once"
                    ));
                }
            } else {
                faults.push(format!(
                    "line {place}: code {code}, allowed: 6 to 18 digits, the first not 0"
                ));
            }
        }
        if faults.is_empty() {
            Ok(Self(codes))
        } else {
            Err(faults)
        }
    }

    pub(crate) fn get(&self, procedure: Procedure) -> Option<&str> {
        self.0.get(&procedure).map(String::as_str)
    }
}
