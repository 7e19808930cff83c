//! What was spoken: one voice at a time, few of them, and only what the moment allows.

use super::super::*;
use super::phone::Phone;
use super::told::{Line, Told};
use crate::{Class, CueId};

pub(super) struct Voice {
    pub(super) prompt: Prompt,
    pub(super) due: u64,
    pub(super) from: u64,
    pub(super) to: u64,
}

/// The voices in time, and when each was due.
pub(super) fn voices(phone: &Phone) -> Vec<Voice> {
    let mut dues: BTreeMap<CueId, u64> = BTreeMap::new();
    for e in &phone.log {
        if let Fact::Deed(Deed::Cue(c)) = &e.fact
            && c.outcome == CueOutcome::Asked
        {
            dues.insert(c.cue, c.due_ms.0);
        }
    }
    let mut voices: Vec<Voice> = phone
        .heard
        .iter()
        .filter(|h| h.from < h.to)
        .filter_map(|h| match h.sound {
            CueSound::Voice(prompt) => Some(Voice {
                prompt,
                due: dues.get(&h.id).copied().unwrap_or(h.from),
                from: h.from,
                to: h.to,
            }),
            CueSound::Tone(_) => None,
        })
        .collect();
    voices.sort_by_key(|v| v.from);
    voices
}

pub(super) fn told_at(phone: &Phone, t: u64) -> &Told {
    let n = phone.told.partition_point(|(at, _)| *at <= t);
    &phone.told[n.saturating_sub(1)].1
}

const NUMBERS: [Prompt; 8] = [
    Prompt::Off05,
    Prompt::Off10,
    Prompt::Off15,
    Prompt::Off20,
    Prompt::Off30,
    Prompt::Off40,
    Prompt::Off50,
    Prompt::Off60,
];

/// Seconds before the check that a word of the count stands for.
fn counted(prompt: Prompt) -> Option<u64> {
    match prompt {
        Prompt::ChkCd5 => Some(5),
        Prompt::ChkCd4 => Some(4),
        Prompt::ChkCd3 => Some(3),
        Prompt::ChkCd2 => Some(2),
        Prompt::ChkCd1 => Some(1),
        Prompt::ChkNow => Some(0),
        _ => None,
    }
}

/// Why a prompt may not be heard at a moment, if so: with hands off and between charge and shock only the number is
/// spoken, in a move what is most pressing alone, and a voice that is off stays off.
pub(super) fn closed(p: &Protocol, told: &Told, t: u64, prompt: Prompt) -> Option<&'static str> {
    let number = NUMBERS.contains(&prompt);
    let near = told
        .near
        .is_some_and(|since| t.saturating_sub(since) < p.shock_silence.0);
    if told.quiet() {
        return Some("a quiet run");
    }
    if near && !number {
        return Some("near a shock");
    }
    let breaths = told.breaths_until.is_some() && prompt == Prompt::HrNow;
    let device = matches!(prompt, Prompt::DevStop | Prompt::PowerOver);
    // Breaths first whose time is over: the run goes on untended.
    let untended = told.breaths_until.is_some_and(|until| t >= until);
    if matches!(told.line, Line::Off(_)) && !number && !device && !breaths && !untended {
        return Some("hands off");
    }
    if told.move_holds(t) && prompt.class() != Class::A {
        return Some("moving");
    }
    if !matches!(told.known(), Line::Off(_)) && number {
        return Some("a number with hands on");
    }
    let check = counted(prompt).is_some() || matches!(prompt, Prompt::Chk30 | Prompt::ChkOver);
    if told.leads && check {
        return Some("a defibrillator leads");
    }
    if told.voice_off.is_some_and(|until| t < until) && prompt != Prompt::VoiceOff {
        return Some("voice off");
    }
    let of_hands = prompt == Prompt::RotateNow;
    let of_device = prompt == Prompt::MovePlan;
    let device_runs = told.known() == Line::Device;
    if of_hands && device_runs || of_device && !device_runs {
        return Some("other means");
    }
    let newborn = told.class == PatientClass::Newborn;
    if newborn && check || !newborn && prompt == Prompt::HrNow {
        return Some("another class");
    }
    None
}

pub(super) fn listen(phone: &mut Phone) {
    let voices = voices(phone);
    one_voice(phone, &voices);
    gates(phone, &voices);
    budget(phone, &voices);
    share(phone, &voices);
    after_shock(phone, &voices);
}

fn say(phone: &mut Phone, at: u64, rule: &'static str, what: String) {
    phone.faults.push(super::Fault { rule, at, what });
}

fn one_voice(phone: &mut Phone, voices: &[Voice]) {
    for pair in voices.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        if a.to > b.from {
            let what = std::format!("{} to {}, {}", a.prompt.word(), a.to, b.prompt.word());
            say(phone, b.from, "2 one voice", what);
        }
    }
}

fn gates(phone: &mut Phone, voices: &[Voice]) {
    for v in voices {
        let changes = phone
            .told
            .iter()
            .filter(|(at, _)| (v.from + 1..v.to).contains(at));
        let moments: Vec<u64> = [v.from]
            .into_iter()
            .chain(changes.map(|(at, _)| *at))
            .collect();
        let wrong = moments.iter().find_map(|t| {
            let told = told_at(phone, *t);
            let why = closed(phone.setup.protocol_of(told.class), told, *t, v.prompt);
            // What had begun when the class was named is let finish.
            let why = why.filter(|why| *t == v.from || *why != "another class");
            why.map(|why| (*t, why))
        });
        if let Some((t, why)) = wrong {
            let rule = if why == "another class" {
                "7 words of the class"
            } else {
                "5 gate"
            };
            say(phone, t, rule, std::format!("{} in {why}", v.prompt.word()));
        }
    }
}

/// Few words: so many prompts in a time, and a pause between two. The count and its "now", spoken on end, are one.
fn budget(phone: &mut Phone, voices: &[Voice]) {
    let mut starts: Vec<(u64, Prompt)> = Vec::new();
    let mut before: Option<&Voice> = None;
    for v in voices {
        let round = |v: &Voice| counted(v.prompt).map(|s| v.due + s * 1000);
        let joined = before
            .is_some_and(|b| round(b).is_some() && round(b) == round(v) && v.from - b.to < 1500);
        let lower = v.prompt.class() != Class::A;
        if let Some(b) = before.filter(|b| lower && !joined && v.from < b.to + 1500) {
            let what = std::format!("{} ends {}, {}", b.prompt.word(), b.to, v.prompt.word());
            say(phone, v.from, "4 spacing", what);
        }
        if lower && !joined {
            starts.push((v.from, v.prompt));
        }
        before = Some(v);
    }
    for (most, span) in [(3, 20_000), (10, 120_000)] {
        for group in starts.windows(most + 1) {
            if group[most].0 - group[0].0 <= span {
                let words: Vec<_> = group.iter().map(|(t, p)| (*t, p.word())).collect();
                let what = std::format!("over {most} in {span}: {words:?}");
                say(phone, group[most].0, "4 budget", what);
                break;
            }
        }
    }
}

/// Speech in any ten minutes outside hands off, in per cent.
pub(super) fn most_share(phone: &Phone, voices: &[Voice]) -> u64 {
    let mut spoken: Vec<(u64, u64)> = Vec::new();
    let (mut passed, mut n) = (0, 0);
    for (i, (from, told)) in phone.told.iter().enumerate() {
        let to = phone.told.get(i + 1).map_or(phone.now, |next| next.0);
        let outside = !matches!(told.line, Line::Off(_));
        while let Some(v) = voices.get(n).filter(|v| v.from < to) {
            if outside {
                spoken.push((passed + v.from - from, v.to - v.from));
            }
            n += 1;
        }
        if outside {
            passed += to - from;
        }
    }
    let sum = |i: usize| -> u64 {
        let within = spoken[i..]
            .iter()
            .take_while(|(at, _)| *at < spoken[i].0 + 600_000);
        within.map(|(_, len)| len).sum()
    };
    (0..spoken.len()).map(sum).max().unwrap_or(0) / 6000
}

fn share(phone: &mut Phone, voices: &[Voice]) {
    let share = most_share(phone, voices);
    if share > 15 {
        let at = phone.now;
        say(
            phone,
            at,
            "4 share",
            std::format!("{share} % of ten minutes"),
        );
    }
}

/// Nothing asks for a check in the 120 s after a shock.
fn after_shock(phone: &mut Phone, voices: &[Voice]) {
    for v in voices {
        let told = told_at(phone, v.from);
        let every = phone.setup.protocol_of(told.class).check_every.0;
        let asks = matches!(v.prompt, Prompt::ChkNow | Prompt::ChkOver | Prompt::PadsNow);
        let shock = told
            .last_shock
            .filter(|at| asks && v.from > *at && v.from < at + every);
        if let Some(at) = shock {
            let what = std::format!("{} after the shock of {at}", v.prompt.word());
            say(phone, v.from, "10 after a shock", what);
        }
    }
}

/// Lengths of the order of a spoken pack: half a second for a number of the count, one to two and a
/// half seconds for the rest.
pub(super) fn clip(prompt: Prompt) -> u32 {
    let word = prompt.word();
    let n = word
        .bytes()
        .fold(7_u32, |n, b| (n * 31 + u32::from(b)) % 9973);
    if word.starts_with("chk_cd") {
        500
    } else if word.starts_with("off") {
        1000 + n % 250
    } else {
        1000 + n % 1500
    }
}
