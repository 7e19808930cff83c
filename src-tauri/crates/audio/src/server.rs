//! Notices that a desktop's sound server has taken the open stream to another output, has stopped it, or goes on with
//! it. The device's library tells none of it, and the server's stamps, and the times at which it asks for blocks, are
//! others after it: a new stream is right at once. Speaks the protocol that such servers share; where none answers,
//! nothing is told.

use std::{
    ffi::CString,
    io::{self, BufReader},
    net::Shutdown,
    os::unix::net::UnixStream,
    path::PathBuf,
    sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError},
    time::Duration,
};

use conduct::clock::uptime_ms;
use cycle::Ms;
use pulseaudio::protocol::{
    AuthParams, AuthReply, Command, CommandReply, GetSinkInfo, MAX_VERSION, Prop, Props,
    ProtocolError, SetClientNameReply, SinkInfo, SinkInputInfo, SinkState, SubscriptionMask,
    read_ack_message, read_command_message, read_reply_message, write_command_message,
};

pub(crate) use seen::Change;
use seen::{Place, Seen};

mod seen;

/// So long after a server went, or was not found, it is looked for again. Source: the project's own choice: a server that
/// starts anew has its streams opened anew as well, and nothing is to be told until it moves one of them.
const AGAIN: Duration = Duration::from_secs(1);

/// A thread that asks the sound server; ended when dropped.
pub(crate) struct ServerWatch(Arc<Ends>);

#[derive(Default)]
struct Ends {
    open: Mutex<Open>,
    bell: Condvar,
}

#[derive(Default)]
struct Open {
    is_over: bool,
    /// What the thread may be waiting at.
    sockets: Vec<UnixStream>,
}

impl ServerWatch {
    /// Calls `told` on a thread of its own, whenever the stream is to be opened anew.
    ///
    /// # Errors
    /// The system refuses a thread.
    pub(crate) fn start(told: impl Fn(Change) + Send + 'static) -> io::Result<Self> {
        let ends = Arc::new(Ends::default());
        let own = Arc::clone(&ends);
        std::thread::Builder::new()
            .name("sound-server".to_owned())
            .spawn(move || {
                while !own.is_over_after(AGAIN) {
                    // A server that goes is one that is looked for again.
                    own.follow(&told).unwrap_or_default();
                    own.lock().sockets.clear();
                }
            })?;
        Ok(Self(ends))
    }
}

impl Drop for ServerWatch {
    fn drop(&mut self) {
        let mut open = self.0.lock();
        open.is_over = true;
        for socket in &open.sockets {
            // One that the server has closed is no hindrance.
            socket.shutdown(Shutdown::Both).unwrap_or_default();
        }
        self.0.bell.notify_all();
    }
}

impl Ends {
    fn lock(&self) -> MutexGuard<'_, Open> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn is_over_after(&self, wait: Duration) -> bool {
        let open = self.lock();
        let (open, _) = self
            .bell
            .wait_timeout_while(open, wait, |open| !open.is_over)
            .unwrap_or_else(PoisonError::into_inner);
        open.is_over
    }

    /// Watches until the server goes, or the watch ends.
    fn follow(&self, told: &impl Fn(Change)) -> Result<(), ProtocolError> {
        let mut events = self.line()?;
        // Replies and events on one line would come mixed.
        let mut replies = self.line()?;
        let mut seen = Seen::default();
        events.listen(SubscriptionMask::SINK | SubscriptionMask::SINK_INPUT)?;
        loop {
            match replies.place() {
                Ok(place) => {
                    if let Some(change) = seen.look(Ms(uptime_ms()), place) {
                        told(change);
                    }
                }
                // Gone since it was named; what became of it is an event of its own.
                Err(ProtocolError::ServerError(_)) => {}
                Err(fault) => return Err(fault),
            }
            events.wait()?;
        }
    }

    /// A line to the server that the end of the watch breaks.
    fn line(&self) -> Result<Line, ProtocolError> {
        let path = socket().ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))?;
        let socket = UnixStream::connect(path)?;
        {
            let mut open = self.lock();
            if open.is_over {
                return Err(io::Error::from(io::ErrorKind::Interrupted).into());
            }
            open.sockets.push(socket.try_clone()?);
        }
        Line::open(socket)
    }
}

/// Where the server listens: as its own library finds it, but for servers on other machines.
fn socket() -> Option<PathBuf> {
    match std::env::var("PULSE_SERVER") {
        Ok(server) => server.strip_prefix("unix:").map(PathBuf::from),
        Err(_) => {
            std::env::var_os("XDG_RUNTIME_DIR").map(|run| PathBuf::from(run).join("pulse/native"))
        }
    }
}

struct Line {
    socket: BufReader<UnixStream>,
    version: u16,
    asked: u32,
}

impl Line {
    fn open(socket: UnixStream) -> Result<Self, ProtocolError> {
        let mut line = Self {
            socket: BufReader::new(socket),
            version: MAX_VERSION,
            asked: 0,
        };
        let cookie = pulseaudio::cookie_path_from_env()
            .and_then(|path| std::fs::read(path).ok())
            .unwrap_or_default();
        let reply: AuthReply = line.ask(&Command::Auth(AuthParams {
            version: MAX_VERSION,
            supports_shm: false,
            supports_memfd: false,
            cookie,
        }))?;
        line.version = MAX_VERSION.min(reply.version);
        let mut props = Props::new();
        let name = CString::new("Carrybeat").unwrap_or_default();
        props.set(Prop::ApplicationName, name);
        let _number: SetClientNameReply = line.ask(&Command::SetClientName(props))?;
        Ok(line)
    }

    fn send(&mut self, command: &Command) -> Result<(), ProtocolError> {
        self.asked = self.asked.wrapping_add(1);
        write_command_message(self.socket.get_mut(), self.asked, command, self.version)
    }

    fn ask<T: CommandReply>(&mut self, command: &Command) -> Result<T, ProtocolError> {
        self.send(command)?;
        read_reply_message(&mut self.socket, self.version).map(|(_, reply)| reply)
    }

    fn listen(&mut self, to: SubscriptionMask) -> Result<(), ProtocolError> {
        self.send(&Command::Subscribe(to))?;
        read_ack_message(&mut self.socket).map(drop)
    }

    /// Waits for an event, and takes those that came with it.
    fn wait(&mut self) -> Result<(), ProtocolError> {
        loop {
            read_command_message(&mut self.socket, self.version)?;
            if self.socket.buffer().is_empty() {
                return Ok(());
            }
        }
    }

    /// Where the newest stream of this process is.
    fn place(&mut self) -> Result<Option<Place>, ProtocolError> {
        let pid = std::process::id().to_string();
        let inputs: Vec<SinkInputInfo> = self.ask(&Command::GetSinkInputInfoList)?;
        let ours = inputs.into_iter().filter(|input| {
            let told = input.props.get(Prop::ApplicationProcessId);
            told.is_some_and(|told| told.strip_suffix(&[0]).unwrap_or(told) == pid.as_bytes())
        });
        let Some(input) = ours.max_by_key(|input| input.index) else {
            return Ok(None);
        };
        let sink: SinkInfo = self.ask(&Command::GetSinkInfo(GetSinkInfo {
            index: Some(input.sink_index),
            name: None,
        }))?;
        Ok(Some(Place {
            stream: input.index,
            output: input.sink_index,
            is_stopped: sink.state == SinkState::Suspended,
        }))
    }
}
