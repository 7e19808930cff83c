use std::{
    fs,
    path::{Path, PathBuf},
    time::Duration,
};

use super::{Helper, Rig, Told, root, tool, wait_for};

/// The name of the server's first output.
pub(crate) const SINK: &str = "rig";
const RATE: &str = "48000";
/// A WAV's header, 16 bit mono, and the bytes of one frame of it.
const HEADER: u64 = 44;
const FRAME: u64 = 2;

/// A sound server with one sink that goes nowhere. Dropping it is the device going away.
#[derive(Debug)]
pub(crate) struct SoundServer {
    helper: Helper,
}

impl SoundServer {
    /// Starts it and sends the system's default device there.
    pub(crate) fn start(rig: &Rig) -> Told<Self> {
        let conf = rig.file("alsa.conf");
        fs::write(
            &conf,
            "pcm.!default { type pulse }\nctl.!default { type pulse }\n",
        )
        .map_err(|e| format!("{}: {e}", conf.display()))?;
        let socket = rig.socket();
        drop(fs::remove_file(&socket));
        let server = tool("pulseaudio", "pulseaudio")?;
        // A small real-time priority where it is allowed, so that the rig is not what stutters.
        let may = tool("chrt", "util-linux").is_ok_and(|chrt| {
            std::process::Command::new(chrt)
                .args(["-f", "5", "true"])
                .status()
                .is_ok_and(|status| status.success())
        });
        let mut command = if may {
            let mut command = rig.command(Path::new("chrt"));
            command.args(["-f", "5"]).arg(server);
            command
        } else {
            rig.command(&server)
        };
        command
            .args([
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--use-pid-file=no",
            ])
            .arg("-L")
            .arg(format!(
                "module-null-sink sink_name={SINK} rate={RATE} channels=2"
            ))
            .arg("-L")
            .arg(format!(
                "module-native-protocol-unix socket={} auth-anonymous=1",
                socket.display()
            ));
        let helper = Helper::start("pulseaudio", command, &rig.out())?;
        wait_for("the sound server", Duration::from_secs(20), || {
            Ok(socket.exists().then_some(()))
        })?;
        Ok(Self { helper })
    }

    /// Its process id.
    pub(crate) fn pid(&self) -> u32 {
        self.helper.pid()
    }

    /// Ends it at once, as when a device goes away.
    pub(crate) fn kill(mut self) -> Told<()> {
        self.helper.end("KILL")
    }
}

/// A recording of everything that the sink is given.
#[derive(Debug)]
pub(crate) struct Capture {
    helper: Helper,
    wav: PathBuf,
}

impl Capture {
    /// Begins it, of the first output.
    pub(crate) fn start(rig: &Rig, name: &str) -> Told<Self> {
        Self::of(rig, &format!("{SINK}.monitor"), name)
    }

    /// Begins it, of any output.
    pub(crate) fn of(rig: &Rig, source: &str, name: &str) -> Told<Self> {
        let wav = rig.file(name);
        tool("parec", "pulseaudio-utils")?;
        let python = std::env::var_os("CARRYBEAT_PYTHON").unwrap_or_else(|| "python3".into());
        let mut command = rig.command(Path::new(&python));
        command
            .arg(root().join("tests/py/capture.py"))
            .arg(source)
            .arg(&wav);
        let helper = Helper::start(name, command, &rig.out())?;
        let capture = Self { helper, wav };
        wait_for("the capture", Duration::from_secs(20), || {
            Ok((capture.frames() > 0).then_some(()))
        })?;
        Ok(capture)
    }

    /// How many frames have been written so far.
    pub(crate) fn frames(&self) -> u64 {
        fs::metadata(&self.wav).map_or(0, |file| file.len().saturating_sub(HEADER) / FRAME)
    }

    /// Ends it and gives the file.
    pub(crate) fn finish(mut self) -> Told<PathBuf> {
        self.helper.end("INT")?;
        Ok(self.wav.clone())
    }
}
