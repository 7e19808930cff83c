//! A screen, a sound server, a home and a driver of its own for one test, and the crew that works
//! the window.
//!
//! Each helper process has its own output file in the rig's folder and is ended by its id.

mod crew;
mod helper;
mod sound;

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
    sync::{Mutex, PoisonError, RwLock, RwLockReadGuard, RwLockWriteGuard},
    time::{Duration, Instant},
};

pub(crate) use crew::{Crew, pages_of, pid_of_app};
pub(crate) use helper::{Helper, Told, say, send, tool};
pub(crate) use sound::{Capture, SINK, SoundServer};

/// The repository.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map_or_else(PathBuf::new, Path::to_path_buf)
}

/// A program that the build has made.
pub(crate) fn built(name: &str) -> Told<PathBuf> {
    let test = std::env::current_exe().map_err(|e| format!("own path: {e}"))?;
    // target/debug/deps/it-... stands beside target/debug/NAME.
    let path = test
        .ancestors()
        .nth(2)
        .map(|profile| profile.join(name))
        .ok_or("the test is not in a target folder")?;
    if path.is_file() {
        Ok(path)
    } else {
        Err(format!("{} is not built", path.display()))
    }
}

/// Milliseconds since boot, sleep counted: the truth that clocks are held against.
pub(crate) fn boot_ms() -> Told<i64> {
    let now = nix::time::clock_gettime(nix::time::ClockId::CLOCK_BOOTTIME)
        .map_err(|e| format!("CLOCK_BOOTTIME: {e}"))?;
    Ok(now.tv_sec() * 1000 + now.tv_nsec() / 1_000_000)
}

/// Waits until `ready` gives something, at most `limit`.
pub(crate) fn wait_for<T>(
    what: &str,
    limit: Duration,
    mut ready: impl FnMut() -> Told<Option<T>>,
) -> Told<T> {
    let end = Instant::now() + limit;
    loop {
        if let Some(found) = ready()? {
            return Ok(found);
        }
        if Instant::now() > end {
            return Err(format!("{what} did not come within {limit:?}"));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

static APART: RwLock<()> = RwLock::new(());

/// Keeps every rig away.
pub(crate) type Alone = RwLockWriteGuard<'static, ()>;

/// While the value lives no rig begins: for what would disturb one, or be disturbed.
pub(crate) fn alone() -> Alone {
    APART.write().unwrap_or_else(PoisonError::into_inner)
}

/// What keeps a rig apart from others.
#[derive(Debug)]
enum Place {
    /// From all: held for as long as the value lives.
    Alone { _held: Alone },
    /// From those that want to be alone.
    Among { _held: RwLockReadGuard<'static, ()> },
}

/// The private folder, screen and environment of one test.
#[derive(Debug)]
pub(crate) struct Rig {
    // Two rigs at once disturb each other's timing: whoever measures has none beside it.
    place: Option<Place>,
    dir: PathBuf,
    display: String,
    screen: Option<Helper>,
}

impl Rig {
    /// A rig with a screen of a phone's size, and no other beside it.
    pub(crate) fn new(name: &str) -> Told<Self> {
        Self::raised(name, Some(Place::Alone { _held: alone() }))
    }

    /// As much, beside others of the kind: for what measures no time, neither the sound's, a touch's nor the processor's.
    pub(crate) fn among(name: &str) -> Told<Self> {
        let held = APART.read().unwrap_or_else(PoisonError::into_inner);
        Self::raised(name, Some(Place::Among { _held: held }))
    }

    /// One of several rigs beside each other, while one value of [`alone`] is held for them all.
    pub(crate) fn beside(name: &str, _alone: &Alone) -> Told<Self> {
        Self::raised(name, None)
    }

    fn raised(name: &str, place: Option<Place>) -> Told<Self> {
        let dir = std::env::temp_dir().join(format!("carrybeat-{name}-{}", std::process::id()));
        for part in ["home", "run", "out"] {
            fs::create_dir_all(dir.join(part)).map_err(|e| format!("{}: {e}", dir.display()))?;
        }
        let private = std::os::unix::fs::PermissionsExt::from_mode(0o700);
        fs::set_permissions(dir.join("run"), private).map_err(|e| e.to_string())?;
        let mut rig = Self {
            place,
            dir,
            display: String::new(),
            screen: None,
        };
        let mut command = rig.command(&tool("Xvfb", "xvfb")?);
        command.args(["-displayfd", "1", "-screen", "0", "390x844x24"]);
        command.args(["-nolisten", "tcp"]);
        let screen = Helper::start("xvfb", command, &rig.out())?;
        let said = screen.said();
        rig.display = wait_for("the screen", Duration::from_secs(20), || {
            let text = fs::read_to_string(&said).map_err(|e| e.to_string())?;
            Ok(text.strip_suffix('\n').map(|n| format!(":{n}")))
        })?;
        rig.screen = Some(screen);
        // A phone on which the page for new users has been read.
        let settings = rig.settings();
        let folder = settings.parent().unwrap_or(&rig.dir);
        fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        fs::write(&settings, "{\"first_seen\": true}\n")
            .map_err(|e| format!("{}: {e}", settings.display()))?;
        Ok(rig)
    }

    /// Nothing is captured any more, and what still runs only waits: the next rig may begin.
    pub(crate) fn wait(&mut self) {
        self.place = None;
    }

    /// All is captured, and only judged: the next rig may begin. The folder stays as long as the value.
    pub(crate) fn rest(&mut self) {
        self.screen = None;
        self.wait();
    }

    /// Where the helpers' output files are.
    pub(crate) fn out(&self) -> PathBuf {
        self.dir.join("out")
    }

    /// A file of the test's own.
    pub(crate) fn file(&self, name: &str) -> PathBuf {
        self.dir.join(name)
    }

    /// Where the app keeps its records: under the private home, where the system's rules put it.
    pub(crate) fn runs(&self) -> PathBuf {
        self.data().join("org.carrybeat.app").join("runs")
    }

    /// What was set on this phone.
    pub(crate) fn settings(&self) -> PathBuf {
        self.data().join("org.carrybeat.app").join("settings.json")
    }

    /// The folder that programs put their data into.
    pub(crate) fn data(&self) -> PathBuf {
        self.dir.join("home/.local/share")
    }

    /// The sound server's socket.
    fn socket(&self) -> PathBuf {
        self.dir.join("run/sound")
    }

    /// A command in the rig's own world, and nothing of the user's.
    pub(crate) fn command(&self, program: &Path) -> Command {
        let mut command = Command::new(program);
        let home = self.dir.join("home");
        command
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", &home)
            .env("XDG_DATA_HOME", self.data())
            .env("XDG_CACHE_HOME", home.join(".cache"))
            .env("XDG_CONFIG_HOME", home.join(".config"))
            .env("XDG_RUNTIME_DIR", self.dir.join("run"))
            .env("DISPLAY", &self.display)
            .env("GDK_BACKEND", "x11")
            .env("NO_AT_BRIDGE", "1")
            .env("LANG", "C.UTF-8")
            .env("LIBGL_ALWAYS_SOFTWARE", "1")
            .env("ALSA_CONFIG_PATH", self.dir.join("alsa.conf"))
            .env("PULSE_SERVER", format!("unix:{}", self.socket().display()));
        command
    }

    /// The records that the app has written, oldest first.
    pub(crate) fn records(&self) -> Told<Vec<PathBuf>> {
        let runs = self.runs();
        let mut found: Vec<PathBuf> = fs::read_dir(&runs)
            .map_err(|e| format!("{}: {e}", runs.display()))?
            .filter_map(Result::ok)
            .map(|entry| entry.path())
            .filter(|path| path.to_string_lossy().ends_with(".rec.jsonl"))
            .collect();
        found.sort_by_key(|path| fs::metadata(path).and_then(|m| m.modified()).ok());
        Ok(found)
    }
}

impl Drop for Rig {
    fn drop(&mut self) {
        drop(self.screen.take());
        if std::thread::panicking() || std::env::var_os("CARRYBEAT_KEEP").is_some() {
            say(&format!("kept: {}", self.dir.display()));
        } else {
            drop(fs::remove_dir_all(&self.dir));
        }
    }
}

/// A command that takes what processor time is left: judging goes on beside the next test's capture.
pub(crate) fn patient(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new("nice");
    command.args(["-n", "19"]).arg(program);
    command
}

/// One judges at a time: two would leave the rig beside them no core of its own.
static JUDGING: Mutex<()> = Mutex::new(());

/// Runs a program of `tests/py` and gives what it said; not 0 is an error that tells what was said.
pub(crate) fn python(program: &str, args: &[&std::ffi::OsStr]) -> Told<String> {
    let _one = JUDGING.lock().unwrap_or_else(PoisonError::into_inner);
    let python = std::env::var_os("CARRYBEAT_PYTHON").unwrap_or_else(|| "python3".into());
    let output = patient(&python)
        .arg(root().join("tests/py").join(program))
        .args(args)
        .output()
        .map_err(|e| format!("{}: {e}", python.display()))?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    if output.status.success() {
        return Ok(said);
    }
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    let hint = if error.contains("ModuleNotFoundError") {
        "\nCARRYBEAT_PYTHON must name a Python with tests/py/requirements.txt installed"
    } else {
        ""
    };
    Err(format!("{program}:\n{said}{error}{hint}"))
}
