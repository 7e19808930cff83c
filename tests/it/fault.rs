//! Faults in the real window, and what the app asks of the system.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    process::Command,
    time::{Duration, Instant},
};

use crate::rig::{
    Capture, Crew, Helper, Rig, SoundServer, Told, built, pid_of_app, python, say, tool, wait_for,
};

const NO_SOUND: &str = "No sound";

#[test]
fn without_a_sound_device_the_run_goes_on_and_says_so() -> Told<()> {
    let rig = Rig::among("no-device")?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    crew.see(NO_SOUND, Duration::from_secs(5))?;
    crew.press("Hands Off")?;
    crew.see("Hands Off", Duration::from_secs(5))?;
    crew.close()
}

#[test]
#[ignore = "`lost` kills the server too, and takes sound away in five other ways"]
fn a_sound_server_that_dies_is_told_within_a_second_and_sound_comes_back() -> Told<()> {
    let rig = Rig::new("server")?;
    let sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    std::thread::sleep(Duration::from_secs(5));
    assert!(
        !crew.words()?.contains(NO_SOUND),
        "no sound before anything happened"
    );
    sound.kill()?;
    let lost = Instant::now();
    crew.see(NO_SOUND, Duration::from_secs(5))?;
    let told = lost.elapsed();
    say(&format!(
        "server killed: told after {} ms",
        told.as_millis()
    ));
    // It is said for as long as it is so.
    while lost.elapsed() < Duration::from_secs(4) {
        let words = crew.words()?;
        assert!(words.contains(NO_SOUND), "no server, and it shows: {words}");
        std::thread::sleep(Duration::from_millis(100));
    }
    let _sound = SoundServer::start(&rig)?;
    let capture = Capture::start(&rig, "back.wav")?;
    let back = Instant::now();
    wait_for("sound again", Duration::from_secs(10), || {
        Ok((!crew.words()?.contains(NO_SOUND)).then_some(()))
    })?;
    say(&format!(
        "server back: sound after {} ms",
        back.elapsed().as_millis()
    ));
    std::thread::sleep(Duration::from_secs(4));
    crew.close()?;
    let wav = capture.finish()?;
    python("judge_births.py", &[wav.as_os_str(), "[[0, 0]]".as_ref()])?;
    assert!(
        told <= Duration::from_secs(1),
        "told after {told:?}, allowed 1 s"
    );
    Ok(())
}

/// A small file system of its own, taken away at the end.
struct Mount(PathBuf);

impl Mount {
    /// `None` where mounting is not allowed.
    fn new(folder: &Path, options: &str) -> Told<Option<Self>> {
        fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        let done = Command::new("mount")
            .args(["-t", "tmpfs", "-o", options, "tmpfs"])
            .arg(folder)
            .output()
            .map_err(|e| format!("mount: {e}"))?;
        if done.status.success() {
            return Ok(Some(Self(folder.to_owned())));
        }
        let why = String::from_utf8_lossy(&done.stderr).into_owned();
        say(&format!("NOT PROVED HERE: no mount with {options}: {why}"));
        Ok(None)
    }
}

impl Drop for Mount {
    fn drop(&mut self) {
        drop(Command::new("umount").arg("-l").arg(&self.0).status());
    }
}

#[test]
fn a_full_disk_is_told_and_nothing_is_overwritten() -> Told<()> {
    let rig = Rig::among("full-disk")?;
    let _sound = SoundServer::start(&rig)?;
    let Some(mount) = Mount::new(&rig.runs(), "size=256k")? else {
        return Ok(());
    };
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    crew.see("By Hand", Duration::from_secs(5))?;
    crew.press("Airway In")?;
    crew.see("Kept", Duration::from_secs(5))?;
    let record = rig.records()?.pop().ok_or("no record")?;
    let before = fs::read(&record).map_err(|e| e.to_string())?;
    // Whatever room is left goes to somebody else.
    let filler = mount.0.join("other");
    assert!(
        fs::write(&filler, vec![0_u8; 1 << 20]).is_err(),
        "the disk is not full"
    );
    crew.press("Hands Off")?;
    // The record's own last block of 4 kB may have room still: some marks fill it.
    for _ in 0..12 {
        std::thread::sleep(Duration::from_millis(700));
        if crew.words()?.contains("Not saving") {
            break;
        }
        crew.press("Hands On")?;
        std::thread::sleep(Duration::from_millis(700));
        crew.press("Hands Off")?;
    }
    crew.see("Not saving", Duration::from_secs(15))?;
    crew.see("off the chest", Duration::from_secs(5))?;
    let after = fs::read(&record).map_err(|e| e.to_string())?;
    assert!(after.starts_with(&before), "what was kept has changed");
    crew.close()
}

#[test]
fn a_read_only_folder_is_told() -> Told<()> {
    let rig = Rig::among("read-only")?;
    let Some(_mount) = Mount::new(&rig.runs(), "ro,size=256k")? else {
        return Ok(());
    };
    let mut crew = Crew::open_bare(&rig)?;
    // A start that cannot use the folder says so at once; one that finds out at the first mark, then.
    if !crew.words()?.contains("run folder") {
        crew.press("Start by Hand")?;
        crew.see("Not saving", Duration::from_secs(10))?;
    }
    say(&format!(
        "read-only: {}",
        crew.words()?.replace('\n', " | ")
    ));
    crew.close()
}

/// An unfinished run, so that a start without a driver resumes and sounds by itself.
fn unfinished_run(rig: &Rig) -> Told<()> {
    let mut crew = Crew::open(rig)?;
    crew.press("Start by Hand")?;
    crew.see("By Hand", Duration::from_secs(5))?;
    crew.press("Airway In")?;
    crew.see("Kept", Duration::from_secs(5))?;
    crew.signal("KILL")
}

#[test]
fn only_local_sockets_are_opened() -> Told<()> {
    let rig = Rig::among("sockets")?;
    let _sound = SoundServer::start(&rig)?;
    unfinished_run(&rig)?;
    // Without the driver: driving the window is what would open others.
    let trace = rig.file("trace");
    let mut command = rig.command(&tool("strace", "strace")?);
    command
        .args(["-f", "-e", "trace=socket,connect", "-o"])
        .arg(&trace)
        .arg(built("carrybeat-app")?);
    let strace = Helper::start("strace", command, &rig.out())?;
    let pid = pid_of_app(&rig)?;
    std::thread::sleep(Duration::from_secs(15));
    crate::rig::send(pid, "TERM")?;
    std::thread::sleep(Duration::from_secs(2));
    drop(strace);
    let mut families: BTreeMap<String, u32> = BTreeMap::new();
    for line in fs::read_to_string(&trace)
        .map_err(|e| e.to_string())?
        .lines()
    {
        let family = line
            .split(['(', ',', '{', '=', ' '])
            .find(|word| word.starts_with("AF_"));
        if let Some(family) = family {
            *families.entry(family.to_owned()).or_default() += 1;
        } else if line.contains("socket(") || line.contains("connect(") {
            // An address that cannot be read is not one that may be called local.
            assert!(line.contains("resumed"), "not understood: {line}");
        }
    }
    say(&format!("sockets: {families:?}"));
    assert!(
        families.contains_key("AF_UNIX"),
        "strace saw nothing: {families:?}"
    );
    let local = families.keys().all(|f| f == "AF_UNIX" || f == "AF_NETLINK");
    assert!(local, "{families:?}");
    Ok(())
}

#[test]
fn it_runs_and_sounds_where_there_is_no_network() -> Told<()> {
    let rig = Rig::new("no-network")?;
    let _sound = SoundServer::start(&rig)?;
    unfinished_run(&rig)?;
    let unshare = tool("unshare", "util-linux")?;
    if !Command::new(&unshare)
        .args(["-n", "true"])
        .status()
        .is_ok_and(|s| s.success())
    {
        say("NOT PROVED HERE: no network namespace may be made");
        return Ok(());
    }
    let capture = Capture::start(&rig, "alone.wav")?;
    let mut command = rig.command(&unshare);
    command.arg("-n").arg(built("carrybeat-app")?);
    let mut app = Helper::start("app", command, &rig.out())?;
    std::thread::sleep(Duration::from_secs(8));
    assert!(
        app.runs(),
        "it ended: {:?}",
        fs::read_to_string(app.errors())
    );
    app.end("KILL")?;
    let wav = capture.finish()?;
    python("beats_heard.py", &[wav.as_os_str(), "8".as_ref()]).map(|said| say(said.trim()))
}

/// System calls of the thread that fills the device's buffer, each per wait of it.
fn calls(rig: &Rig, program: &str, args: &[&str]) -> Told<BTreeMap<String, f64>> {
    let trace = rig.file(&format!("{program}.trace"));
    let mut command = rig.command(&tool("strace", "strace")?);
    command
        .args(["-f", "-o"])
        .arg(&trace)
        .arg(built(&format!("examples/{program}"))?)
        .args(args);
    let mut strace = Helper::start(program, command, &rig.out())?;
    wait_for("the end of the trace", Duration::from_mins(1), || {
        Ok((!strace.runs()).then_some(()))
    })?;
    let text = fs::read_to_string(&trace).map_err(|e| e.to_string())?;
    let mut threads: BTreeMap<&str, BTreeMap<String, u32>> = BTreeMap::new();
    for line in text.lines() {
        let Some((thread, rest)) = line.split_once(' ') else {
            continue;
        };
        let Some((call, _)) = rest.trim_start().split_once('(') else {
            continue;
        };
        if !call.is_empty() && call.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_') {
            *threads
                .entry(thread)
                .or_default()
                .entry(call.to_owned())
                .or_default() += 1;
        }
    }
    // The stream's own thread is the one that waits for the device most often and asks for the time.
    let waits = |calls: &BTreeMap<String, u32>| {
        calls.get("poll").copied().unwrap_or(0) + calls.get("ppoll").copied().unwrap_or(0)
    };
    let named = threads
        .iter()
        .filter(|(_, calls)| text_names_stream(calls))
        .max_by_key(|(_, calls)| waits(calls))
        .ok_or("no thread that feeds the device")?;
    let all = f64::from(waits(named.1).max(1));
    // What is done once, at the thread's start and end, is not a callback's.
    Ok(named
        .1
        .iter()
        .filter(|(_, n)| **n > 20)
        .map(|(call, n)| (call.clone(), f64::from(*n) / all))
        .collect())
}

fn text_names_stream(calls: &BTreeMap<String, u32>) -> bool {
    // The stream's thread wakes the sound server's client thread through an event: a write.
    calls.contains_key("write") || calls.contains_key("futex")
}

#[test]
fn the_callback_asks_no_more_of_the_system_than_a_bare_one() -> Told<()> {
    let rig = Rig::new("calls")?;
    let _sound = SoundServer::start(&rig)?;
    let bare = calls(&rig, "bare_callback", &["12", "1024"])?;
    let ours = calls(&rig, "beat_probe", &["12"])?;
    say(&format!(
        "system calls a wait, bare: {bare:.3?}\nsystem calls a wait, ours: {ours:.3?}"
    ));
    for (call, rate) in &ours {
        let other = bare.get(call).copied().unwrap_or(0.0);
        assert!(
            *rate <= other * 1.15 + 0.02,
            "{call}: {rate:.3} a wait, the bare callback has {other:.3}"
        );
    }
    Ok(())
}
