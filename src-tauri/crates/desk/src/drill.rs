//! `carrybeat drill`: a scenario by itself, a scripted crew through it at virtual speed, or the sheet of a record.

use std::{
    fs,
    io::{BufWriter, Cursor},
    path::{Path, PathBuf},
};

use ::drill::{Begin, Scenario, Sheet, crew, sheet};
use audio::{Pack, WavOutlet};
use conduct::{Heads, Order, Rehearsed, Speaker};
use cycle::{Ms, Protocol, Setup, SoundNews};
use record::{Digest, RunKind, script::Script};
use words::{DrillWord, Words};

use crate::{
    measures,
    rehearse::{RECORD_ID, keep, no_run_is_lost, read},
};

type Said = Result<String, Vec<String>>;

/// What was asked for besides the scenario.
#[derive(Default)]
struct Options {
    seed: u32,
    crew: Option<PathBuf>,
    record: Option<PathBuf>,
    wav: Option<PathBuf>,
    lang: Option<String>,
    pdf: Option<PathBuf>,
    json: bool,
}

/// Does what the command line says.
pub(crate) fn drill(options: &[&str]) -> Said {
    match options {
        ["--list"] => list(),
        ["--score", record, rest @ ..] => score(record, &read_options(rest)?),
        [scenario, rest @ ..] if !scenario.starts_with("--") => one(scenario, &read_options(rest)?),
        _ => Err(vec![
            "drill needs a SCENARIO, --list or --score RECORD".to_owned(),
        ]),
    }
}

fn read_options(options: &[&str]) -> Result<Options, Vec<String>> {
    let mut read = Options::default();
    let mut rest = options.iter();
    while let Some(option) = rest.next() {
        if *option == "--json" {
            read.json = true;
            continue;
        }
        let mut value = || match rest.next() {
            Some(value) => Ok((*value).to_owned()),
            None => Err(vec![format!("{option} needs a value")]),
        };
        match *option {
            "--seed" => {
                let text = value()?;
                let wrong = |_| {
                    vec![format!(
                        "--seed {text}, allowed: a whole number from 0 to {}",
                        u32::MAX
                    )]
                };
                read.seed = text.parse().map_err(wrong)?;
            }
            "--crew" => read.crew = Some(PathBuf::from(value()?)),
            "--record" => read.record = Some(PathBuf::from(value()?)),
            "--wav" => read.wav = Some(PathBuf::from(value()?)),
            "--lang" => read.lang = Some(value()?),
            "--pdf" => read.pdf = Some(PathBuf::from(value()?)),
            other => {
                let allowed = "--seed, --crew, --record, --wav, --pdf, --lang, --json";
                return Err(vec![format!("option {other}, allowed: {allowed}")]);
            }
        }
    }
    Ok(read)
}

fn list() -> Said {
    let words = words(None)?;
    let lines: Vec<String> = (Scenario::BUILT_IN.iter())
        .filter_map(|(id, _)| Scenario::built_in(id))
        .map(|s| format!("{} {}: {}", s.letter, s.id, s.name.of(words.lang())))
        .collect();
    Ok(lines.join("\n"))
}

fn words(lang: Option<&str>) -> Result<Words, Vec<String>> {
    Words::load(lang.unwrap_or(words::REFERENCE)).map_err(|e| vec![e.to_string()])
}

/// A built-in scenario by its id, else a file.
fn scenario(name: &str) -> Result<Scenario, Vec<String>> {
    if let Some((id, text)) = Scenario::BUILT_IN.iter().find(|(id, _)| *id == name) {
        return Scenario::parse(text.as_bytes()).map_err(|faults| told(id, &faults));
    }
    let path = Path::new(name);
    let bytes = fs::read(path).map_err(|e| {
        let known: Vec<&str> = Scenario::BUILT_IN.iter().map(|(id, _)| *id).collect();
        vec![format!(
            "{}: {e}; built-in scenarios: {}",
            path.display(),
            known.join(", ")
        )]
    })?;
    Scenario::parse(&bytes).map_err(|faults| told(name, &faults))
}

fn told(place: &str, faults: &[::drill::Fault]) -> Vec<String> {
    faults
        .iter()
        .map(|fault| format!("{place}: {fault}"))
        .collect()
}

fn one(name: &str, options: &Options) -> Said {
    let scenario = scenario(name)?;
    let words = words(options.lang.as_deref())?;
    match &options.crew {
        None if options.record.is_some() || options.wav.is_some() || options.pdf.is_some() || options.json => {
            Err(vec!["--record, --wav, --pdf and --json go with --crew: without a crew nothing is played".to_owned()])
        }
        None => Ok(plan(&words, &scenario, options.seed)),
        Some(crew) => {
            let rehearsed = played(name, &scenario, crew, options)?;
            if let Some(path) = &options.record {
                no_run_is_lost(path)?;
                keep(path, &rehearsed.record)?;
            }
            let opened = record::open(&rehearsed.record).map_err(|e| vec![e.to_string()])?;
            scored(&words, &scenario, &opened, options)
        }
    }
}

fn score(path: &str, options: &Options) -> Said {
    if options.crew.is_some()
        || options.record.is_some()
        || options.wav.is_some()
        || options.seed != 0
    {
        return Err(vec![
            "--score takes --lang, --pdf and --json: all else stands in the record".to_owned(),
        ]);
    }
    let (_, opened) = measures::read(path)?;
    let Some(of) = opened
        .header
        .scenario
        .as_ref()
        .filter(|_| opened.header.kind == RunKind::Drill)
    else {
        let kind = serde_json::to_string(&opened.header.kind).unwrap_or_default();
        return Err(vec![format!(
            "{path}: kind = {kind}, allowed: a drill with its scenario; runs are never scored"
        )]);
    };
    let scenario = scenario(&of.id)?;
    if scenario.version != of.version {
        let (found, own) = (&of.version, &scenario.version);
        return Err(vec![format!(
            "{path}: scenario {} version {found:?}, allowed: {own:?}",
            of.id
        )]);
    }
    scored(
        &words(options.lang.as_deref())?,
        &scenario,
        &opened,
        options,
    )
}

fn scored(words: &Words, scenario: &Scenario, opened: &record::Opened, options: &Options) -> Said {
    let found: Sheet = sheet(scenario, opened).map_err(|e| vec![e.to_string()])?;
    let in_words = || {
        let mut sheet = words.drill_sheet(scenario, &found);
        let injected = ::drill::told(opened).injected;
        sheet.notes.extend(words.drill_injected(&injected));
        sheet
    };
    if let Some(path) = &options.pdf {
        let fingerprint = record::fingerprint(opened).to_string();
        let foot = fingerprint.get(..8).unwrap_or_default();
        let crew = ::drill::told(opened).crew.unwrap_or_default();
        let began = ::debrief::began(opened).map(|wall| wall.to_string());
        let held = words.drill_held(began.as_deref(), &crew);
        let bytes = ::sheet::drill_pdf(&in_words(), &held, foot, words, ::sheet::Paper::A4);
        keep(path, &bytes.map_err(|e| vec![e.to_string()])?)?;
    }
    if options.json {
        return serde_json::to_string_pretty(&found).map_err(|e| vec![e.to_string()]);
    }
    Ok(in_words().text())
}

/// What an instructor reads out and looks for, without a crew.
fn plan(words: &Words, scenario: &Scenario, seed: u32) -> String {
    let lang = words.lang();
    let begin = match scenario.begin {
        Begin::Hand => DrillWord::BeginHand,
        Begin::Device => DrillWord::BeginDevice,
    };
    let mut lines = vec![
        format!("{}: {}", scenario.letter, scenario.name.of(lang)),
        format!(
            "{} {}",
            words.drill(DrillWord::Notice, &[]),
            words.drill_variation(seed)
        ),
        words.drill(begin, &[]),
        format!(
            "{}: {}",
            words.drill(DrillWord::Scene, &[]),
            scenario.scene.of(lang)
        ),
        String::new(),
    ];
    lines.extend(words.drill_told(scenario, seed));
    lines.push(String::new());
    lines.push(format!("{}:", words.drill(DrillWord::Expected, &[])));
    lines.extend(words.drill_expected(scenario, seed));
    lines.push(String::new());
    lines.push(format!("{}:", words.drill(DrillWord::Checklist, &[])));
    lines.extend(
        scenario
            .checklist
            .iter()
            .map(|item| words.drill_item(*item)),
    );
    lines.push(words.drill(DrillWord::NotMeasured, &[]));
    lines.join("\n")
}

/// A scripted crew through the scenario, at virtual speed.
fn played(
    name: &str,
    scenario: &Scenario,
    path: &Path,
    options: &Options,
) -> Result<Rehearsed, Vec<String>> {
    let bytes = read(path, "a crew's script (docs/drill.md)")?;
    let script = crew(&bytes, scenario, options.seed)
        .map_err(|e| vec![format!("{}: {e}", path.display())])?;
    if let Some(found) = script
        .protocol
        .as_ref()
        .filter(|found| scenario.protocol.as_ref() != Some(*found))
    {
        let allowed = "the scenario's own, or none";
        return Err(vec![format!(
            "{}: protocol = {found:?}, allowed: {allowed}",
            path.display()
        )]);
    }
    let pack = Pack::speaking(&script.lang);
    let setup = setup(name, scenario, &pack)?;
    let heads = Heads {
        kind: RunKind::Drill,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        pack_id: pack.id().to_owned(),
        pack_sha256: pack.hash().parse().unwrap_or_else(|_| Digest::of(b"")),
        lang: script.lang.clone(),
        tz: "UTC".to_owned(),
        record_id: RECORD_ID.to_owned(),
        scenario: Some(record::Scenario {
            id: scenario.id.clone(),
            version: scenario.version.clone(),
        }),
        unit_code: None,
    };
    let run = |speaker: &mut dyn Speaker| {
        perform(&script, (scenario, options.seed), &setup, &heads, speaker)
    };
    let Some(wav) = &options.wav else {
        return run(&mut Unheard);
    };
    let failed = |e: &dyn std::fmt::Display| vec![format!("{}: {e}", wav.display())];
    // In memory first: nothing is left behind where a mark cannot stand.
    let mut sound = Cursor::new(Vec::new());
    let mut outlet = WavOutlet::new(BufWriter::new(&mut sound), &pack).map_err(|e| failed(&e))?;
    let rehearsed = run(&mut outlet)?;
    outlet.finish(rehearsed.end).map_err(|e| failed(&e))?;
    keep(wav, sound.get_ref())?;
    Ok(rehearsed)
}

fn perform(
    script: &Script,
    of: (&Scenario, u32),
    setup: &Setup,
    heads: &Heads,
    speaker: &mut dyn Speaker,
) -> Result<Rehearsed, Vec<String>> {
    conduct::rehearse_drill(script, of, setup.clone(), heads, speaker)
        .map_err(|e| vec![e.to_string()])
}

/// The protocol that the scenario names: a built-in one, or a file beside it; else the example of its class.
fn setup(name: &str, scenario: &Scenario, pack: &Pack) -> Result<Setup, Vec<String>> {
    let of_class = format!("example-{}", scenario.class.word());
    let id = scenario.protocol.as_deref().unwrap_or(&of_class);
    let faulty = |place: &str, faults: &[cycle::ProtocolFault]| -> Vec<String> {
        faults.iter().map(|f| format!("{place}: {f}")).collect()
    };
    let protocol = if let Some(text) = Protocol::example(id) {
        Protocol::parse(text.as_bytes()).map_err(|faults| faulty(id, &faults))?
    } else {
        let path = Path::new(name)
            .parent()
            .unwrap_or_else(|| Path::new(""))
            .join(id);
        let place = path.display().to_string();
        let bytes = fs::read(&path).map_err(|e| vec![format!("{place}: {e}")])?;
        Protocol::parse(&bytes).map_err(|faults| faulty(&place, &faults))?
    };
    if protocol.class != scenario.class {
        let (found, allowed) = (scenario.class.word(), protocol.class.word());
        return Err(vec![format!(
            "class {found:?}, allowed with protocol {id}: {allowed:?}"
        )]);
    }
    let others = protocol
        .examples_beside()
        .map_err(|faults| faulty(id, &faults))?;
    Ok(Setup {
        class: protocol.class,
        protocol,
        clips: pack.lengths().clone(),
        others,
    })
}

/// Nothing is heard and nothing is told of the sound: where only the sheet is wanted.
#[derive(Debug)]
struct Unheard;

impl Speaker for Unheard {
    fn order(&mut self, _now: Ms, _order: Order) {}

    fn news(&mut self, _now: Ms) -> Option<SoundNews> {
        None
    }

    fn next_wakeup(&self) -> Option<Ms> {
        None
    }
}
