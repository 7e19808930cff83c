use std::{
    fs::File,
    io::Write as _,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
};

/// What a step of a test gives, or what went wrong in words.
pub(crate) type Told<T> = Result<T, String>;

/// Prints a figure or a warning past the test's own capture of output.
pub(crate) fn say(line: &str) {
    drop(writeln!(std::io::stderr(), "{line}"));
}

/// A program that the rig needs, or the text that names the package to install.
pub(crate) fn tool(name: &str, package: &str) -> Told<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .map(|folder| folder.join(name))
        .find(|file| file.is_file())
        .ok_or_else(|| format!("{name} is missing: apt-get install {package}"))
}

/// A helper process with its own output file, ended by its id when it is dropped.
#[derive(Debug)]
pub(crate) struct Helper {
    name: String,
    out: PathBuf,
    child: Child,
}

impl Helper {
    /// Starts it; what it says goes to `NAME.out` and `NAME.err` in `out`.
    pub(crate) fn start(name: &str, mut command: Command, out: &Path) -> Told<Self> {
        let file = |end: &str| {
            let path = out.join(format!("{name}.{end}"));
            File::create(&path).map_err(|e| format!("{}: {e}", path.display()))
        };
        command
            .stdin(Stdio::null())
            .stdout(file("out")?)
            .stderr(file("err")?);
        let child = command.spawn().map_err(|e| format!("{name}: {e}"))?;
        Ok(Self {
            name: name.to_owned(),
            out: out.to_owned(),
            child,
        })
    }

    /// The file that holds what it printed.
    pub(crate) fn said(&self) -> PathBuf {
        self.out.join(format!("{}.out", self.name))
    }

    /// The file that holds its errors.
    pub(crate) fn errors(&self) -> PathBuf {
        self.out.join(format!("{}.err", self.name))
    }

    /// Its process id.
    pub(crate) fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Whether it still runs.
    pub(crate) fn runs(&mut self) -> bool {
        matches!(self.child.try_wait(), Ok(None))
    }

    /// Sends a signal and waits for its end.
    pub(crate) fn end(&mut self, signal: &str) -> Told<()> {
        send(self.pid(), signal)?;
        self.child
            .wait()
            .map(drop)
            .map_err(|e| format!("{}: {e}", self.name))
    }
}

impl Drop for Helper {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// Sends a signal to one process.
pub(crate) fn send(pid: u32, signal: &str) -> Told<()> {
    let status = Command::new("kill")
        .arg(format!("-{signal}"))
        .arg(pid.to_string())
        .status()
        .map_err(|e| format!("kill: {e}"))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("kill -{signal} {pid}: {status}"))
    }
}
