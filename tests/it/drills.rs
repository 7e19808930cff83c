//! Drills in the real window: chosen on their page, done by the crews of `tests/drills` with real touches at real time,
//! and scored from the record that was kept. Each sheet must be the one that was worked out by hand.

mod hands;

use std::{
    collections::VecDeque,
    fmt, fs,
    path::Path,
    process::Command,
    sync::{Mutex, PoisonError},
    time::{Duration, Instant},
};

use serde_json::{Value, json};

use self::hands::{LOOK, end, steps_of, touch, turn_to};
use crate::rig::{Crew, Rig, SoundServer, Told, alone, built, root, say, wait_for};

/// A mark may come so much later than the script has it, s: what lies behind Mark takes three touches. Or so much
/// sooner: hands are marked back on by the key of no shock.
const WITHIN_S: f64 = 2.5;
const PATIENCE: Duration = Duration::from_secs(8);
/// Walks that go on beside each other, unless `CARRYBEAT_DRILLS_AT_ONCE` says otherwise.
const AT_ONCE: usize = 4;

/// A machine that keeps the hand longer than this has not done the script.
const KEPT: Duration = Duration::from_millis(600);
/// What is not as by hand because the machine kept the hand is done again, so often in all.
const TRIES: usize = 3;

/// The built-in drills: id, letter, and the key of the start that each is made for.
const DRILLS: [(&str, &str, &str); 6] = [
    ("device_on", "A", "Start by Hand"),
    ("check_and_shock", "B", "Start by Hand"),
    ("first_minutes", "C", "Start by Hand"),
    ("slip_and_off", "D", "Device On"),
    ("out_to_vehicle", "E", "Device On"),
    ("drugs_and_breaths", "F", "Start by Hand"),
];

fn read(path: &Path) -> Told<Value> {
    let text = fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    serde_json::from_str(&text).map_err(|e| format!("{}: {e}", path.display()))
}

/// Chooses a drill on the page of the drills.
fn choose(crew: &mut Crew, letter: &str) -> Told<()> {
    crew.press("Menu")?;
    let drills = turn_to(crew, "Drills")?;
    crew.press(&drills)?;
    crew.see("Choose a drill", PATIENCE)?;
    let name = wait_for("the drill's key", PATIENCE, || {
        let all = crew.script(
            "return [...document.querySelectorAll('button')].map((e) => e.innerText.replace(/\\s+/g, ' ').trim());",
        )?;
        let names = all
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Value::as_str);
        let begins = format!("{letter}: ");
        Ok(names
            .map(str::to_owned)
            .find(|name| name.starts_with(&begins)))
    })?;
    crew.press_far(&name)?;
    let take = turn_to(crew, "Do This Drill")?;
    crew.press(&take)?;
    // The start card names it before it begins.
    crew.see(&name, PATIENCE)
}

/// The score sheet of the record that was kept, by the program of the desk.
fn scored(record: &Path) -> Told<Value> {
    let output = Command::new(built("carrybeat")?)
        .args(["drill", "--score"])
        .arg(record)
        .arg("--json")
        .output()
        .map_err(|e| format!("carrybeat: {e}"))?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    serde_json::from_slice(&output.stdout).map_err(|e| e.to_string())
}

/// The record's first line must say that it is of this drill.
fn is_of_drill(record: &Path, id: &str) -> Told<()> {
    let text = fs::read_to_string(record).map_err(|e| format!("{}: {e}", record.display()))?;
    let header: Value = serde_json::from_str(text.lines().next().unwrap_or_default())
        .map_err(|e| format!("{}: {e}", record.display()))?;
    let (kind, scenario) = (&header["d"]["kind"], &header["d"]["scenario"]["id"]);
    if kind == "drill" && scenario == id {
        Ok(())
    } else {
        Err(format!("the record is of kind {kind}, scenario {scenario}"))
    }
}

fn rows(of: &Value, key: &str) -> Vec<Value> {
    of[key].as_array().cloned().unwrap_or_default()
}

/// Outcomes and points of every mark, points of every measure, and the whole; times within what a touch takes.
fn compare(found: &Value, hand: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    for key in ["marks", "measures"] {
        let (found, by_hand) = (rows(found, key).len(), rows(hand, key).len());
        if found != by_hand || by_hand == 0 {
            faults.push(format!("{found} {key}, by hand {by_hand}"));
        }
    }
    for (row, hand) in rows(found, "marks").iter().zip(&rows(hand, "marks")) {
        let got = json!([row["id"], row["outcome"], row["points"]]);
        if got != json!([hand[0], hand[1], hand[3]]) {
            faults.push(format!("{row}, by hand {hand}"));
        }
        if off_by(row, hand).is_some_and(|off| off.abs() > WITHIN_S) {
            faults.push(format!("{row}, by hand after {} s", hand[2]));
        }
    }
    for (row, hand) in rows(found, "measures").iter().zip(&rows(hand, "measures")) {
        if json!([row["what"], row["points"]]) != json!([hand[0], hand[2]]) {
            faults.push(format!("{row}, by hand {hand}"));
        }
    }
    for key in ["points", "of", "percent", "passed"] {
        if found[key] != hand[key] {
            faults.push(format!("{key} = {}, by hand {}", found[key], hand[key]));
        }
    }
    faults
}

/// How much later than by hand a mark came, s.
fn off_by(row: &Value, hand: &Value) -> Option<f64> {
    Some(row["took_s"].as_f64()? - hand[2].as_f64()?)
}

/// A drill, and the crew that does it.
#[derive(Clone, Debug)]
struct Walk {
    id: &'static str,
    letter: &'static str,
    start: &'static str,
    crew: String,
    script: Value,
    hand: Value,
}

impl fmt::Display for Walk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.id, self.crew)
    }
}

/// What came of a walk: its figures, and what is not as by hand.
#[derive(Debug)]
struct Walked {
    figures: String,
    faults: Vec<String>,
}

impl Walk {
    fn of(
        (id, letter, start): (&'static str, &'static str, &'static str),
        crew: &str,
    ) -> Told<Self> {
        let folder = root().join("tests/drills");
        Ok(Self {
            id,
            letter,
            start,
            crew: crew.to_owned(),
            script: read(&folder.join(id).join(format!("{crew}.json")))?,
            hand: read(&folder.join("sheets.json"))?[id][crew].clone(),
        })
    }

    /// Every crew of every drill, the longest first; a script without a sheet, or a sheet without one, is a fault.
    fn all() -> Told<Vec<Self>> {
        let folder = root().join("tests/drills");
        let sheets = read(&folder.join("sheets.json"))?;
        let mut walks = Vec::new();
        for drill in DRILLS {
            let crews = sheets[drill.0]
                .as_object()
                .ok_or("a drill without sheets")?;
            let scripts = fs::read_dir(folder.join(drill.0)).map_err(|e| e.to_string())?;
            if scripts.count() != crews.len() {
                return Err(format!("{}: scripts and sheets are not as many", drill.0));
            }
            for crew in crews.keys() {
                walks.push(Self::of(drill, crew)?);
            }
        }
        walks.sort_by(|one, other| other.end_s().total_cmp(&one.end_s()));
        Ok(walks)
    }

    fn end_s(&self) -> f64 {
        self.script["end_s"].as_f64().unwrap_or_default()
    }

    /// Does the drill as its crew does. With `first` the instructor tells the first cue then, and the crew counts from it;
    /// else all is by the clock. It ends so long after the last touch, or when the script ends. `kept` becomes how much
    /// later than it was meant the latest touch came.
    fn go(&self, rig: &Rig, first: Option<Duration>, kept: &mut Duration) -> Told<Walked> {
        let steps = steps_of(self.id, &self.crew, &self.script)?;
        let _sound = SoundServer::start(rig)?;
        let mut crew = Crew::open(rig)?;
        std::thread::sleep(Duration::from_secs(4));
        choose(&mut crew, self.letter)?;
        crew.press(self.start)?;
        let mut zero = crew.touched()?;
        crew.see("Drill: no patient", PATIENCE)?;
        let mut last = zero + Duration::from_secs_f64(self.end_s());
        // The first cue is planned at 60 s; told sooner, all is so much sooner.
        if let Some(at) = first {
            std::thread::sleep((zero + at).saturating_duration_since(Instant::now() + LOOK));
            crew.press("Mark")?;
            let corner = turn_to(&mut crew, "Instructor")?;
            crew.press(&corner)?;
            let next = turn_to(&mut crew, "Next: ")?;
            crew.press_at(&next, zero + at)?;
            let told = crew.touched()?;
            zero = told.checked_sub(Duration::from_mins(1)).ok_or("no zero")?;
        }
        for step in &steps {
            let late = touch(&mut crew, step, zero)
                .map_err(|e| format!("{} at {} s: {e}", step.key, step.at_s))?;
            *kept = late.max(*kept);
        }
        if first.is_some() {
            last = Instant::now() + Duration::from_secs(2);
        }
        std::thread::sleep(last.saturating_duration_since(Instant::now()));
        crew.see("Drill: no patient", PATIENCE)?;
        end(&mut crew)?;
        std::thread::sleep(Duration::from_secs(2));
        let record = rig.records()?.pop().ok_or("no record")?;
        is_of_drill(&record, self.id)?;
        let found = scored(&record)?;
        let off = rows(&found, "marks")
            .iter()
            .zip(&rows(&self.hand, "marks"))
            .filter_map(|(row, hand)| off_by(row, hand))
            .fold((0.0, 0.0), |(least, most), off| {
                (off.min(least), off.max(most))
            });
        let figures = format!(
            "{} of {} points, {} %, {}, {} touches, up to {:.2} s late, marks {:+.2} to {:+.2} s off the script",
            found["points"],
            found["of"],
            found["percent"],
            if found["passed"] == true {
                "passed"
            } else {
                "not passed"
            },
            crew.taps(),
            kept.as_secs_f64(),
            off.0,
            off.1,
        );
        crew.close()?;
        Ok(Walked {
            figures,
            faults: compare(&found, &self.hand),
        })
    }

    /// With others beside it, in a rig that is raised for each try: what went wrong, in words.
    fn go_beside(&self, first: Option<Duration>, raise: impl Fn(&str) -> Told<Rig>) -> Vec<String> {
        for again in 1..=TRIES {
            let (began, mut kept) = (Instant::now(), Duration::ZERO);
            let name = format!("drill-{}-{}-{again}", self.id, self.crew);
            let walked = raise(&name).and_then(|rig| self.go(&rig, first, &mut kept));
            let (figures, faults) = match walked {
                Ok(Walked { figures, faults }) => (figures, faults),
                Err(e) => ("broken off".to_owned(), vec![e]),
            };
            let as_by_hand = if faults.is_empty() {
                "as by hand"
            } else {
                "NOT AS BY HAND"
            };
            let took = began.elapsed().as_secs();
            say(&format!("drill {self}: {figures}; {as_by_hand}, {took} s"));
            let faults: Vec<String> = faults
                .iter()
                .map(|fault| format!("{self}: {fault}"))
                .collect();
            for fault in &faults {
                say(fault);
            }
            if faults.is_empty() || kept <= KEPT || again == TRIES {
                return faults;
            }
            say(&format!(
                "drill {self}: a touch came {kept:?} late; once more"
            ));
        }
        vec![format!("{self}: no try")]
    }
}

/// The walks that `CARRYBEAT_DRILLS` names, `DRILL/CREW` with commas between; all where it is not set.
fn chosen(all: Vec<Walk>) -> Told<Vec<Walk>> {
    let Ok(names) = std::env::var("CARRYBEAT_DRILLS") else {
        return Ok(all);
    };
    let find = |name: &str| {
        let found = all.iter().find(|walk| walk.to_string() == name);
        let allowed = || {
            all.iter()
                .map(Walk::to_string)
                .collect::<Vec<_>>()
                .join(", ")
        };
        found
            .cloned()
            .ok_or_else(|| format!("CARRYBEAT_DRILLS: {name:?}, allowed: {}", allowed()))
    };
    names.split(',').map(|name| find(name.trim())).collect()
}

fn at_once() -> Told<usize> {
    match std::env::var("CARRYBEAT_DRILLS_AT_ONCE") {
        Err(_) => Ok(AT_ONCE),
        Ok(text) => text
            .parse()
            .ok()
            .filter(|n| (1..=16).contains(n))
            .ok_or_else(|| format!("CARRYBEAT_DRILLS_AT_ONCE: {text:?}, allowed: 1 to 16")),
    }
}

/// Each walk has a rig of its own; the lock that keeps rigs apart is held once for them all. Nothing here measures sound,
/// and a touch that comes late shows in its time.
#[test]
#[ignore = "45 minutes of real time, four walks at a time"]
fn every_drill_by_every_crew_in_the_window_is_scored_as_by_hand() -> Told<()> {
    let (walks, at_once) = (chosen(Walk::all()?)?, at_once()?);
    let count = walks.len();
    let alone = alone();
    let left = Mutex::new(VecDeque::from(walks));
    let faults: Mutex<Vec<String>> = Mutex::new(Vec::new());
    let next = || {
        left.lock()
            .unwrap_or_else(PoisonError::into_inner)
            .pop_front()
    };
    std::thread::scope(|scope| {
        for _ in 0..at_once {
            scope.spawn(|| {
                while let Some(walk) = next() {
                    // A walk that panics is one fault more; the others go on.
                    let raise = |name: &str| Rig::beside(name, &alone);
                    let done =
                        std::thread::scope(|own| own.spawn(|| walk.go_beside(None, raise)).join());
                    let found = done.unwrap_or_else(|_| vec![format!("{walk}: it panicked")]);
                    faults
                        .lock()
                        .unwrap_or_else(PoisonError::into_inner)
                        .extend(found);
                }
            });
        }
    });
    let faults = faults.into_inner().unwrap_or_else(PoisonError::into_inner);
    say(&format!("{count} walks, {} faults", faults.len()));
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    Ok(())
}

/// The device on, told by the instructor at 20 s: a minute and a half.
#[test]
fn the_device_drill_in_the_window_is_scored_as_by_hand() -> Told<()> {
    let walk = Walk::of(DRILLS[0], "good")?;
    let faults = walk.go_beside(Some(Duration::from_secs(20)), Rig::among);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    Ok(())
}
