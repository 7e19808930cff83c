//! Random crews in virtual time: whatever a crew marks, in whatever order, these hold. A failure names
//! the property, the seed, and the fewest of the seed's steps that still show it.

mod any_mark;
mod beats;
mod crew;
mod dice;
mod due;
mod found;
mod phone;
mod screen;
mod speech;
mod told;

use super::*;
use core::fmt::Write as _;
use crew::Step;
use phone::Phone;
use told::Line;

/// A property that did not hold.
#[derive(Clone, Debug)]
struct Fault {
    rule: &'static str,
    at: u64,
    what: String,
}

/// How often each kind of mark was offered in each state, and how many marks stood in each run.
#[derive(Default)]
struct Reached {
    pairs: BTreeMap<(&'static str, &'static str), u64>,
    taken: Vec<usize>,
    minutes: Vec<u64>,
    share: u64,
}

const STATES: [&str; 11] = [
    "before",
    "by hand",
    "by device",
    "hands off",
    "pulse",
    "unknown",
    "ended",
    "first breaths",
    "moving",
    "cup open",
    "pack out",
];

impl Reached {
    fn offer(&mut self, phone: &Phone, mark: &Mark) {
        let told = phone.is_told();
        let line = match told.line {
            Line::Before => "before",
            Line::Hand => "by hand",
            Line::Device => "by device",
            Line::Off(_) => "hands off",
            Line::Pulse => "pulse",
            Line::Unknown => "unknown",
            Line::Ended => "ended",
        };
        let also = [
            (
                told.breaths_until.is_some_and(|t| t > phone.now),
                "first breaths",
            ),
            (told.moving.is_some(), "moving"),
            (told.cup.is_some(), "cup open"),
            (told.pack_out.is_some(), "pack out"),
        ];
        let kind = crate::mark::kind_of(mark);
        let states = also.into_iter().filter(|(is, _)| *is).map(|(_, word)| word);
        for state in states.chain([line]) {
            *self.pairs.entry((state, kind)).or_default() += 1;
        }
    }

    fn add(&mut self, other: Self) {
        for (pair, n) in other.pairs {
            *self.pairs.entry(pair).or_default() += n;
        }
        self.taken.extend(other.taken);
        self.minutes.extend(other.minutes);
        self.share = self.share.max(other.share);
    }

    /// The pair that was reached least, of those between each state and each kind.
    fn least(&self) -> (u64, &'static str, &'static str) {
        let kinds = any_mark::all_kinds();
        let pairs = STATES
            .iter()
            .flat_map(|state| kinds.iter().map(|kind| (*state, *kind)));
        pairs
            .map(|(s, k)| (self.pairs.get(&(s, k)).copied().unwrap_or(0), s, k))
            .min()
            .unwrap()
    }

    fn quartiles(list: &[usize]) -> [usize; 3] {
        let mut list = list.to_vec();
        list.sort_unstable();
        [1, 2, 3].map(|q| list[(list.len() - 1) * q / 4])
    }

    #[expect(
        clippy::print_stdout,
        reason = "the distribution is what is to be seen"
    )]
    fn print(&self) {
        let sorted = |list: &[u64]| list.iter().copied().min().zip(list.iter().copied().max());
        std::println!(
            "{} sequences, minutes {:?}, accepted marks quartiles {:?}, most speech {} %, least pair {:?}",
            self.taken.len(),
            sorted(&self.minutes),
            Self::quartiles(&self.taken),
            self.share,
            self.least()
        );
        std::println!(
            "{:16}{}",
            "",
            STATES.map(|s| std::format!("{s:>14}")).concat()
        );
        for kind in any_mark::all_kinds() {
            let row = STATES.map(|state| {
                let n = self.pairs.get(&(state, kind)).copied().unwrap_or(0);
                std::format!("{n:>14}")
            });
            std::println!("{kind:16}{}", row.concat());
        }
    }
}

fn all_rules(phone: &mut Phone) {
    speech::listen(phone);
    due::all_told(phone);
}

/// Plays a seed; the first fault of each property, and the steps.
fn play(seed: u64, reached: &mut Reached) -> (Vec<Fault>, Vec<Step>) {
    let (mut phone, steps) = crew::live(seed, reached);
    all_rules(&mut phone);
    let marks = phone
        .log
        .iter()
        .filter(|e| matches!(e.fact, Fact::Mark(_)))
        .count();
    reached.taken.push(marks);
    reached.minutes.push(phone.now / 60_000);
    reached.share = reached
        .share
        .max(speech::most_share(&phone, &speech::voices(&phone)));
    let mut faults: Vec<Fault> = Vec::new();
    for fault in phone.faults {
        if faults.iter().all(|f| f.rule != fault.rule) {
            faults.push(fault);
        }
    }
    (faults, steps)
}

/// The fewest steps that still show a fault: first the shortest beginning, then without every step
/// that can be spared.
fn fewest(seed: u64, fault: &Fault, steps: Vec<Step>) -> (Fault, Vec<Step>) {
    let shows = |steps: &[Step], until| {
        crew::again(seed, steps, until)
            .into_iter()
            .find(|f| f.rule == fault.rule)
    };
    let until = fault.at + 5000;
    let mut kept: Vec<Step> = steps.into_iter().filter(|s| s.0 <= fault.at).collect();
    let Some(mut found) = shows(&kept, until) else {
        return (fault.clone(), kept);
    };
    let mut n = kept.len();
    while n > 0 {
        n -= 1;
        let mut fewer = kept.clone();
        fewer.remove(n);
        if let Some(still) = shows(&fewer, until) {
            (kept, found) = (fewer, still);
        }
    }
    (found, kept)
}

/// Plays `seeds`, and says of each property that failed how often, and how it is seen.
fn crews(seeds: core::ops::Range<u64>) -> Reached {
    let mut reached = Reached::default();
    let mut failed: BTreeMap<&'static str, (u64, u64, Fault, Vec<Step>)> = BTreeMap::new();
    let halves = std::thread::scope(|scope| {
        let half = |odd: u64| {
            let seeds = seeds.clone();
            scope.spawn(move || {
                let mut reached = Reached::default();
                let mut found = Vec::new();
                for seed in seeds.filter(|seed| seed / 40 % 2 == odd) {
                    let (faults, steps) = play(seed, &mut reached);
                    found.extend(faults.into_iter().map(|f| (seed, f, steps.clone())));
                }
                (reached, found)
            })
        };
        [half(0), half(1)].map(|thread| thread.join().unwrap())
    });
    for (part, found) in halves {
        reached.add(part);
        for (seed, fault, steps) in found {
            let known = failed.entry(fault.rule);
            let known = known.or_insert_with(|| (0, seed, fault.clone(), steps.clone()));
            known.0 += 1;
            if steps.len() < known.3.len() {
                (known.1, known.2, known.3) = (seed, fault, steps);
            }
        }
    }
    let mut told = String::new();
    for (rule, (n, seed, fault, steps)) in failed {
        let (fault, steps) = fewest(seed, &fault, steps);
        let plan = crew::Plan::new(seed);
        let Fault { at, what, .. } = fault;
        writeln!(
            told,
            "\n{rule}: {n} runs; seed {seed}, {plan:?}, at {at}: {what}"
        )
        .unwrap();
        for (at, what) in steps {
            writeln!(told, "    {at} {what:?}").unwrap();
        }
    }
    assert!(told.is_empty(), "{told}");
    reached
}

/// Every property, over as many crews as a quick look allows.
#[test]
fn any_crew() {
    let reached = crews(0..320);
    assert!(Reached::quartiles(&reached.taken)[1] >= 60);
    assert!(reached.minutes.iter().all(|m| *m >= 20));
}

/// Every property over forty thousand crews; what they reached is printed.
#[test]
#[ignore = "minutes of computing; `cargo test -p cycle -- --ignored --nocapture forty_thousand`"]
fn forty_thousand_crews() {
    let reached = crews(0..40_000);
    reached.print();
    assert!(Reached::quartiles(&reached.taken)[1] >= 60);
    assert!(reached.minutes.iter().all(|m| *m >= 20));
    assert!(reached.least().0 >= 100, "{:?}", reached.least());
}

/// Crews that once found a fault, of the ten and thirty thousand beyond the quick look's: an answer between
/// two halves, a cup set right after ten minutes, a voice that came back within a count, a kill in a voice.
#[test]
fn crews_that_found_a_fault() {
    for seed in [5295, 14_113, 21_562, 25_612] {
        crews(seed..seed + 1);
    }
}
