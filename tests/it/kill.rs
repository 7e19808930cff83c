//! Kills at random moments: nothing that was shown as kept is lost, the clock goes on, and the gap is
//! Unknown.

use std::{
    fs,
    io::{BufRead as _, BufReader},
    path::{Path, PathBuf},
    process::{Command, Stdio},
    sync::mpsc,
    time::Duration,
};

use record::DamageKind;

use crate::{
    figures::{full, note},
    rig::{
        Capture, Crew, Rig, SoundServer, Told, alone, boot_ms, built, pid_of_app, python, say,
        wait_for,
    },
};

/// A record grows with each life; after so many kills the next run begins.
const KILLS_A_RUN: usize = 50;
/// So many lines of a life tell its clock without the delay of a print.
const ENOUGH: usize = 4;
/// How far the clock after a resume may be from the truth.
const CLOCK_WITHIN_MS: i64 = 50;

/// A small generator of chance with a seed, so that a failure can be had again.
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

/// What one life of the process said before it was killed.
#[derive(Debug, Default)]
struct Life {
    resumed: Option<Resumed>,
    /// Number, run time and time since boot, of each mark shown as kept.
    kept: Vec<(u64, i64, i64)>,
}

impl Life {
    /// Time since boot at run time 0: of all its lines the least, which was printed with the least delay.
    fn zero(&self) -> Option<i64> {
        let resumed = self.resumed.iter().map(|r| r.mono - r.run);
        self.kept.iter().map(|k| k.2 - k.1).chain(resumed).min()
    }
}

#[derive(Debug)]
struct Resumed {
    run: i64,
    mono: i64,
    state: String,
    since: i64,
}

fn number<'a>(words: &mut impl Iterator<Item = &'a str>, line: &str) -> Told<i64> {
    let word = words.next().ok_or_else(|| format!("too short: {line}"))?;
    word.parse().map_err(|e| format!("{line}: {e}"))
}

/// Starts the run, kills it after `delay` from its first line, and gives what it said.
fn live_and_die(program: &Path, folder: &Path, delay: Duration) -> Told<Life> {
    let born = boot_ms()?;
    let mut child = Command::new(program)
        .arg(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .map_err(|e| format!("{}: {e}", program.display()))?;
    let out = child.stdout.take().ok_or("no pipe")?;
    let (send, lines) = mpsc::channel();
    let reader = std::thread::spawn(move || {
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            if send.send(line).is_err() {
                return;
            }
        }
    });
    let first = lines.recv_timeout(Duration::from_secs(20));
    std::thread::sleep(delay);
    drop(child.kill());
    drop(child.wait());
    drop(reader.join());
    let died = boot_ms()?;
    let mut life = Life::default();
    for line in first.into_iter().chain(lines.try_iter()) {
        let mut words = line.split(' ');
        match words.next() {
            Some("begun") => {}
            Some("resumed") => {
                let run = number(&mut words, &line)?;
                let mono = number(&mut words, &line)?;
                let state = words.next().unwrap_or_default().to_owned();
                let since = number(&mut words, &line)?;
                life.resumed = Some(Resumed {
                    run,
                    mono,
                    state,
                    since,
                });
            }
            Some("kept") => {
                let seq = number(&mut words, &line)?;
                let seq = u64::try_from(seq).map_err(|e| format!("{line}: {e}"))?;
                let run = number(&mut words, &line)?;
                // A line that the kill cut short ends the story.
                if let Ok(mono) = number(&mut words, &line) {
                    life.kept.push((seq, run, mono));
                }
            }
            _ => return Err(format!("not understood: {line}")),
        }
    }
    // Its clock is the boot clock: what it printed lies between the killer's own readings.
    for mono in life
        .kept
        .iter()
        .map(|k| k.2)
        .chain(life.resumed.iter().map(|r| r.mono))
    {
        assert!(
            (born..=died).contains(&mono),
            "{mono} is not in {born}..={died}"
        );
    }
    Ok(life)
}

/// The run's record. A life cut short before its first line was whole leaves a file that holds no run;
/// such files are left where they are, and are not it.
fn record_in(folder: &Path) -> Told<Option<PathBuf>> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .map_err(|e| format!("{}: {e}", folder.display()))?
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|path| path.to_string_lossy().ends_with(".rec.jsonl"))
        .filter(|path| {
            fs::read(path).is_ok_and(|b| record::open(&b).is_ok_and(|r| !r.entries.is_empty()))
        })
        .collect();
    if found.len() > 1 {
        return Err(format!("one run, but {found:?}"));
    }
    Ok(found.pop())
}

/// The numbers of all facts that can be read back, the chain whole.
fn read_back(path: &Path) -> Told<Vec<u64>> {
    let bytes = fs::read(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let opened = record::open(&bytes).map_err(|e| format!("{}: {e}", path.display()))?;
    assert_eq!(
        opened.broken_at,
        None,
        "{}: {:?}",
        path.display(),
        opened.damage
    );
    for damage in &opened.damage {
        assert!(
            matches!(
                damage.what,
                DamageKind::Torn { .. } | DamageKind::Unfinished { .. }
            ),
            "{}: {damage}",
            path.display()
        );
    }
    Ok(opened.entries.iter().map(|entry| entry.seq.0).collect())
}

#[test]
fn a_headless_run_killed_at_random_moments_loses_nothing() -> Told<()> {
    let _alone = alone();
    let kills = if full() { 2_000 } else { 100 };
    let program = built("examples/headless")?;
    let base = std::env::temp_dir().join(format!("carrybeat-kill-{}", std::process::id()));
    let mut chance = Chance(0x5eed);
    let (mut kept_all, mut worst_clock, mut resumes, mut tight) =
        (0_usize, 0_i64, 0_usize, 0_usize);
    for run in 0..kills / KILLS_A_RUN {
        let folder = base.join(run.to_string());
        fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
        // Time since boot at run time 0, from the first life's own lines.
        let mut zero: Option<i64> = None;
        let mut last_kept: Option<(u64, i64)> = None;
        let mut kept: Vec<u64> = Vec::new();
        for _ in 0..KILLS_A_RUN {
            let delay = Duration::from_millis(chance.below(160));
            let life = live_and_die(&program, &folder, delay)?;
            if let Some(resumed) = &life.resumed {
                resumes += 1;
                if let Some((seq, at)) = last_kept {
                    assert_eq!(resumed.state, "unknown", "after {seq}: {resumed:?}");
                    assert!(
                        (at - 1_000..=resumed.run).contains(&resumed.since),
                        "the gap begins at {}, the last mark kept was at {at}",
                        resumed.since
                    );
                }
            }
            if let (Some(zero), Some(own)) = (zero, life.zero()) {
                let off = own - zero;
                // A line is printed a little after the run time in it, never before.
                assert!(off >= -CLOCK_WITHIN_MS, "{off} ms ahead: {life:?}");
                if life.resumed.is_some() && life.kept.len() >= ENOUGH {
                    tight += 1;
                    worst_clock = worst_clock.max(off.abs());
                    assert!(off <= CLOCK_WITHIN_MS, "{off} ms behind: {life:?}");
                }
            }
            kept.extend(life.kept.iter().map(|k| k.0));
            if let Some((seq, run, _)) = life.kept.last() {
                if zero.is_none() {
                    zero = life.zero();
                }
                last_kept = Some((*seq, *run));
            }
            if let Some(record) = record_in(&folder)? {
                let there = read_back(&record)?;
                let lost: Vec<&u64> = kept.iter().filter(|s| !there.contains(s)).collect();
                assert!(lost.is_empty(), "shown as kept and lost: {lost:?}");
            } else {
                assert!(kept.is_empty(), "kept {kept:?}, but there is no record");
            }
        }
        kept_all += kept.len();
    }
    assert!(
        kept_all > kills,
        "only {kept_all} marks kept in {kills} kills: too few to prove it"
    );
    assert!(
        tight * 2 > resumes,
        "the clock could be told after {tight} of {resumes} resumes only"
    );
    drop(fs::remove_dir_all(&base));
    let figures = format!(
        "{{\"kills\":{kills},\"kept\":{kept_all},\"lost\":0,\"resumes\":{resumes},\
         \"clocks_told\":{tight},\"worst_clock_ms\":{worst_clock}}}"
    );
    say(&figures);
    note("kills headless", &figures, 0)
}

/// When a process began, in milliseconds since boot.
fn began_ms(pid: u32) -> Told<i64> {
    let stat = fs::read_to_string(format!("/proc/{pid}/stat")).map_err(|e| e.to_string())?;
    // The name may hold anything; the fields are counted from its closing bracket.
    let rest = stat.rsplit_once(')').ok_or("stat")?.1;
    let ticks: i64 = rest
        .split_whitespace()
        .nth(19)
        .and_then(|word| word.parse().ok())
        .ok_or("no start time in stat")?;
    // One hundred ticks a second on every Linux that this runs on.
    Ok(ticks * 10)
}

#[test]
fn the_window_killed_sounds_again_within_two_seconds() -> Told<()> {
    let kills = if full() { 10 } else { 3 };
    let mut rig = Rig::new("kill-window")?;
    let sound = SoundServer::start(&rig)?;
    let capture = Capture::start(&rig, "kill.wav")?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    let mut births = Vec::new();
    for n in 0..kills {
        // Into another part of a cycle each time.
        std::thread::sleep(Duration::from_millis(3_000 + 700 * n));
        crew.signal("KILL")?;
        let pid = crew.pid();
        wait_for("the app's end", Duration::from_secs(5), || {
            Ok((!Path::new(&format!("/proc/{pid}/exe")).exists()).then_some(()))
        })?;
        drop(crew);
        let quiet = capture.frames();
        crew = Crew::open(&rig)?;
        // The capture's place and the boot clock, read together, tie the two.
        let (frames, now) = (capture.frames(), boot_ms()?);
        let born = began_ms(pid_of_app(&rig)?)?;
        births.push(format!(
            "[{quiet},{}]",
            i64::try_from(frames).unwrap_or(0) - (now - born) * 48
        ));
        crew.see("Unknown", Duration::from_secs(10))?;
        crew.press("As Before")?;
        crew.see("By Hand", Duration::from_secs(5))?;
    }
    std::thread::sleep(Duration::from_secs(3));
    crew.close()?;
    let wav = capture.finish()?;
    let births = format!("[{}]", births.join(","));
    drop(sound);
    rig.rest();
    let said = python("judge_births.py", &[wav.as_os_str(), births.as_ref()])?;
    say(said.trim());
    note("kills in the window", &said, 0)
}
