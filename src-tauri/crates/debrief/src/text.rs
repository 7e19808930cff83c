//! The measures as plain text, whole seconds, for a terminal or a screen reader.

use std::fmt::Write as _;

use cycle::Ms;

use crate::{
    Measures,
    rows::word,
    table::{basis, reason, whole},
};

/// Every measure, a line each. Marks carry a human delay, so whole seconds are all that is printed.
pub fn text(m: &Measures) -> String {
    let mut out = Lines(String::new());
    out.line("record", &format!("{}, {}", m.record_id, word(m.kind)));
    out.line("measures", &format!("{}, {}", m.version, basis(m.basis)));
    out.line("precision", "by marks, +/- 1 s");
    if !m.is_sound {
        out.line(
            "record's chain",
            "broken: something in the file was changed",
        );
    }
    match &m.protocol {
        Some(p) => out.line(
            "protocol",
            &format!(
                "{} {}, set rate {} a minute",
                p.id, p.version, p.set_rate_per_min
            ),
        ),
        None => out.line(
            "protocol",
            "missing or unreadable: no window is taken from it",
        ),
    }
    window(&mut out, m);
    fractions(&mut out, m);
    pauses(&mut out, m);
    shocks(&mut out, m);
    device(&mut out, m);
    others(&mut out, m);
    out.0
}

struct Lines(String);

impl Lines {
    fn line(&mut self, name: &str, value: &str) {
        // Writing to a String cannot fail.
        let _never = writeln!(self.0, "{name}: {value}");
    }
}

fn s(span: Option<Ms>) -> String {
    span.map_or_else(
        || "not known".to_owned(),
        |span| format!("{} s", whole(span)),
    )
}

fn share(value: Option<f64>) -> String {
    value.map_or_else(|| "not known".to_owned(), |value| format!("{value:.3}"))
}

/// A fraction of a time that may hold no known arrest at all.
fn of_arrest(value: Option<f64>) -> String {
    value.map_or_else(
        || "no known time without circulation".to_owned(),
        |value| format!("{value:.3}"),
    )
}

/// A moment of the run as minutes and seconds.
fn clock(at: Ms) -> String {
    let s = whole(at);
    format!("{}:{:02}", s.div_euclid(60), s.rem_euclid(60))
}

fn window(out: &mut Lines, m: &Measures) {
    let Some(window) = m.windows.recognition else {
        out.line(
            "window",
            "none: neither arrest nor compressions were marked",
        );
        return;
    };
    let begins = m.windows.begins_by.map(word).unwrap_or_default();
    let ends = word(m.windows.ends_by);
    out.line(
        "window",
        &format!(
            "{} to {} on the run clock; begins by {}, ends by {}",
            clock(window.from_ms),
            clock(window.to_ms),
            begins.replace('_', " "),
            ends.replace('_', " ")
        ),
    );
    out.line("crew saw the arrest", &word(m.windows.ems_witnessed));
    if let Some(trust) = &m.trust {
        out.line(
            "trust",
            &format!(
                "{} of {} checks marked, {} unknown, coverage {}",
                trust.of.checks_marked,
                trust.of.checks_due,
                s(Some(trust.of.unknown_ms)),
                share(trust.of.coverage)
            ),
        );
    }
    if let Some(time) = &m.time {
        out.line(
            "time",
            &format!(
                "compressing {}, hands off {}, circulation {}, unknown {}",
                s(Some(time.of.compressing_ms)),
                s(Some(time.of.hands_off_ms)),
                s(Some(time.of.circulation_ms)),
                s(Some(time.of.unknown_ms))
            ),
        );
    }
}

fn fractions(out: &mut Lines, m: &Measures) {
    let named = [
        ("compression fraction from recognition", &m.fraction),
        (
            "compression fraction from the first compression",
            &m.fraction_from_compression,
        ),
    ];
    for (name, fraction) in named {
        let Some(fraction) = fraction else { continue };
        let value = share(fraction.of.value);
        let text = if fraction.of.upper_bound {
            format!(
                "at most {value}, for breath pauses were not marked; modelled {}",
                share(fraction.of.modelled)
            )
        } else {
            value
        };
        let text = match fraction.of.below_floor {
            Some(true) => format!("{text}; below 0.60"),
            Some(false) | None => text,
        };
        out.line(name, &text);
    }
    if let Some(fraction) = &m.fraction {
        let value = share(fraction.of.of_whole_window);
        out.line("compressing of the whole window", &value);
    }
    if let Some(no_flow) = &m.no_flow {
        out.line(
            "no flow",
            &format!(
                "{}, without breath pauses {}",
                s(Some(no_flow.of.ms)),
                s(Some(no_flow.of.without_ventilation_ms))
            ),
        );
    }
    for row in m.minutes.iter().flat_map(|minutes| &minutes.of.rows) {
        let name = format!("minute {}", row.minute);
        out.line(&name, &of_arrest(row.fraction));
    }
    if let Some(after) = &m.after_five_minutes {
        let value = of_arrest(after.of.fraction);
        out.line("all but the first five minutes", &value);
    }
}

fn pauses(out: &mut Lines, m: &Measures) {
    let all = &m.pauses.of;
    out.line(
        "pauses",
        &format!(
            "{} of {} ms or more, {} above 10 s, longest {}",
            all.count,
            all.min_ms.0,
            all.over_10_s,
            all.longest_ms
                .map_or_else(|| "none".to_owned(), |ms| s(Some(ms)))
        ),
    );
    for row in &all.rows {
        let ended = word(row.ended_by);
        out.line(
            &format!("pause at {}", clock(row.from_ms)),
            &format!(
                "{}, {}, ended by {ended}",
                s(Some(row.ms)),
                reason(row.reason)
            ),
        );
    }
}

fn shocks(out: &mut Lines, m: &Measures) {
    for row in &m.shocks.of.rows {
        let mut text = if row.timed {
            format!(
                "pre {}, post {}, peri {}",
                s(row.pre_ms),
                s(row.post_ms),
                s(row.peri_ms)
            )
        } else {
            "its moment was not marked; pre, post and peri not known".to_owned()
        };
        if let Some(pause) = row.pause_ms {
            let _never = write!(text, "; pause {}", s(Some(pause)));
        }
        let flags = [
            (row.through_shock, "compressions through it"),
            (row.stacked, "stacked"),
            (row.no_resume, "no compressions after it"),
            (row.pause_not_marked, "its pause was not marked"),
        ];
        for (_, flag) in flags.iter().filter(|(is, _)| *is) {
            let _never = write!(text, "; {flag}");
        }
        out.line(&format!("shock at {}", clock(row.at_ms)), &text);
    }
}

fn device(out: &mut Lines, m: &Measures) {
    for row in &m.fittings.of.rows {
        let windows: Vec<String> = row.windows_ms.iter().map(|ms| s(Some(*ms))).collect();
        let end = match (&row.running_ms, &row.refused) {
            (Some(at), _) => format!("running at {}", clock(*at)),
            (None, Some(why)) => format!("not fitted: {}", why.replace('_', " ")),
            (None, None) => "never ran".to_owned(),
        };
        out.line(
            &format!("fitting from {}", clock(row.from_ms)),
            &format!(
                "windows {}; together {}; {end}; hands on in the minute before {}",
                if windows.is_empty() {
                    "none".to_owned()
                } else {
                    windows.join(", ")
                },
                s(Some(row.total_ms)),
                share(row.flow_before)
            ),
        );
    }
    let pauses = &m.device_pauses.of;
    out.line(
        "device pauses",
        &format!("{}, together {}", pauses.count, s(Some(pauses.total_ms))),
    );
    let cup = &m.cup.of;
    out.line(
        "cup checks",
        &format!("{} of {} answered", cup.answered, cup.asked),
    );
    for row in &cup.rows {
        let text = match row.answer {
            Some(answer) => format!("{} after {}", word(answer), s(row.ms)),
            None => "not answered".to_owned(),
        };
        out.line(&format!("cup asked at {}", clock(row.asked_ms)), &text);
    }
    for row in &m.power.of.rows {
        let inside = match row.inside_window {
            Some(true) => "inside the window",
            Some(false) => "outside the window",
            None => "window not known",
        };
        out.line(
            &format!("power swap at {}", clock(row.from_ms)),
            &format!("{}, {inside}, hands off {}", s(row.ms), s(row.hands_off_ms)),
        );
    }
}

fn others(out: &mut Lines, m: &Measures) {
    if let Some(first) = &m.first {
        let first = &first.of;
        let named = [
            ("compression", first.compression_ms),
            ("rhythm", first.rhythm_ms),
            ("shock", first.shock_ms),
            ("dose", first.drug_ms),
            ("airway device", first.airway_ms),
            ("compression by device", first.device_ms),
        ];
        for (name, ms) in named {
            let text = ms.map_or_else(|| "none marked".to_owned(), |ms| s(Some(ms)));
            out.line(&format!("time to first {name}"), &text);
        }
    }
    for drug in &m.drugs.of.rows {
        let counts = || {
            format!(
                "{} below, {} inside, {} above",
                drug.below, drug.inside, drug.above
            )
        };
        let window = drug.window_min_ms.zip(drug.window_max_ms);
        let is_placed = drug.intervals.iter().any(|i| i.place.is_some());
        let window = match (window, is_placed) {
            (None, false) => "no window".to_owned(),
            (None, true) => format!("a window for some: {}", counts()),
            (Some((min, max)), _) => {
                format!("window {} to {} s: {}", whole(min), whole(max), counts())
            }
        };
        let intervals: Vec<String> = drug
            .intervals
            .iter()
            .map(|i| Ms(u64::try_from(i.ms).unwrap_or(0)))
            .map(|ms| s(Some(ms)))
            .collect();
        out.line(
            &drug.drug,
            &format!(
                "{} doses, intervals {}; {window}",
                drug.doses,
                if intervals.is_empty() {
                    "none".to_owned()
                } else {
                    intervals.join(", ")
                }
            ),
        );
    }
    if let Some(breaths) = &m.ventilation {
        let of = &breaths.of;
        let per_minute =
            |n: Option<f64>| n.map_or_else(|| "not known".to_owned(), |n| format!("{n:.1}"));
        out.line(
            "breaths marked",
            &format!(
                "{} a minute counted, {} measured, in {} complete minutes; {} below 6, {} above 12",
                per_minute(of.counted_per_min),
                per_minute(of.measured_per_min),
                of.minutes,
                of.below_6,
                of.above_12
            ),
        );
    }
    for row in &m.clocks.of.rows {
        let offset = row
            .offset_s
            .map_or_else(|| "not known".to_owned(), |s| format!("{s} s"));
        out.line(
            &format!("{} clock less the phone's", row.clock.word()),
            &offset,
        );
    }
    for span in &m.clocks.of.spans {
        let text = match span.from_ms.zip(span.to_ms) {
            Some((from, to)) => format!(
                "at least {} s, less than {} s, by {} looks",
                seconds(from),
                seconds(to),
                span.looks
            ),
            None => format!(
                "{} looks do not agree: a clock moved; none is chosen",
                span.looks
            ),
        };
        out.line(&format!("{} clock, all looks", span.clock.word()), &text);
    }
}

/// Milliseconds as seconds with three places.
fn seconds(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "" };
    let all = ms.unsigned_abs();
    let whole = all.checked_div(1000).unwrap_or(0);
    let rest = all.checked_rem(1000).unwrap_or(0);
    format!("{sign}{whole}.{rest:03}")
}
