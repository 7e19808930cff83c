use std::{
    collections::{BTreeMap, BTreeSet},
    fmt::Write as _,
};

use cycle::Prompt;

use crate::{Level, Row, Sheet, binomial::interval, draw::is_pressing};

/// So many per cent of class A and B must be right over all listeners. Source: the project's own gate, no
/// published one for prompts like these.
pub const GATE_PER_CENT: usize = 95;

/// A share at the gate is judged once its answers are so many that surely more than this are right. Source: the
/// project's own choice, as the gate is.
pub const SURELY_PER_CENT: usize = 90;

/// So many answers are wanted before a share is judged: from here on the lower end of the exact interval of one at
/// the gate is above [`SURELY_PER_CENT`], from 143 of 150 (0.906) on; with 133 of 140 it is not (0.8997). In whole
/// tests, of which each has ten such answers.
pub const ENOUGH: usize = 150;

/// So many tests have them.
pub const ENOUGH_TESTS: usize = 15;

/// What a share says of the gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Fewer answers than [`ENOUGH`]: neither.
    TooFew,
    /// At the gate, or better.
    Reached,
    /// Below it.
    NotReached,
}

impl Verdict {
    /// Its word in a table.
    pub const fn word(self) -> &'static str {
        match self {
            Self::TooFew => "too_few",
            Self::Reached => "reached",
            Self::NotReached => "not_reached",
        }
    }
}

/// So many right of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// Right.
    pub right: usize,
    /// Asked.
    pub asked: usize,
}

impl Share {
    /// Of these rows.
    pub fn of<'a>(rows: impl Iterator<Item = &'a Row>) -> Self {
        let mut share = Self::default();
        for row in rows {
            share.asked = share.asked.saturating_add(1);
            share.right = share.right.saturating_add(usize::from(row.is_right()));
        }
        share
    }

    /// The exact 95 % interval, each end from 0 to 1; see [`interval`].
    pub fn interval(self) -> (f64, f64) {
        interval(self.right, self.asked)
    }

    /// Whether it reaches the gate, if its answers are enough to say so.
    pub fn verdict(self) -> Verdict {
        let needed = self.asked.saturating_mul(GATE_PER_CENT);
        if self.asked < ENOUGH {
            Verdict::TooFew
        } else if self.right.saturating_mul(100) >= needed {
            Verdict::Reached
        } else {
            Verdict::NotReached
        }
    }
}

/// A prompt that was taken for another, or not heard, and how often.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Confusion {
    /// What was said.
    pub said: Prompt,
    /// What it was taken for; `None`: nothing was heard.
    pub taken_for: Option<Prompt>,
    /// How often.
    pub times: usize,
}

/// What the sheets of one pack at one level add up to. Others are not added to them: they were another test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// The pack.
    pub pack: String,
    /// SHA-256 of its manifests.
    pub pack_sha256: String,
    /// Over the noise.
    pub level: Level,
    /// Sheets in it.
    pub sheets: usize,
    /// Listeners that gave a number.
    pub listeners: usize,
    /// Of all prompts.
    pub all: Share,
    /// Of class A and B.
    pub pressing: Share,
    /// Of each prompt that was asked, in the order of the table of prompts.
    pub prompts: Vec<(Prompt, Share)>,
    /// What was taken for what, the most frequent first.
    pub confusions: Vec<Confusion>,
}

impl Group {
    /// Whether this sheet is one of those that it adds up.
    pub fn has(&self, sheet: &Sheet) -> bool {
        let facts = &sheet.facts;
        (&self.pack, &self.pack_sha256, self.level)
            == (&facts.pack, &facts.pack_sha256, sheet.level)
    }
}

impl Sheet {
    /// Right of all.
    pub fn all(&self) -> Share {
        Share::of(self.rows.iter())
    }

    /// Right of class A and B.
    pub fn pressing(&self) -> Share {
        Share::of(self.rows.iter().filter(|row| is_pressing(row.prompt)))
    }

    /// What was taken for what, in the order in which it was heard.
    pub fn confusions(&self) -> Vec<Confusion> {
        let wrong = self.rows.iter().filter(|row| !row.is_right());
        wrong
            .map(|row| Confusion {
                said: row.prompt,
                taken_for: row.answer,
                times: 1,
            })
            .collect()
    }
}

/// Adds sheets up, each pack and level by itself.
pub fn add_up(sheets: &[Sheet]) -> Vec<Group> {
    let mut by: BTreeMap<(&str, &str, Level), Vec<&Sheet>> = BTreeMap::new();
    for sheet in sheets {
        let facts = &sheet.facts;
        let name = (facts.pack.as_str(), facts.pack_sha256.as_str(), sheet.level);
        by.entry(name).or_default().push(sheet);
    }
    by.into_iter()
        .map(|(name, sheets)| group(name, &sheets))
        .collect()
}

fn group((pack, pack_sha256, level): (&str, &str, Level), sheets: &[&Sheet]) -> Group {
    let rows = || sheets.iter().flat_map(|sheet| &sheet.rows);
    let listeners: BTreeSet<u16> = sheets.iter().filter_map(|sheet| sheet.listener).collect();
    let prompts = Prompt::ALL.iter().filter_map(|prompt| {
        let share = Share::of(rows().filter(|row| row.prompt == *prompt));
        (share.asked > 0).then_some((*prompt, share))
    });
    let mut times: BTreeMap<(Prompt, Option<Prompt>), usize> = BTreeMap::new();
    for row in rows().filter(|row| !row.is_right()) {
        let n = times.entry((row.prompt, row.answer)).or_default();
        *n = n.saturating_add(1);
    }
    let mut confusions: Vec<Confusion> = times
        .into_iter()
        .map(|((said, taken_for), times)| Confusion {
            said,
            taken_for,
            times,
        })
        .collect();
    confusions.sort_by_key(|confusion| std::cmp::Reverse(confusion.times));
    Group {
        pack: pack.to_owned(),
        pack_sha256: pack_sha256.to_owned(),
        level,
        sheets: sheets.len(),
        listeners: listeners.len(),
        all: Share::of(rows()),
        pressing: Share::of(rows().filter(|row| is_pressing(row.prompt))),
        prompts: prompts.collect(),
        confusions,
    }
}

/// The first line of a table of totals.
const TOTALS_HEADER: &str = "pack,pack_sha256,level_dba,sheets,listeners,of,prompt,taken_for,times,asked,right,low,high,wanted,gate";

/// How every table of totals begins, whenever it was written.
pub const TOTALS_BEGIN: &str =
    "pack,pack_sha256,level_dba,sheets,listeners,of,prompt,taken_for,times,asked,right,low,high";

/// The groups as a table: of all prompts, of class A and B, of each prompt, and what was taken for what. `low` and
/// `high` are the ends of the exact 95 % interval; of class A and B `wanted` says how many answers are wanted before
/// `gate` says more than `too_few`.
pub fn totals(groups: &[Group]) -> String {
    let mut text = format!("{TOTALS_HEADER}\n");
    for group in groups {
        let Group {
            pack,
            pack_sha256,
            level,
            sheets,
            listeners,
            ..
        } = group;
        let name = format!("{pack},{pack_sha256},{},{sheets},{listeners}", level.db());
        let mut share = |of: &str, prompt: &str, share: Share, gate: &str| {
            let (low, high) = share.interval();
            let Share { right, asked } = share;
            // Writing to a String cannot fail.
            writeln!(
                text,
                "{name},{of},{prompt},,,{asked},{right},{low:.4},{high:.4},{gate}"
            )
            .unwrap_or_default();
        };
        let verdict = group.pressing.verdict().word();
        share("all", "", group.all, ",");
        share(
            "class_ab",
            "",
            group.pressing,
            &format!("{ENOUGH},{verdict}"),
        );
        for (prompt, of_it) in &group.prompts {
            share("prompt", prompt.word(), *of_it, ",");
        }
        for confusion in &group.confusions {
            let said = confusion.said.word();
            let taken = confusion.taken_for.map_or("none", Prompt::word);
            let times = confusion.times;
            writeln!(text, "{name},taken_for,{said},{taken},{times},,,,,,").unwrap_or_default();
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::tests::sheet;

    /// Worked by hand: of the invented listener's twelve the third, sixth, ninth and twelfth are wrong.
    #[test]
    fn a_sheet_s_own_figures() {
        let sheet = sheet("a", Level::ALL[0], 5);
        assert_eq!((sheet.all().right, sheet.all().asked), (8, 12));
        assert_eq!(sheet.pressing().asked, 10);
        let wrong = sheet.confusions();
        assert_eq!(wrong.len(), 4);
        assert_eq!(wrong[3].taken_for, None, "the last was not heard");
        assert_eq!(wrong[0].said, sheet.rows[2].prompt);
        let pressing = |n: &usize| is_pressing(sheet.rows[*n].prompt);
        let lost = [2_usize, 5, 8, 11].iter().filter(|n| pressing(n)).count();
        assert_eq!(sheet.pressing().right, 10 - lost);
    }

    #[test]
    fn sheets_of_one_pack_and_level_are_added_and_others_kept_apart() {
        let mut other = sheet("c", Level::ALL[1], 5);
        other.facts.pack_sha256 = "cd34".to_owned();
        let mut second = sheet("b", Level::ALL[1], 5);
        second.listener = Some(9);
        let sheets = [
            sheet("a", Level::ALL[1], 5),
            second,
            other,
            sheet("d", Level::ALL[2], 5),
        ];
        let groups = add_up(&sheets);
        let found: Vec<_> = groups
            .iter()
            .map(|g| {
                (
                    g.pack_sha256.as_str(),
                    g.level.db(),
                    g.sheets,
                    g.listeners,
                    g.all,
                )
            })
            .collect();
        let share = |right, asked| Share { right, asked };
        assert_eq!(
            found,
            [
                ("ab12", 6, 2, 2, share(16, 24)),
                ("ab12", 12, 1, 1, share(8, 12)),
                ("cd34", 6, 1, 1, share(8, 12)),
            ]
        );
        let [both, ..] = groups.as_slice() else {
            panic!("{groups:?}");
        };
        assert_eq!(both.prompts.len(), 12);
        assert!(
            both.prompts
                .iter()
                .all(|(_, s)| s.asked == 2 && s.right != 1)
        );
        assert_eq!(both.confusions.len(), 4);
        assert!(both.confusions.iter().all(|c| c.times == 2));
        let table = totals(&groups);
        assert!(
            table.contains("en-US,ab12,6,2,2,all,,,,24,16,0.4468,0.8437,,\n"),
            "{table}"
        );
        let cells = |line: &str| line.split(',').count();
        assert!(
            table
                .lines()
                .all(|line| cells(line) == cells(TOTALS_HEADER)),
            "{table}"
        );
    }

    #[test]
    fn the_gate_is_ninety_five_in_a_hundred_exactly_and_few_answers_say_neither() {
        let verdict = |right, asked| Share { right, asked }.verdict();
        assert_eq!(verdict(190, 200), Verdict::Reached);
        assert_eq!(verdict(143, 150), Verdict::Reached);
        assert_eq!(verdict(189, 200), Verdict::NotReached);
        assert_eq!(verdict(142, 150), Verdict::NotReached);
        for (right, asked) in [(0, 0), (10, 10), (0, 10), (149, 149), (0, 149)] {
            assert_eq!(verdict(right, asked), Verdict::TooFew, "{right} of {asked}");
        }
    }

    /// Source: Clopper, Pearson 1934; the lower ends of 143 of 150 and of 133 of 140 by scipy 1.17.1,
    /// `binomtest(k, n).proportion_ci(0.95, "exact")`: 0.9062 and 0.8997.
    #[test]
    fn so_many_are_wanted_that_a_share_at_the_gate_is_surely_above_ninety_in_a_hundred() {
        let least = |asked: usize| {
            let right = asked.saturating_mul(GATE_PER_CENT).div_ceil(100);
            interval(right, asked).0 * 100.0
        };
        let surely = crate::real(SURELY_PER_CENT);
        let off = (least(150) - 90.62).abs().max((least(140) - 89.97).abs());
        assert!(off < 0.01, "{} {}", least(150), least(140));
        assert!((ENOUGH..=400).all(|asked| least(asked) > surely));
        let a_test = sheet("a", Level::ALL[0], 5).pressing().asked;
        assert_eq!(ENOUGH, ENOUGH_TESTS * a_test);
        assert!(least(ENOUGH - a_test) <= surely, "and no test fewer");
    }
}
