//! Notices that a desktop's sound server has taken the open stream to another output, has stopped it, or goes on with
//! it. The device's library tells none of it, and the server's stamps, and the times at which it asks for blocks, are
//! others after it: a new stream is right at once. Speaks the protocol that such servers share; where none answers,
//! nothing is told.

use std::{
    ffi::CString,
    io::{self, BufReader, Read},
    net::Shutdown,
    os::unix::net::UnixStream,
    path::{Path, PathBuf},
    sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError},
    time::Duration,
};

use conduct::clock::uptime_ms;
use cycle::Ms;
use pulseaudio::protocol::{
    AuthParams, AuthReply, ClientInfo, Command, CommandReply, GetSinkInfo, MAX_VERSION, Prop,
    Props, ProtocolError, PulseError, SetClientNameReply, SinkInfo, SinkInputInfo, SinkState,
    SubscriptionMask, read_ack_message, read_command_message, read_reply_message,
    write_command_message,
};

pub(crate) use seen::Change;
use seen::{Place, Seen};

mod seen;

/// So long after a server went it is looked for again; each time that there is none, twice as long. Source: the project's
/// own choice: a server that starts anew has its streams opened anew as well, and nothing is to be told until it moves one
/// of them.
const AGAIN: Duration = Duration::from_secs(1);
/// The longest wait where no server is.
const ABSENT: Duration = Duration::from_secs(4);
/// The longest wait where one is that does not take us.
const REFUSED: Duration = Duration::from_mins(1);
/// A key of a server is so long; one that asks for none takes any, but of this length.
const COOKIE: usize = 256;
/// No reply that is worth reading is longer, bytes.
const MOST: u64 = 1 << 20;
/// The server's number of no output: a stream that is on its way from one to another.
const NOWHERE: u32 = u32::MAX;

/// A thread that asks the sound server; ended when dropped.
pub(crate) struct ServerWatch(Arc<Ends>);

/// Where the server listens, and where the key to it lies.
struct Server {
    socket: PathBuf,
    cookie: Option<PathBuf>,
}

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
    /// Calls `told` on a thread of its own, whenever something has become of the stream. `None`: this system names no
    /// server.
    ///
    /// # Errors
    /// The system refuses a thread.
    pub(crate) fn start(told: impl Fn(Change) + Send + 'static) -> io::Result<Option<Self>> {
        // The environment is read here, where no other thread can be changing it yet.
        Server::of_env()
            .map(|server| Self::of(server, told))
            .transpose()
    }

    fn of(server: Server, told: impl Fn(Change) + Send + 'static) -> io::Result<Self> {
        let ends = Arc::new(Ends::default());
        let own = Arc::clone(&ends);
        std::thread::Builder::new()
            .name("sound-server".to_owned())
            .spawn(move || {
                let mut wait = AGAIN;
                while !own.is_over_after(wait) {
                    let ended = own.follow(&server, &told);
                    own.lock().sockets.clear();
                    wait = match ended {
                        Ended::Gone => AGAIN,
                        Ended::Absent => wait.saturating_mul(2).min(ABSENT),
                        Ended::Refused => wait.saturating_mul(2).min(REFUSED),
                    };
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

/// How watching ended.
enum Ended {
    /// The server went.
    Gone,
    /// There is none.
    Absent,
    /// It does not take us, or is no such server.
    Refused,
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
    fn follow(&self, server: &Server, told: &impl Fn(Change)) -> Ended {
        // Replies and events on one line would come mixed.
        let (Ok(events), Ok(replies)) = (self.socket(server), self.socket(server)) else {
            return Ended::Absent;
        };
        let opened = Line::open(events, server).and_then(|mut events| {
            events.listen(SubscriptionMask::SINK | SubscriptionMask::SINK_INPUT)?;
            let mut replies = Line::open(replies, server)?;
            let mut seen = Seen::default();
            replies.look(&mut seen, told)?;
            Ok((events, replies, seen))
        });
        let Ok((mut events, mut replies, mut seen)) = opened else {
            return Ended::Refused;
        };
        while events.wait().is_ok() && replies.look(&mut seen, told).is_ok() {}
        Ended::Gone
    }

    /// A line to the server that the end of the watch breaks.
    fn socket(&self, server: &Server) -> io::Result<UnixStream> {
        let socket = UnixStream::connect(&server.socket)?;
        let mut open = self.lock();
        if open.is_over {
            return Err(io::ErrorKind::Interrupted.into());
        }
        open.sockets.push(socket.try_clone()?);
        Ok(socket)
    }
}

impl Server {
    /// As the server's own library finds it, but for servers on other machines.
    fn of_env() -> Option<Self> {
        let set = |name| std::env::var_os(name).filter(|value| !value.is_empty());
        let socket = match set("PULSE_SERVER") {
            Some(list) => local(list.to_str()?)?,
            None => match set("PULSE_RUNTIME_PATH") {
                Some(run) => Path::new(&run).join("native"),
                None => Path::new(&set("XDG_RUNTIME_DIR")?).join("pulse/native"),
            },
        };
        Some(Self {
            socket,
            cookie: pulseaudio::cookie_path_from_env(),
        })
    }
}

/// The first server of a list that is on this machine. Each may be meant for one machine alone, in braces.
fn local(list: &str) -> Option<PathBuf> {
    list.split_whitespace().find_map(|server| {
        let server = match server.strip_prefix('{') {
            Some(meant) => meant.split_once('}')?.1,
            None => server,
        };
        let path = server.strip_prefix("unix:").unwrap_or(server);
        path.starts_with('/').then(|| PathBuf::from(path))
    })
}

struct Line {
    socket: BufReader<UnixStream>,
    version: u16,
    asked: u32,
}

impl Line {
    fn open(socket: UnixStream, server: &Server) -> Result<Self, ProtocolError> {
        let mut line = Self {
            socket: BufReader::new(socket),
            version: MAX_VERSION,
            asked: 0,
        };
        let cookie = server.cookie.as_deref().map(std::fs::read);
        let mut cookie = cookie.and_then(Result::ok).unwrap_or_default();
        cookie.resize(COOKIE, 0);
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
        let mut bounded = (&mut self.socket).take(MOST);
        read_reply_message(&mut bounded, self.version).map(|(_, reply)| reply)
    }

    fn listen(&mut self, to: SubscriptionMask) -> Result<(), ProtocolError> {
        self.send(&Command::Subscribe(to))?;
        read_ack_message(&mut (&mut self.socket).take(MOST)).map(drop)
    }

    /// Waits for an event, and takes those that came with it.
    fn wait(&mut self) -> Result<(), ProtocolError> {
        loop {
            read_command_message(&mut (&mut self.socket).take(MOST), self.version)?;
            if self.socket.buffer().is_empty() {
                return Ok(());
            }
        }
    }

    /// Looks where the stream is, and tells what has become of it.
    fn look(&mut self, seen: &mut Seen, told: &impl Fn(Change)) -> Result<(), ProtocolError> {
        match self.place() {
            Ok(place) => {
                if let Some(change) = seen.look(Ms(uptime_ms()), place) {
                    told(change);
                }
                Ok(())
            }
            // Gone since it was named, or on its way; what became of it is an event of its own.
            Err(ProtocolError::ServerError(_)) => Ok(()),
            Err(fault) => Err(fault),
        }
    }

    /// Where the newest stream of this process is.
    fn place(&mut self) -> Result<Option<Place>, ProtocolError> {
        let mut inputs: Vec<SinkInputInfo> = self.ask(&Command::GetSinkInputInfoList)?;
        inputs.sort_unstable_by_key(|input| std::cmp::Reverse(input.index));
        for input in inputs {
            if !self.is_ours(&input)? {
                continue;
            }
            if input.sink_index == NOWHERE {
                return Err(ProtocolError::ServerError(PulseError::NoEntity));
            }
            let sink: SinkInfo = self.ask(&Command::GetSinkInfo(GetSinkInfo {
                index: Some(input.sink_index),
                name: None,
            }))?;
            return Ok(Some(Place {
                stream: input.index,
                output: input.sink_index,
                is_stopped: sink.state == SinkState::Suspended,
            }));
        }
        Ok(None)
    }

    /// Some servers say with the stream which process it is of, others with the client alone.
    fn is_ours(&mut self, input: &SinkInputInfo) -> Result<bool, ProtocolError> {
        if let Some(told) = input.props.get(Prop::ApplicationProcessId) {
            return Ok(is_this_process(told));
        }
        let Some(client) = input.client_index else {
            return Ok(false);
        };
        match self.ask::<ClientInfo>(&Command::GetClientInfo(client)) {
            Ok(client) => {
                let told = client.props.get(Prop::ApplicationProcessId);
                Ok(told.is_some_and(is_this_process))
            }
            // Gone meanwhile.
            Err(ProtocolError::ServerError(_)) => Ok(false),
            Err(fault) => Err(fault),
        }
    }
}

fn is_this_process(told: &[u8]) -> bool {
    told.strip_suffix(&[0]).unwrap_or(told) == std::process::id().to_string().as_bytes()
}

#[cfg(test)]
mod tests;
