//! Random records with their measures, one JSON object a line, for the second implementation to be held
//! against: `random_measures N [FIRST_SEED]`.
//!
//! The records are what the rules write for a crew that marks at random. Each has a pulse, an unknown
//! stretch, a stacked and a through-shock, and amendments.
#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    reason = "a program of the tests: it speaks, and a fault of its own ends it"
)]

use cycle::{
    ClipLengths, Entry, Fact, Input, Line, Mark, Ms, Output, Prompt, Protocol, Run, Seq, Setup,
    StateWord,
    fact::{Amend, AmendOp, AmendReason, Source, Way},
    mark::{BreathMode, By, PatientClass, Reason, SetState},
    trace,
};
use debrief::{Basis, measures};
use record::{
    Answer, App, BreathSetting, Chain, ClockState, Digest, Header, Pack, Platform, ProtocolId,
    ProtocolLine, RunKind, Schema, Settings, Stamp, Wall,
};
use serde_json::{Value, json};

/// The splitmix64 sequence. Source: Steele, Lea and Flood 2014.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: u64, high: u64) -> u64 {
        low + self.roll() % (high - low + 1)
    }

    fn percent(&mut self, p: u64) -> bool {
        self.roll() % 100 < p
    }

    fn of<'t, T>(&mut self, list: &'t [T]) -> &'t T {
        let n = usize::try_from(self.roll()).unwrap() % list.len();
        &list[n]
    }
}

/// What a crew may mark besides, with how often it is offered.
const OTHERS: &[(usize, &str, &str)] = &[
    (3, "compr_stop", r#"{"reason": "rhythm_check"}"#),
    (2, "compr_stop", r#"{"reason": "ventilation"}"#),
    (1, "rosc", "{}"),
    (
        3,
        "drug",
        r#"{"drug": "adrenaline", "by_other_unit": true}"#,
    ),
    (
        1,
        "shock",
        r#"{"timed": true, "by": "us", "through": true}"#,
    ),
    (
        1,
        "shock",
        r#"{"timed": true, "by": "us", "stacked": true}"#,
    ),
    (2, "no_shock", "{}"),
    (1, "analysing", "{}"),
    (1, "leads", r#"{"on": true}"#),
    (1, "pads", r#"{"connected": true}"#),
    (2, "fit", r#"{"step": "open_on"}"#),
    (1, "fit_refused", r#"{"reason": "too_small"}"#),
    (4, "cup", r#"{"act": "good"}"#),
    (1, "cup", r#"{"act": "reseat"}"#),
    (2, "move", r#"{"act": "begin"}"#),
    (2, "move", r#"{"act": "set_down"}"#),
    (1, "move", r#"{"act": "loaded"}"#),
    (2, "power", r#"{"act": "swap_begin"}"#),
    (3, "power", r#"{"act": "swap_end"}"#),
    (1, "airway", r#"{"act": "in", "device": "sga"}"#),
    (1, "airway", r#"{"act": "in"}"#),
    (1, "airway", r#"{"act": "lost"}"#),
    (1, "airway", r#"{"act": "try_begin"}"#),
    (1, "procedure", r#"{"act": "begin", "what": "ultrasound"}"#),
    (1, "procedure", r#"{"act": "begin", "what": "other"}"#),
    (1, "procedure", r#"{"act": "end", "what": "ultrasound"}"#),
    (3, "vent", r#"{"n": 1}"#),
    (1, "vent", r#"{"n": 2}"#),
    (1, "patient", r#"{"class": "child"}"#),
    (1, "patient", r#"{"class": "adult", "rescuers": 1}"#),
    (
        1,
        "overlay",
        r#"{"kind": "cold", "on": true, "temp_band": "30_35"}"#,
    ),
    (1, "overlay", r#"{"kind": "cold", "on": false}"#),
    (1, "overlay", r#"{"kind": "drowning", "on": true}"#),
    (
        1,
        "prior_care",
        r#"{"cpr": "bystander", "doses": [{"drug": "adrenaline", "n": 2, "last_min": 3}], "by": "mechanical"}"#,
    ),
    (
        1,
        "prior_care",
        r#"{"cpr": "none", "airway": "sga", "by": "manual"}"#,
    ),
    (1, "arrest", r#"{"basis": "witnessed"}"#),
    (
        1,
        "clock_mark",
        r#"{"ref": "monitor", "shown": "23:59:58"}"#,
    ),
    (1, "resume", r#"{"choice": "as_before"}"#),
    (1, "resume", r#"{"choice": "same_patient"}"#),
    (1, "rotate", "{}"),
];

/// What a crew may mark, as often as it is offered.
fn marks() -> Vec<Mark> {
    let mut all = Vec::new();
    let mut add = |times: usize, ev: &str, d: Value| {
        let text = json!({"ev": ev, "d": d});
        let mark: Mark = serde_json::from_value(text).expect("a mark of the record's page");
        all.extend(std::iter::repeat_n(mark, times));
    };
    for by in ["manual", "mechanical"] {
        add(8, "compr_start", json!({"by": by}));
        add(2, "rearrest", json!({"by": by}));
    }
    for reason in Reason::ALL.iter().filter(|r| **r != Reason::Rosc) {
        add(1, "compr_stop", json!({"reason": reason}));
        add(1, "why", json!({"reason": reason}));
    }
    for drug in ["adrenaline", "antiarrhythmic", "calcium"] {
        add(1, "drug", json!({"drug": drug}));
        add(1, "drug", json!({"drug": drug, "prior": true}));
    }
    for by in ["us", "others"] {
        add(1, "shock", json!({"timed": true, "by": by}));
        add(1, "shock", json!({"timed": false, "by": by}));
    }
    for rhythm in ["vf", "asystole", "unknown"] {
        add(1, "rhythm", json!({"rhythm": rhythm}));
    }
    for mode in ["ratio", "continuous", "none"] {
        add(1, "breath_mode", json!({"mode": mode}));
    }
    for (times, ev, d) in OTHERS {
        add(*times, ev, serde_json::from_str(d).expect("fields"));
    }
    all
}

/// A crew under way, and the record that it leaves.
struct Crew {
    dice: Dice,
    run: Run,
    now: u64,
    chain: Chain,
    lines: Vec<String>,
    /// The marks in it.
    marks: Vec<(Seq, Ms)>,
    /// The system was started anew then.
    boot: Option<u64>,
    last: (Seq, Ms),
}

impl Crew {
    fn stamp(&self, now: u64) -> Stamp {
        let began = 1_764_077_400_000_i64;
        Stamp {
            mono_ms: self.boot.map_or(3_600_000 + now, |at| 5_000 + now - at),
            boot: self.boot.map_or("a-boot", |_| "another-boot").to_owned(),
            proc: 0,
            wall: Wall::new(began + i64::try_from(now).unwrap(), -300).unwrap(),
        }
    }

    fn write(&mut self, entry: &Entry) {
        let stamp = self.stamp(entry.taken.0);
        let line = record::encode(&mut self.chain, &stamp, entry).expect("a line");
        self.keep(&line);
        self.last = (entry.seq, entry.taken);
        if let Fact::Mark(_) = &entry.fact {
            self.marks.push((entry.seq, entry.at));
        }
    }

    fn keep(&mut self, line: &[u8]) {
        let text = String::from_utf8(line.to_vec()).expect("a record is UTF-8");
        self.lines.push(text.trim_end().to_owned());
    }

    fn drain(&mut self) {
        while let Some(output) = self.run.poll() {
            if let Output::Write(entry) = output {
                self.write(&entry);
            }
        }
    }

    fn give(&mut self, input: Input) {
        self.run.handle(Ms(self.now), input);
        self.drain();
    }

    fn wait(&mut self, ms: u64) {
        let until = self.now + ms;
        while let Some(at) = self.run.next_wakeup().filter(|at| at.0 <= until) {
            self.now = self.now.max(at.0);
            self.give(Input::Wake);
            if self.run.next_wakeup() == Some(at) {
                break;
            }
        }
        self.now = until;
    }

    fn mark(&mut self, mark: Mark) {
        let at = Ms(self.now - self.dice.between(0, 300).min(self.now));
        let src = Source::Button;
        self.give(Input::Mark { at, mark, src });
    }

    fn say(&mut self, ev: &str, d: &Value) {
        self.mark(serde_json::from_value(json!({"ev": ev, "d": d})).expect("a mark"));
        let pause = self.dice.between(500, 20_000);
        self.wait(pause);
    }

    fn has_pulse(&self) -> bool {
        let again = json!({"ev": "rearrest", "d": {"by": "manual"}});
        let again: Mark = serde_json::from_value(again).expect("a mark");
        self.run.check(&again).is_ok()
    }

    /// Random marks that the rules take, some that they do not, and changes of marks.
    fn at_random(&mut self, all: &[Mark], steps: u64) {
        for _ in 0..steps {
            let pause = self.dice.between(0, 15_000);
            self.wait(pause);
            match self.dice.between(0, 99) {
                0..3 => self.give(Input::Undo),
                3..6 => {
                    let (target, _) = *self.dice.of(&self.marks);
                    let by = Ms(self.dice.between(1000, 30_000));
                    self.give(Input::Earlier { target, by });
                }
                6..8 => {
                    let state = *self.dice.of(SetState::ALL);
                    let back = Ms(self.dice.between(0, 60_000));
                    self.give(Input::SetRight { state, back });
                }
                _ => {
                    let mark = self.dice.of(all).clone();
                    if self.run.check(&mark).is_ok() || self.dice.percent(10) {
                        self.mark(mark);
                    }
                }
            }
        }
    }

    fn by_hand(&mut self) {
        if self.has_pulse() {
            self.say("rearrest", &json!({"by": "manual"}));
        }
        let start = json!({"ev": "compr_start", "d": {"by": "manual"}});
        let start: Mark = serde_json::from_value(start).expect("a mark");
        if self.run.check(&start).is_ok() {
            self.mark(start);
        }
        self.wait(12_000);
    }

    fn kill(&mut self) {
        let gap = *self.dice.of(&[4_000_u64, 30_000, 290_000, 400_000]);
        self.now += gap;
        if self.dice.percent(50) && self.boot.is_none() {
            self.boot = Some(self.now);
        }
        let (from_seq, from) = self.last;
        self.give(Input::Recovered {
            from_seq,
            from,
            bad_bytes: 0,
        });
        self.wait(5_000);
        // After a new patient nothing more is taken: seldom enough.
        if self.dice.percent(25) {
            let choice = *self.dice.of(&["as_before", "same_patient", "new_patient"]);
            self.say("resume", &json!({ "choice": choice }));
        }
        self.by_hand();
    }

    /// What every record has.
    fn asked_for(&mut self) {
        self.by_hand();
        self.say("compr_stop", &json!({"reason": "rhythm_check"}));
        self.say("shock", &json!({"timed": true, "by": "us"}));
        self.say(
            "shock",
            &json!({"timed": true, "by": "us", "stacked": true}),
        );
        self.say("compr_start", &json!({"by": "mechanical"}));
        self.say(
            "shock",
            &json!({"timed": true, "by": "us", "through": true}),
        );
        if self.dice.percent(40) {
            self.say("power", &json!({"act": "swap_begin"}));
            let long = *self.dice.of(&[0, 45_000]);
            self.wait(long);
            self.say("power", &json!({"act": "swap_end"}));
        }
        let stop = json!({"ev": "compr_stop", "d": {"reason": "pulse_check"}});
        let stop: Mark = serde_json::from_value(stop).expect("a mark");
        if self.run.check(&stop).is_ok() {
            self.mark(stop);
            self.wait(5_000);
        }
        self.say("rosc", &json!({}));
        self.say("rearrest", &json!({"by": "manual"}));
    }

    fn bytes(&self) -> Vec<u8> {
        let mut bytes = self.lines.join("\n").into_bytes();
        bytes.push(b'\n');
        bytes
    }

    /// The record tells the state line that the run has.
    fn is_told_as_it_ran(&self, seed: u64) {
        let opened = record::open(&self.bytes()).expect("a record");
        let standing = record::amended(&opened.entries).entries;
        let steps = trace(self.run.setup(), &standing);
        let told = match steps.last().map(|step| step.line) {
            None | Some(Line::Before) => StateWord::Before,
            Some(Line::Compressing(By::Manual)) => StateWord::ByHand,
            Some(Line::Compressing(By::Mechanical)) => StateWord::ByDevice,
            Some(Line::HandsOff(_)) => StateWord::HandsOff,
            Some(Line::Pulse) => StateWord::Pulse,
            Some(Line::Unknown) => StateWord::Unknown,
            Some(Line::Ended) => StateWord::Ended,
        };
        assert_eq!(told, self.run.view(Ms(self.now)).state, "seed {seed}");
    }

    fn seal(&mut self, rev: u32) {
        let stamp = self.stamp(self.now);
        let line = record::encode_seal(&mut self.chain, &stamp, rev).expect("a seal");
        self.keep(&line);
    }

    fn review(&mut self, all: &[Mark]) {
        for _ in 0..self.dice.between(1, 4) {
            let (target, at) = *self.dice.of(&self.marks);
            let moved = Ms((at.0 + self.dice.between(0, 40_000)).saturating_sub(20_000));
            let new = self.dice.of(all).clone();
            let op = match self.dice.between(0, 2) {
                0 => AmendOp::Retime { at_ms: moved },
                1 => AmendOp::Replace { new },
                _ => AmendOp::Retract,
            };
            self.now += 1000;
            let entry = Entry {
                seq: self.chain.next(),
                at: Ms(self.now),
                taken: Ms(self.now),
                src: Source::Review,
                fact: Fact::Amend(Amend {
                    target,
                    op,
                    reason: AmendReason::CrewRecall,
                    by_role: None,
                }),
            };
            self.write(&entry);
        }
    }
}

fn setup(id: &str) -> Setup {
    let parse = |text: &str| Protocol::parse(text.as_bytes()).expect("a built-in protocol");
    let protocol = parse(Protocol::example(id).expect("a built-in protocol"));
    Setup {
        class: protocol.class,
        others: protocol.examples_beside().expect("built-in protocols"),
        clips: ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 900)).collect()).unwrap(),
        protocol,
    }
}

fn heads(setup: &Setup, seed: u64) -> (Header, ProtocolLine) {
    let line = ProtocolLine {
        toml: setup.protocol.text.clone(),
        others: setup.others.iter().map(|p| p.text.clone()).collect(),
        pack: Pack {
            id: "en-US".to_owned(),
            sha256: Digest::of(b"a manifest"),
            clip_ms: Prompt::ALL
                .iter()
                .map(|p| (p.word().to_owned(), 900))
                .collect(),
        },
    };
    let header = Header {
        schema: Schema::CURRENT,
        record_id: format!("0f9b6c1e-3c1d-4f0a-9d3e-{seed:012x}"),
        kind: RunKind::Test,
        app: App {
            name: "carrybeat".to_owned(),
            version: "0.1.0".to_owned(),
            build: "random".to_owned(),
        },
        platform: Platform {
            os: "linux".to_owned(),
            os_version: String::new(),
            model_class: "desktop".to_owned(),
        },
        tz: "America/New_York".to_owned(),
        clock: ClockState {
            auto_time: Answer::Unknown,
            last_sync_s: None,
        },
        metrics: debrief::VERSION.to_owned(),
        protocol: ProtocolId {
            id: setup.protocol.id.clone(),
            version: setup.protocol.version.clone(),
            sha256: line.sha256(),
        },
        settings: Settings {
            rate_per_min: setup.protocol.rate.per_minute(),
            breath_mode: BreathSetting {
                mode: BreathMode::Ratio,
                ratio: None,
                every_ms: None,
                via: None,
            },
            cycle_s: 120,
            pause_min_ms: 1000,
            drug_windows: Vec::new(),
        },
        unit_code: None,
        crew_size: 2,
        patient_class: setup.class,
        ems_witnessed: Answer::No,
        scenario: None,
        lang: "en-US".to_owned(),
    };
    (header, line)
}

fn crew(seed: u64) -> Crew {
    let ids = [
        "example-adult",
        "example-adult-b",
        "example-adult",
        "example-child",
    ];
    let n = usize::try_from(seed).unwrap();
    let setup = setup(ids[n % ids.len()]);
    assert!(setup.class != PatientClass::Newborn);
    let (header, protocol) = heads(&setup, seed);
    let mut crew = Crew {
        dice: Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15)),
        run: Run::new(setup),
        now: 0,
        chain: Chain::new(),
        lines: Vec::new(),
        marks: Vec::new(),
        boot: None,
        last: (Seq(1), Ms::ZERO),
    };
    let stamp = crew.stamp(0);
    let line = record::encode_header(&mut crew.chain, &stamp, &header).expect("a header");
    crew.keep(&line);
    let line = record::encode_protocol(&mut crew.chain, &stamp, &protocol).expect("a protocol");
    crew.keep(&line);
    let ways = [Way::Hand, Way::Device, Way::Earlier, Way::Hand];
    crew.give(Input::Start(ways[n / 4 % 4]));
    crew
}

fn one(seed: u64, all: &[Mark]) -> Value {
    let mut crew = crew(seed);
    if crew.dice.percent(70) {
        crew.say("arrest", &json!({"basis": "recognised"}));
    }
    crew.by_hand();
    let steps = crew.dice.between(5, 40);
    crew.at_random(all, steps);
    crew.asked_for();
    crew.kill();
    let steps = crew.dice.between(5, 40);
    crew.at_random(all, steps);
    if crew.dice.percent(15) {
        crew.say("times", &json!({"which": "handover"}));
        crew.by_hand();
    }
    if crew.dice.percent(85) {
        let outcome = *crew
            .dice
            .of(&["rosc", "stopped", "handed_over", "no_arrest"]);
        crew.say("end", &json!({ "outcome": outcome }));
    }
    crew.is_told_as_it_ran(seed);
    crew.seal(1);
    crew.review(all);
    if crew.dice.percent(70) {
        crew.seal(2);
    }
    let opened = record::open(&crew.bytes()).expect("a record");
    assert_eq!(opened.damage, [], "seed {seed}");
    json!({
        "seed": seed,
        "record": crew.lines,
        "amended": measures(&opened, Basis::Amended).expect("measures"),
        "recorded": measures(&opened, Basis::Recorded).expect("measures"),
    })
}

fn main() {
    let mut words = std::env::args().skip(1);
    let mut number = |absent: u64| {
        words.next().map_or(absent, |word| {
            word.parse()
                .expect("random_measures N [FIRST_SEED]: whole numbers")
        })
    };
    let (n, first) = (number(200), number(0));
    let all = marks();
    for seed in first..first + n {
        println!("{}", one(seed, &all));
    }
}
