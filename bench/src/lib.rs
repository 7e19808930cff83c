//! What the measurements share: spread, the machine's name, one JSON line a figure.

mod made;

use std::{fs, process::Command};

use conduct::Heads;
use cycle::{ClipLengths, Prompt, Protocol, Setup};
use record::{Digest, RunKind};
use serde_json::{Map, Value, json};

pub use made::{Invented, cpu_us, invented, record_of};

/// Anything that stops a measurement.
pub type Failure = Box<dyn std::error::Error>;

/// A figure's values, sorted.
#[derive(Clone, Debug)]
pub struct Spread(Vec<f64>);

impl Spread {
    /// Sorts the values.
    pub fn of(mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        Self(values)
    }

    /// The value below which `share` of the values lie, by the nearest rank; NaN without values.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        clippy::cast_sign_loss,
        reason = "a rank among at most some hundred thousand values"
    )]
    pub fn at(&self, share: f64) -> f64 {
        let rank = (share * self.0.len() as f64).ceil() as usize;
        self.0
            .get(rank.saturating_sub(1))
            .or(self.0.last())
            .copied()
            .unwrap_or(f64::NAN)
    }

    /// How many values.
    pub fn n(&self) -> usize {
        self.0.len()
    }
}

/// Prints a figure with median and tails.
pub fn tails(what: &str, unit: &str, spread: &Spread) {
    let fields = [("p50", 0.5), ("p95", 0.95), ("p99", 0.99), ("max", 1.0)];
    line(what, unit, spread.n(), &shares(spread, &fields));
}

/// Prints a figure with median and quartiles.
pub fn quartiles(what: &str, unit: &str, spread: &Spread) {
    let fields = [("p50", 0.5), ("q1", 0.25), ("q3", 0.75)];
    line(what, unit, spread.n(), &shares(spread, &fields));
}

/// Prints a figure that is one number, taken over `n` things.
pub fn single(what: &str, unit: &str, n: usize, value: f64) {
    line(what, unit, n, &[("value", value)]);
}

fn shares<'a>(spread: &Spread, fields: &[(&'a str, f64)]) -> Vec<(&'a str, f64)> {
    fields
        .iter()
        .map(|(name, share)| (*name, spread.at(*share)))
        .collect()
}

fn line(what: &str, unit: &str, n: usize, values: &[(&str, f64)]) {
    let mut out = Map::new();
    out.insert("what".to_owned(), json!(what));
    for (name, value) in values {
        out.insert((*name).to_owned(), json!(rounded(*value)));
    }
    out.insert("unit".to_owned(), json!(unit));
    out.insert("n".to_owned(), json!(n));
    out.insert("machine".to_owned(), json!(machine()));
    out.insert("load".to_owned(), json!(load()));
    out.insert("commit".to_owned(), json!(commit()));
    out.insert("date".to_owned(), json!(date()));
    println!("{}", Value::Object(out));
}

/// Four digits are more than the spread bears out.
fn rounded(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}

/// Processor, cores and kernel; never a name of the machine's own.
pub fn machine() -> String {
    let info = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let field = |name: &str| {
        info.lines()
            .find(|l| l.starts_with(name))
            .and_then(|l| l.split(':').nth(1))
            .map_or_else(|| "unknown".to_owned(), |v| v.trim().to_owned())
    };
    let (model, family) = (field("model name"), field("cpu family"));
    let number = field("model\t");
    let cores = info.lines().filter(|l| l.starts_with("processor")).count();
    let virtual_one = if field("flags").split(' ').any(|f| f == "hypervisor") {
        "virtual machine"
    } else {
        "bare machine"
    };
    let kernel = fs::read_to_string("/proc/sys/kernel/osrelease").unwrap_or_default();
    let kernel = version(&kernel);
    format!(
        "{model} (family {family}, model {number}), {cores} cores, {virtual_one}, Linux {kernel}"
    )
}

/// The first two numbers of a kernel's release: the rest names who built it.
fn version(release: &str) -> String {
    let numbers = release.trim().split(|c: char| !c.is_ascii_digit());
    let two: Vec<&str> = numbers.filter(|n| !n.is_empty()).take(2).collect();
    two.join(".")
}

/// The load of the last minute as the figure was printed: how much else was running.
fn load() -> f64 {
    fs::read_to_string("/proc/loadavg")
        .ok()
        .and_then(|l| l.split(' ').next().and_then(|v| v.parse().ok()))
        .unwrap_or(f64::NAN)
}

fn commit() -> String {
    Command::new("git")
        .args(["rev-parse", "--short", "HEAD"])
        .output()
        .ok()
        .filter(|o| o.status.success())
        .and_then(|o| String::from_utf8(o.stdout).ok())
        .map_or_else(|| "unknown".to_owned(), |s| s.trim().to_owned())
}

fn date() -> String {
    jiff::Timestamp::now().strftime("%Y-%m-%d").to_string()
}

/// Memory of this process that is in use, kB, counted page by page where the system does that.
///
/// # Errors
/// Neither file can be read.
pub fn resident_kb() -> Result<f64, Failure> {
    let (name, text) = match fs::read_to_string("/proc/self/smaps_rollup") {
        Ok(text) => ("Rss:", text),
        Err(_) => ("VmRSS:", fs::read_to_string("/proc/self/status")?),
    };
    let found = text
        .lines()
        .find_map(|l| l.strip_prefix(name))
        .and_then(|l| l.split_whitespace().next());
    Ok(found.ok_or("no resident size")?.parse()?)
}

/// The built-in example protocol with every clip one second long.
///
/// # Errors
/// The example is damaged.
pub fn setup() -> Result<Setup, Failure> {
    let text = Protocol::example("example-adult").ok_or("no example protocol")?;
    let protocol = Protocol::parse(text.as_bytes()).map_err(|_| "the example is damaged")?;
    let lengths = Prompt::ALL.iter().map(|p| (*p, 1000)).collect();
    let clips = ClipLengths::new(lengths).map_err(|_| "a prompt has no length")?;
    Ok(Setup {
        class: protocol.class,
        protocol,
        others: Vec::new(),
        clips,
    })
}

/// Header of a record that is thrown away.
pub fn heads() -> Heads {
    Heads {
        kind: RunKind::Test,
        version: "0".to_owned(),
        pack_id: "none".to_owned(),
        pack_sha256: Digest::of(b""),
        lang: "en-US".to_owned(),
        tz: "UTC".to_owned(),
        record_id: String::new(),
        scenario: None,
        unit_code: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kernel_is_named_by_its_version_alone() {
        assert_eq!(version("6.12.9-somebody-1\n"), "6.12");
        assert_eq!(version("7.0"), "7.0");
        assert_eq!(version(""), "");
    }

    /// Source: the nearest-rank definition, counted by hand.
    #[test]
    fn ranks_are_the_nearest() {
        let spread = Spread::of(vec![5.0, 1.0, 4.0, 2.0, 3.0]);
        let found = [0.25, 0.5, 0.75, 0.99, 1.0].map(|s| spread.at(s));
        assert_eq!(format!("{found:?}"), "[2.0, 3.0, 4.0, 5.0, 5.0]");
        assert!(Spread::of(Vec::new()).at(0.5).is_nan());
    }
}
