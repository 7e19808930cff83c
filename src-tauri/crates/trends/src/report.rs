//! The report's parts: what was read, each group's figures with their trust line, what is not in it.

use chart::{Across, Dot, PointFrame, points};
use record::RunKind;
use sheet::{Block, Report, Table};
use words::{SheetWord, TrendWord as W, Words};

use crate::{
    By, Copied, FEW, Figure, Group, LeftOut, Missing, Seen, Share, Trust, Yardstick, spread::real,
};

/// What became of the files.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sifted {
    /// How many files there were.
    pub files: usize,
    /// The records in the tables.
    pub seen: Vec<Seen>,
    /// What was left out.
    pub left_out: Vec<LeftOut>,
    /// Copies that were dropped.
    pub copied: Vec<Copied>,
    /// What did not come in.
    pub missing: Vec<Missing>,
}

/// Width of a chart and size of its text, mm.
const WIDTH: f64 = 181.0;
const TEXT: f64 = 3.175;
/// Of a list the report has so many rows; a table beside it has all.
const LISTED: usize = 100;

struct Say<'a> {
    words: &'a Words,
}

impl Say<'_> {
    fn word(&self, word: W) -> String {
        self.words.trend(word)
    }

    fn with(&self, word: W, values: &[&str]) -> String {
        self.words.trend_with(word, values)
    }

    fn number(&self, word: W, n: usize) -> String {
        self.with(word, &[&n.to_string()])
    }

    fn share(&self, value: f64) -> String {
        self.words.decimal(&format!("{value:.2}"))
    }

    /// Seconds with one place, for medians lie between whole ones; a share with two.
    fn value(&self, value: f64, is_share: bool) -> String {
        if is_share {
            return self.share(value);
        }
        let text = self.words.decimal(&format!("{value:.1}"));
        self.words.sheet_with(SheetWord::Seconds, &[&text])
    }

    fn of(&self, x: usize, n: usize) -> String {
        let (x, n) = (x.to_string(), n.to_string());
        self.words.sheet_with(SheetWord::Measured, &[&x, &n])
    }

    fn quartiles(&self, low: f64, high: f64, is_share: bool) -> String {
        let (low, high) = (self.value(low, is_share), self.value(high, is_share));
        self.words.sheet_with(SheetWord::FromTo, &[&low, &high])
    }

    fn coverage(&self, trust: &Trust) -> String {
        trust
            .coverage()
            .map_or_else(|| self.words.sheet(SheetWord::NotKnown), |c| self.share(c))
    }

    fn trust(&self, trust: &Trust) -> String {
        self.with(
            W::TrustLine,
            &[
                &self.coverage(trust),
                &self.of(trust.checks_marked, trust.checks_due),
                &trust.unsealed.to_string(),
            ],
        )
    }

    fn trust_short(&self, trust: &Trust) -> String {
        let checks = self.of(trust.checks_marked, trust.checks_due);
        self.with(W::TrustShort, &[&self.coverage(trust), &checks])
    }

    fn yard(&self, yard: &Yardstick, is_share: bool) -> Across {
        let value = if is_share {
            self.share(yard.value)
        } else {
            let text = format!("{}", yard.value);
            let text = self.words.decimal(&text);
            self.words.sheet_with(SheetWord::Seconds, &[&text])
        };
        let source = yard
            .source
            .map_or_else(|| self.word(W::Guideline), str::to_owned);
        Across {
            value: yard.value,
            label: self.with(yard.word, &[&value, &source]),
            of_others: true,
        }
    }
}

/// The report.
pub fn report(sifted: &Sifted, groups: &[Group], unit: Option<&str>, words: &Words) -> Report {
    let say = Say { words };
    let mut blocks = vec![
        Block::Paragraph(say.word(W::Notice)),
        Block::Paragraph(say.with(
            W::Read,
            &[
                &sifted.files.to_string(),
                &sifted.seen.len().to_string(),
                &sifted.left_out.len().to_string(),
            ],
        )),
    ];
    if let Some(unit) = unit {
        blocks.push(Block::Paragraph(say.with(W::UnitOnly, &[unit])));
    }
    let count = |is: fn(&Seen) -> bool| sifted.seen.iter().filter(|run| is(run)).count();
    let aside = count(|run| matches!(run.kind, RunKind::Rehearsal | RunKind::Test));
    if aside > 0 {
        blocks.push(Block::Paragraph(say.number(W::TablesOnly, aside)));
    }
    let damaged = count(|run| !run.is_sound);
    if damaged > 0 {
        blocks.push(Block::Paragraph(say.number(W::Damaged, damaged)));
    }
    blocks.push(Block::Paragraph(if groups.is_empty() {
        say.word(W::NoGroup)
    } else {
        say.word(W::Apart)
    }));
    for group in groups {
        whole_group(&mut blocks, group, &say);
    }
    lists(&mut blocks, sifted, &say);
    blocks.push(Block::Heading(say.word(W::RulesHead)));
    for word in [W::RulesRun, W::RulesShare] {
        blocks.push(Block::Paragraph(say.number(word, FEW)));
    }
    blocks.push(Block::Paragraph(say.word(W::RulesYards)));
    Report {
        title: say.word(W::Title),
        blocks,
        foot: say.word(W::Foot),
    }
}

fn name(group: &Group, say: &Say<'_>) -> String {
    let class = say.words.class(group.class);
    if group.kind != RunKind::Drill {
        return say.with(W::GroupRun, &[&group.definitions, &class]);
    }
    let scenario = group.scenario.clone();
    let scenario = scenario.unwrap_or_else(|| say.word(W::NoScenario));
    say.with(W::GroupDrill, &[&group.definitions, &class, &scenario])
}

fn whole_group(blocks: &mut Vec<Block>, group: &Group, say: &Say<'_>) {
    blocks.push(Block::Heading(name(group, say)));
    let (from, to) = &group.span;
    blocks.push(Block::Paragraph(
        say.with(W::GroupLine, &[&group.runs.to_string(), from, to]),
    ));
    if group.earlier > 0 {
        blocks.push(Block::Paragraph(say.number(W::Earlier, group.earlier)));
    }
    if group.unended > 0 {
        blocks.push(Block::Paragraph(say.number(W::Unended, group.unended)));
    }
    blocks.push(Block::Paragraph(say.word(W::Precision)));
    blocks.push(Block::Table(summary(group, say)));
    for found in &group.figures {
        figure(blocks, found, group, say);
    }
    for found in &group.shares {
        share(blocks, found, group, say);
    }
}

fn summary(group: &Group, say: &Say<'_>) -> Table {
    let columns = [
        W::ColMeasure,
        W::ColRuns,
        W::ColMedian,
        W::ColQuartiles,
        W::ColTrust,
    ];
    let figures = group.figures.iter().map(|found| {
        let is_share = found.measure.is_share();
        let spread = found.spread;
        vec![
            say.word(found.measure.word()),
            spread.n.to_string(),
            say.value(spread.median, is_share),
            say.quartiles(spread.q1, spread.q3, is_share),
            say.trust_short(&found.trust),
        ]
    });
    Table {
        title: say.word(W::Summary),
        none: say.words.sheet(SheetWord::NoWindow),
        columns: columns.map(|word| say.word(word)).to_vec(),
        rows: figures.collect(),
    }
}

/// A chart's points as a table.
fn listed(say: &Say<'_>, rows: Vec<Vec<String>>) -> Table {
    let columns = [W::ColWhen, W::ColValue, W::ColRuns];
    Table {
        title: String::new(),
        none: String::new(),
        columns: columns.map(|word| say.word(word)).to_vec(),
        rows,
    }
}

fn heading(word: W, group: &Group, say: &Say<'_>) -> String {
    let (what, whose) = (say.word(word), name(group, say));
    say.words.sheet_with(SheetWord::Pair, &[&what, &whose])
}

fn figure(blocks: &mut Vec<Block>, found: &Figure, group: &Group, say: &Say<'_>) {
    let is_share = found.measure.is_share();
    let title = heading(found.measure.word(), group, say);
    let spread = found.spread;
    let told = say.with(
        W::SpreadLine,
        &[
            &say.value(spread.median, is_share),
            &say.quartiles(spread.q1, spread.q3, is_share),
            &spread.n.to_string(),
        ],
    );
    let yards = found.measure.yardsticks(group.kind);
    let mut across: Vec<Across> = yards.iter().map(|yard| say.yard(yard, is_share)).collect();
    // The line that the rules are held against; of few points it is that of all values.
    let median = found.rules.map_or(spread.median, |(median, _)| median);
    across.push(Across {
        value: median,
        label: say.with(W::MedianLine, &[&say.value(median, is_share)]),
        of_others: false,
    });
    let is_few = found.points.len() < FEW;
    let dots = found.points.iter().map(|point| Dot {
        label: point.label.clone(),
        value: point.value,
        limits: None,
    });
    let scene = points(&PointFrame {
        title: title.clone(),
        told: told.clone(),
        unit: say.word(unit_of(is_share)),
        is_share,
        dots: dots.collect(),
        joined: !is_few,
        across,
        decimal: say.words.decimal("."),
        width: WIDTH,
        text: TEXT,
    });
    let rows = found.points.iter().map(|point| {
        vec![
            point.label.clone(),
            say.value(point.value, is_share),
            point.runs.to_string(),
        ]
    });
    let table = listed(say, rows.collect());
    blocks.push(Block::Heading(title));
    blocks.push(Block::Chart(scene, table));
    let by = match found.by {
        By::Run => W::ByRun,
        By::Month => W::ByMonth,
        By::Quarter => W::ByQuarter,
    };
    let verdict = match found.rules {
        _ if is_few => say.number(W::Few, FEW),
        None => say.word(W::SignalNone),
        Some((_, rules)) => {
            let word = if rules.is_signal() {
                W::SignalYes
            } else {
                W::SignalNo
            };
            let (longest, most) = (rules.longest.to_string(), rules.longest_limit.to_string());
            let (crossings, least) = (
                rules.crossings.to_string(),
                rules.crossings_limit.to_string(),
            );
            say.with(
                word,
                &[
                    &say.with(W::AtMost, &[&longest, &most]),
                    &say.with(W::AtLeast, &[&crossings, &least]),
                ],
            )
        }
    };
    blocks.push(Block::Paragraph(joined(&[
        told,
        say.trust(&found.trust),
        say.word(by),
        verdict,
    ])));
}

const fn unit_of(is_share: bool) -> W {
    if is_share {
        W::UnitShare
    } else {
        W::UnitSeconds
    }
}

fn share(blocks: &mut Vec<Block>, found: &Share, group: &Group, say: &Say<'_>) {
    let title = heading(found.of.word(), group, say);
    let whole = real(found.x) / real(found.n).max(1.0);
    let (x, n) = (found.x.to_string(), found.n.to_string());
    let told = say.with(W::ShareLine, &[&x, &n, &say.share(whole)]);
    let limits = found.limits.as_ref().map(|chart| &chart.limits);
    let dots = found.points.iter().enumerate().map(|(n, point)| Dot {
        label: point.label.clone(),
        value: point.share(),
        limits: limits.and_then(|limits| limits.get(n)).copied().flatten(),
    });
    let scene = points(&PointFrame {
        title: title.clone(),
        told: told.clone(),
        unit: say.word(W::UnitShare),
        is_share: true,
        dots: dots.collect(),
        joined: found.limits.is_some(),
        across: vec![Across {
            value: whole,
            label: say.with(W::WholeLine, &[&say.share(whole)]),
            of_others: false,
        }],
        decimal: say.words.decimal("."),
        width: WIDTH,
        text: TEXT,
    });
    let rows = found.points.iter().map(|point| {
        vec![
            point.label.clone(),
            say.share(point.share()),
            say.of(point.x, point.n),
        ]
    });
    let table = listed(say, rows.collect());
    blocks.push(Block::Heading(title));
    blocks.push(Block::Chart(scene, table));
    let by = match found.by {
        By::Run | By::Month => W::ShareByMonth,
        By::Quarter => W::ShareByQuarter,
    };
    let mut sentences = vec![told, say.trust(&found.trust), say.word(by)];
    sentences.extend(limits_said(found, say));
    blocks.push(Block::Paragraph(joined(&sentences)));
}

/// What the limits of a share say, or why there are none.
fn limits_said(found: &Share, say: &Say<'_>) -> Vec<String> {
    if found.points.len() < FEW {
        return vec![say.number(W::Few, FEW)];
    }
    if found.limits.is_none() {
        return vec![say.word(W::ThinAll)];
    }
    let mut said = vec![match found.outside() {
        0 => say.word(W::OutsideNo),
        out => say.number(W::OutsideYes, out),
    }];
    let thin = found.thin();
    if thin > 0 {
        said.push(say.number(W::ThinSome, thin));
    }
    said
}

fn joined(sentences: &[String]) -> String {
    sentences.join(" ")
}

/// A list of what is not in the figures, as far as it has room.
fn list(
    blocks: &mut Vec<Block>,
    say: &Say<'_>,
    (head, none, file): (W, W, &str),
    columns: &[W],
    all: Vec<Vec<String>>,
) {
    blocks.push(Block::Heading(say.word(head)));
    let more = all.len().saturating_sub(LISTED);
    blocks.push(Block::Table(Table {
        title: String::new(),
        none: say.word(none),
        columns: columns.iter().map(|word| say.word(*word)).collect(),
        rows: all.into_iter().take(LISTED).collect(),
    }));
    if more > 0 {
        let more = more.to_string();
        blocks.push(Block::Paragraph(say.with(W::More, &[&more, file])));
    }
}

fn lists(blocks: &mut Vec<Block>, sifted: &Sifted, say: &Say<'_>) {
    let left = sifted.left_out.iter().map(|one| {
        vec![
            one.place.clone(),
            say.word(one.why.word()),
            one.detail.clone(),
        ]
    });
    list(
        blocks,
        say,
        (W::LeftHead, W::LeftNone, "left-out.csv"),
        &[W::ColFile, W::ColWhat, W::ColDetail],
        left.collect(),
    );
    let copied = sifted.copied.iter().map(|one| {
        vec![
            one.place.clone(),
            say.word(one.like.word()),
            one.kept.clone(),
        ]
    });
    list(
        blocks,
        say,
        (W::CopiesHead, W::CopiesNone, "copies.csv"),
        &[W::ColFile, W::ColWhat, W::ColDetail],
        copied.collect(),
    );
    let missing = sifted.missing.iter().map(|one| {
        vec![
            one.name.clone(),
            say.word(one.gone.word()),
            one.told_by.clone(),
        ]
    });
    list(
        blocks,
        say,
        (W::GoneHead, W::GoneNone, "missing.csv"),
        &[W::ColFile, W::ColWhat, W::ColDetail],
        missing.collect(),
    );
}
