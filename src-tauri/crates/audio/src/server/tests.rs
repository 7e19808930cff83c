//! The watch against a server of the test's own, which speaks the other half of the protocol.

use std::{
    os::unix::net::UnixListener,
    sync::mpsc::{self, Receiver},
};

use pulseaudio::protocol::{
    SubscriptionEvent, SubscriptionEventFacility, SubscriptionEventType, write_ack_message,
    write_error, write_reply_message,
};

use super::*;

/// What the server says of the streams and of its output.
#[derive(Clone, Default)]
struct World(Arc<Mutex<Said>>);

#[derive(Default)]
struct Said {
    inputs: Vec<SinkInputInfo>,
    clients: Vec<ClientInfo>,
    state: SinkState,
    cookies: Vec<usize>,
    /// Those that have subscribed.
    listeners: Vec<UnixStream>,
    /// How often the list of streams was asked for.
    asked: usize,
}

impl World {
    fn serve(&self, name: &str) -> (Server, PathBuf) {
        let name = format!("carrybeat-server-{name}-{}", std::process::id());
        let path = std::env::temp_dir().join(name);
        drop(std::fs::remove_file(&path));
        let listener = UnixListener::bind(&path).unwrap();
        let world = self.clone();
        std::thread::spawn(move || {
            for socket in listener.incoming() {
                let (socket, world) = (socket.unwrap(), world.clone());
                std::thread::spawn(move || world.talk(socket));
            }
        });
        let server = Server {
            socket: path.clone(),
            cookie: None,
        };
        (server, path)
    }

    /// One client, until it goes.
    fn talk(&self, socket: UnixStream) {
        let mut out = socket.try_clone().unwrap();
        let mut line = BufReader::new(socket);
        let version = MAX_VERSION;
        while let Ok((seq, command)) = read_command_message(&mut line, version) {
            let mut said = self.0.lock().unwrap();
            #[expect(
                clippy::wildcard_enum_match_arm,
                reason = "the library knows ninety commands; the watch gives these"
            )]
            match command {
                Command::Auth(auth) => {
                    said.cookies.push(auth.cookie.len());
                    let reply = AuthReply {
                        version,
                        use_memfd: false,
                        use_shm: false,
                    };
                    write_reply_message(&mut out, seq, &reply, version).unwrap();
                }
                Command::SetClientName(_) => {
                    let reply = SetClientNameReply { client_id: 1 };
                    write_reply_message(&mut out, seq, &reply, version).unwrap();
                }
                Command::Subscribe(_) => {
                    write_ack_message(&mut out, seq).unwrap();
                    said.listeners.push(out.try_clone().unwrap());
                }
                Command::GetSinkInputInfoList => {
                    said.asked = said.asked.saturating_add(1);
                    write_reply_message(&mut out, seq, &said.inputs, version).unwrap();
                }
                Command::GetSinkInfo(of) => {
                    let mut sink = SinkInfo::new_dummy(of.index.unwrap());
                    sink.state = said.state;
                    write_reply_message(&mut out, seq, &sink, version).unwrap();
                }
                Command::GetClientInfo(index) => {
                    match said.clients.iter().find(|client| client.index == index) {
                        Some(client) => {
                            write_reply_message(&mut out, seq, client, version).unwrap();
                        }
                        None => write_error(&mut out, seq, &PulseError::NoEntity).unwrap(),
                    }
                }
                other => panic!("asked for {other:?}"),
            }
        }
    }

    fn set(&self, inputs: &[SinkInputInfo], state: SinkState) {
        let mut said = self.0.lock().unwrap();
        said.inputs = inputs.to_vec();
        said.state = state;
    }

    /// Something has changed.
    fn tell(&self) {
        let event = Command::SubscribeEvent(SubscriptionEvent {
            event_facility: SubscriptionEventFacility::SinkInput,
            event_type: SubscriptionEventType::Changed,
            index: Some(7),
        });
        for listener in &mut self.0.lock().unwrap().listeners {
            write_command_message(listener, u32::MAX, &event, MAX_VERSION).unwrap_or_default();
        }
    }
}

fn pid(of: u32) -> Props {
    let mut props = Props::new();
    let pid = CString::new(of.to_string()).unwrap();
    props.set(Prop::ApplicationProcessId, pid);
    props
}

fn input(index: u32, sink_index: u32, props: Props, client: Option<u32>) -> SinkInputInfo {
    SinkInputInfo {
        index,
        sink_index,
        client_index: client,
        props,
        name: c"beat".to_owned(),
        ..SinkInputInfo::default()
    }
}

fn watch(world: &World, name: &str) -> (ServerWatch, Receiver<Change>, PathBuf) {
    let (server, path) = world.serve(name);
    let (tell, told) = mpsc::channel();
    let watch =
        ServerWatch::of(server, move |change| tell.send(change).unwrap_or_default()).unwrap();
    (watch, told, path)
}

/// Repeats what is true until the watch says something; a change within the first second of a stream is none.
fn next(world: &World, told: &Receiver<Change>) -> Option<Change> {
    (0..200).find_map(|_| {
        world.tell();
        told.recv_timeout(Duration::from_millis(50)).ok()
    })
}

fn never(world: &World, told: &Receiver<Change>) {
    for _ in 0..6 {
        world.tell();
        assert_eq!(told.recv_timeout(Duration::from_millis(50)).ok(), None);
    }
}

/// Waits until the watch listens and has looked, and its stream is no new one any more.
fn settled(world: &World) {
    let listens = || world.0.lock().unwrap().asked > 0;
    let wait = mpsc::channel::<()>();
    for _ in 0..400 {
        if listens() {
            break;
        }
        wait.1.recv_timeout(Duration::from_millis(25)).unwrap_err();
    }
    assert!(listens());
    wait.1.recv_timeout(Duration::from_secs(2)).unwrap_err();
}

#[test]
fn a_stream_of_this_process_is_found_and_its_moves_and_stops_are_told() {
    let own = std::process::id();
    for (name, props, client) in [
        ("stream", pid(own), None),
        ("client", Props::new(), Some(4)),
    ] {
        let world = World::default();
        // Another program's, newer than ours.
        let other = input(99, 5, pid(own + 1), None);
        let at = |sink| [input(7, sink, props.clone(), client), other.clone()];
        world.0.lock().unwrap().clients.push(ClientInfo {
            index: 4,
            name: c"app".to_owned(),
            props: pid(own),
            ..ClientInfo::default()
        });
        world.set(&at(1), SinkState::Running);
        let (watch, told, path) = watch(&world, name);
        settled(&world);
        never(&world, &told);
        // On its way it is nowhere, and that is no move.
        world.set(&at(NOWHERE), SinkState::Running);
        never(&world, &told);
        world.set(&at(2), SinkState::Running);
        assert_eq!(next(&world, &told), Some(Change::Elsewhere), "{name}");
        world.set(&at(2), SinkState::Suspended);
        assert_eq!(next(&world, &told), Some(Change::Stopped), "{name}");
        never(&world, &told);
        assert_eq!(world.0.lock().unwrap().cookies, [COOKIE, COOKIE]);
        drop(watch);
        // Its thread has ended, and with it who tells.
        assert!(
            told.recv_timeout(Duration::from_secs(10))
                .is_err_and(|e| { e == mpsc::RecvTimeoutError::Disconnected }),
            "{name}: the thread goes on"
        );
        drop(std::fs::remove_file(path));
    }
}

#[test]
fn a_list_of_servers_gives_the_first_that_is_on_this_machine() {
    let path = |text: &str| Some(PathBuf::from(text));
    assert_eq!(local("unix:/run/user/1/s"), path("/run/user/1/s"));
    assert_eq!(local("/run/s"), path("/run/s"));
    assert_eq!(local("{0123}unix:/a tcp:b"), path("/a"));
    assert_eq!(local("tcp:there:4713 unix:/b"), path("/b"));
    for nothing in ["", "there", "tcp:1.2.3.4", "{0123", "unix:"] {
        assert_eq!(local(nothing), None, "{nothing}");
    }
}
