//! The crew: it sees the page through accessible names and touches it through pointer actions alone.

use std::{
    collections::VecDeque,
    fs,
    sync::Arc,
    time::{Duration, Instant},
};

use serde_json::{Value, json};
use thirtyfour::{
    Capabilities, WebDriver,
    common::command::{Command, ExtensionCommand},
};
use tokio::runtime::Runtime;

use super::{
    Helper, Rig, Told, built,
    helper::{say, send},
    tool, wait_for,
};

/// How long a finger stays down.
const HOLD: Duration = Duration::from_millis(120);
/// A touch so near the one before, and so soon after it, is taken for that one's, as the page's filter promises
/// (600 ms, 56 px), and a long page that has only just come still moves: the crew rests as a finger does that has
/// read what it touches.
const REST: Duration = Duration::from_millis(700);
const SAME_PLACE_PX: i64 = 60;
/// Six touches within a second are drops of water to the page, wherever they are: on an idle machine the crew would be as
/// quick as that.
const FEW: usize = 5;
const FEW_WITHIN: Duration = Duration::from_millis(1_050);
/// A key is looked for so long before the moment at which it is to be touched.
const AIM: Duration = Duration::from_millis(300);
/// Page Up, as the driver's protocol writes it.
const PAGE_UP: char = '\u{e00e}';
/// Longest wait for a key that the crew looks for.
const PATIENCE: Duration = Duration::from_secs(8);

/// All that can be pressed, with what a person could see of it.
const KEYS: &str = r"
const name = (e) => (e.getAttribute('aria-label') ?? e.innerText).replace(/\s+/g, ' ').trim();
return [...document.querySelectorAll('button, [role=button]')].map((e) => {
  const r = e.getBoundingClientRect();
  const x = Math.round(r.left + r.width / 2), y = Math.round(r.top + r.height / 2);
  const s = getComputedStyle(e);
  const top = document.elementFromPoint(x, y);
  return {
    name: name(e), x, y,
    seen: r.width > 0 && r.height > 0 && s.visibility === 'visible' && Number(s.opacity) > 0
      && x >= 0 && y >= 0 && x < innerWidth && y < innerHeight,
    enabled: !e.disabled && !e.closest('[inert], [aria-disabled=true], [aria-hidden=true]'),
    open: top !== null && e.contains(top),
    stood: performance.now() - (window.__came?.get(e) ?? 0),
  };
});
";

/// The test's own listener for pointers, which looks before the page does, and its note of when a key came or was
/// given free. It changes nothing.
const LISTEN: &str = r"
if (!window.__crew) {
  window.__crew = [];
  for (const type of ['pointerdown', 'pointerup', 'pointercancel']) {
    window.addEventListener(type, (e) => {
      const key = e.target.closest ? e.target.closest('button, [role=button]') : null;
      const event = { type, at: performance.timeOrigin + e.timeStamp, x: e.clientX, y: e.clientY,
        name: key && (key.getAttribute('aria-label') ?? key.innerText).replace(/\s+/g, ' ').trim() };
      window.__crew.push(event);
      // The page takes its sign of a pressed key away again where it does not count the touch.
      setTimeout(() => { event.pressed = key !== null && 'pressed' in key.dataset; }, 0);
    }, { capture: true, passive: true });
  }
  window.__came = new WeakMap();
  const came = (node) => {
    if (node.nodeType !== Node.ELEMENT_NODE) return;
    for (const e of [node, ...node.querySelectorAll('button, [role=button]')]) window.__came.set(e, performance.now());
  };
  new MutationObserver((all) => {
    for (const { type, target, addedNodes } of all) (type === 'attributes' ? [target] : addedNodes).forEach(came);
  }).observe(document, { subtree: true, childList: true, attributeFilter: ['disabled', 'inert'] });
}
return performance.timeOrigin;
";

/// A press as the page saw it, in the page's own milliseconds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tap {
    /// The key's accessible name.
    pub(crate) name: String,
    /// Finger down.
    pub(crate) down: f64,
    /// Finger up.
    pub(crate) up: f64,
}

/// A key that can be pressed.
#[derive(Clone, Copy, Debug)]
struct Key {
    place: (i64, i64),
    /// For how long it has been one.
    stood: Duration,
}

/// What the crew does, as the driver is to be given it.
#[derive(Debug)]
struct Acts(Value);

impl Acts {
    fn touch((x, y): (i64, i64), hold: Duration) -> Self {
        Self(json!({"actions": [{
            "type": "pointer", "id": "finger", "parameters": {"pointerType": "mouse"},
            "actions": [
                {"type": "pointerMove", "x": x, "y": y, "duration": 0, "origin": "viewport"},
                {"type": "pointerDown", "button": 0},
                {"type": "pause", "duration": whole_ms(hold)},
                {"type": "pointerUp", "button": 0},
            ],
        }]}))
    }

    fn stroke(key: char, hold: Duration) -> Self {
        Self(json!({"actions": [{
            "type": "key", "id": "button",
            "actions": [
                {"type": "keyDown", "value": key},
                {"type": "pause", "duration": whole_ms(hold)},
                {"type": "keyUp", "value": key},
            ],
        }]}))
    }
}

fn whole_ms(time: Duration) -> u64 {
    u64::try_from(time.as_millis()).unwrap_or(u64::MAX)
}

impl ExtensionCommand for Acts {
    fn parameters_json(&self) -> Option<Value> {
        Some(self.0.clone())
    }

    fn method(&self) -> http::Method {
        http::Method::POST
    }

    fn endpoint(&self) -> Arc<str> {
        "/actions".into()
    }
}

/// The driver, the window that it opened, and the crew's count of taps.
#[derive(Debug)]
pub(crate) struct Crew {
    page: Option<WebDriver>,
    pid: u32,
    taps: usize,
    /// When and where it touched last, the newest at the end.
    recent: VecDeque<(Instant, (i64, i64))>,
    runtime: Runtime,
    // Last, so that it goes after the session.
    _driver: Helper,
}

impl Crew {
    /// Opens the app's window through the driver and waits for its keys.
    pub(crate) fn open(rig: &Rig) -> Told<Self> {
        let crew = Self::open_bare(rig)?;
        wait_for("the page", Duration::from_secs(20), || {
            Ok((!crew.keys()?.is_empty()).then_some(()))
        })?;
        Ok(crew)
    }

    /// Opens the app's window, whatever it shows.
    pub(crate) fn open_bare(rig: &Rig) -> Told<Self> {
        let mut begun = begin(rig);
        for _ in 1..DRIVERS {
            let Err(why) = &begun else { break };
            if !why.contains(NOT_SENT) {
                break;
            }
            say(&format!(
                "another driver, for nothing reached this one: {why}"
            ));
            begun = begin(rig);
        }
        let (driver, runtime, page) = begun?;
        let mut crew = Self {
            page: Some(page),
            pid: 0,
            taps: 0,
            recent: VecDeque::new(),
            runtime,
            _driver: driver,
        };
        crew.pid = pid_of_app(rig)?;
        crew.script(LISTEN)?;
        wait_for("words on the page", Duration::from_secs(20), || {
            Ok((!crew.words()?.is_empty()).then_some(()))
        })?;
        Ok(crew)
    }

    /// The app's process id.
    pub(crate) const fn pid(&self) -> u32 {
        self.pid
    }

    /// How many times the crew has touched the window.
    pub(crate) const fn taps(&self) -> usize {
        self.taps
    }

    /// Sends a signal to the app.
    pub(crate) fn signal(&self, signal: &str) -> Told<()> {
        send(self.pid, signal)
    }

    fn page(&self) -> Told<&WebDriver> {
        self.page
            .as_ref()
            .ok_or_else(|| "the session is over".to_owned())
    }

    /// Looks at the page through a script. It must not change anything.
    pub(crate) fn script(&self, script: &str) -> Told<Value> {
        let page = self.page()?;
        self.runtime
            .block_on(page.execute(script, Vec::new()))
            .map(|ret| ret.json().clone())
            .map_err(|e| format!("the page: {e}"))
    }

    /// All words on the page.
    pub(crate) fn words(&self) -> Told<String> {
        let words = self.script("return document.body.innerText;")?;
        Ok(words.as_str().unwrap_or_default().to_owned())
    }

    fn keys(&self) -> Told<Vec<Value>> {
        Ok(self.script(KEYS)?.as_array().cloned().unwrap_or_default())
    }

    /// Whether a key of this name can be pressed as the page is now.
    pub(crate) fn can_press(&self, name: &str) -> Told<bool> {
        Ok(self.keys()?.iter().any(|key| is_open(key, name)))
    }

    /// The names of all keys that can be pressed as the page is now.
    pub(crate) fn open_keys(&self) -> Told<Vec<String>> {
        let keys = self.keys()?;
        let open = keys.iter().filter_map(|key| {
            let name = key["name"].as_str()?;
            is_open(key, name).then(|| name.to_owned())
        });
        Ok(open.collect())
    }

    /// The one key of that name that is seen, enabled and under nothing.
    fn find(&self, name: &str) -> Told<Key> {
        let end = Instant::now() + PATIENCE;
        loop {
            let keys = self.keys()?;
            let here: Vec<&Value> = keys.iter().filter(|key| is_open(key, name)).collect();
            if let [key] = here.as_slice()
                && let (Some(x), Some(y)) = (key["x"].as_i64(), key["y"].as_i64())
                && let Some(ms) = key["stood"].as_f64()
            {
                return Ok(Key {
                    place: (x, y),
                    stood: Duration::from_secs_f64(ms.max(0.0) / 1000.0),
                });
            }
            if Instant::now() > end {
                return Err(format!(
                    "{} keys named {name:?} can be pressed, one is wanted; the page has {keys:?}",
                    here.len()
                ));
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Touches a key of this name for a moment.
    pub(crate) fn press(&mut self, name: &str) -> Told<()> {
        self.hold(name, HOLD)
    }

    /// Touches a key of this name at a moment, or as soon after it as it can be pressed.
    pub(crate) fn press_at(&mut self, name: &str, at: Instant) -> Told<()> {
        std::thread::sleep(at.saturating_duration_since(Instant::now() + AIM));
        let place = self.aim(name, Duration::ZERO)?;
        std::thread::sleep(at.saturating_duration_since(Instant::now()));
        self.touch(name, place, HOLD)
    }

    /// When the last finger went down, by the page's own clock.
    pub(crate) fn touched(&self) -> Told<Instant> {
        let ago = self.script(
            "const down = window.__crew.findLast(({ type }) => type === 'pointerdown');
             return performance.timeOrigin + performance.now() - down.at;",
        )?;
        ago.as_f64()
            .filter(|ms| (0.0..60_000.0).contains(ms))
            .and_then(|ms| Instant::now().checked_sub(Duration::from_secs_f64(ms / 1000.0)))
            .ok_or_else(|| format!("the last touch was {ago} ms ago"))
    }

    /// Touches a key of this name for so long.
    pub(crate) fn hold(&mut self, name: &str, hold: Duration) -> Told<()> {
        let place = self.aim(name, Duration::ZERO)?;
        self.touch(name, place, hold)
    }

    /// Where a key is, once a touch there is not taken for the one before and the key has stood for so long.
    fn aim(&self, name: &str, stands: Duration) -> Told<(i64, i64)> {
        let end = Instant::now() + PATIENCE;
        loop {
            // The page may have moved it in the last rest.
            let Key { place, stood } = self.find(name)?;
            let rest = self.rest(place).max(stands.saturating_sub(stood));
            if rest.is_zero() {
                return Ok(place);
            }
            if Instant::now() > end {
                return Err(format!("the key {name:?} comes anew again and again"));
            }
            std::thread::sleep(rest);
        }
    }

    /// How long until a touch there counts for itself.
    fn rest(&self, place: (i64, i64)) -> Duration {
        let near = self
            .recent
            .back()
            .filter(|(_, before)| is_same_place(*before, place))
            .map(|(at, _)| REST.saturating_sub(at.elapsed()));
        let many = self
            .recent
            .iter()
            .nth_back(FEW - 1)
            .map(|(at, _)| FEW_WITHIN.saturating_sub(at.elapsed()));
        near.max(many).unwrap_or_default()
    }

    fn touch(&mut self, name: &str, place: (i64, i64), hold: Duration) -> Told<()> {
        self.taps += 1;
        let done = self
            .perform(Acts::touch(place, hold))
            .map_err(|e| format!("pressing {name:?}: {e}"));
        self.recent.push_back((Instant::now(), place));
        if self.recent.len() > FEW {
            self.recent.pop_front();
        }
        done
    }

    /// Presses the hardware key that marks a bare time, whatever the page shows; nothing is touched.
    pub(crate) fn mark_time(&self) -> Told<()> {
        self.perform(Acts::stroke(PAGE_UP, HOLD))
            .map_err(|e| format!("pressing Page Up: {e}"))
    }

    fn perform(&self, acts: Acts) -> Told<()> {
        let page = self.page()?;
        self.runtime
            .block_on(page.cmd(Command::ExtensionCommand(Box::new(acts))))
            .map(drop)
            .map_err(|e| e.to_string())
    }

    /// Touches a key that may lie further down on a long page, once it has stood there long enough to be read.
    pub(crate) fn press_far(&mut self, name: &str) -> Told<()> {
        self.hold_far(name, HOLD)
    }

    /// Touches such a key for so long.
    pub(crate) fn hold_far(&mut self, name: &str, hold: Duration) -> Told<()> {
        let scroll = format!(
            "const key = [...document.querySelectorAll('button, [role=button]')]
                .find((e) => (e.getAttribute('aria-label') ?? e.innerText).trim() === {});
            key?.scrollIntoView({{ block: 'center' }}); return key !== undefined;",
            json!(name)
        );
        wait_for(&format!("a key {name:?}"), PATIENCE, || {
            Ok((self.script(&scroll)? == true).then_some(()))
        })?;
        let place = self.aim(name, REST)?;
        self.touch(name, place, hold)
    }

    /// Waits until the page shows these words.
    pub(crate) fn see(&self, words: &str, limit: Duration) -> Told<()> {
        wait_for(&format!("{words:?} on the page"), limit, || {
            Ok(self.words()?.contains(words).then_some(()))
        })
        .map_err(|e| {
            let shown = self.words().unwrap_or_default().replace('\n', " | ");
            let touched = self.script("return window.__crew.slice(-12);");
            format!(
                "{e}; last it was touched so: {}; it shows: {shown}",
                touched.unwrap_or_default()
            )
        })
    }

    /// What the page's own pointer events were.
    pub(crate) fn touches(&self) -> Told<Vec<Tap>> {
        let events = self.script("return window.__crew;")?;
        let mut taps: Vec<Tap> = Vec::new();
        for event in events.as_array().into_iter().flatten() {
            let at = event["at"].as_f64().ok_or("an event without a time")?;
            match event["type"].as_str() {
                Some("pointerdown") => taps.push(Tap {
                    name: event["name"].as_str().unwrap_or_default().to_owned(),
                    down: at,
                    up: f64::NAN,
                }),
                Some("pointerup") => {
                    if let Some(tap) = taps.last_mut() {
                        tap.up = at;
                    }
                }
                other => return Err(format!("a touch ended with {other:?}")),
            }
        }
        Ok(taps)
    }

    /// A picture of the page as it is now, PNG.
    pub(crate) fn picture(&self) -> Told<Vec<u8>> {
        let page = self.page()?;
        self.runtime
            .block_on(page.screenshot_as_png())
            .map_err(|e| format!("a picture of the page: {e}"))
    }

    /// Closes the window.
    pub(crate) fn close(mut self) -> Told<()> {
        let Some(page) = self.page.take() else {
            return Ok(());
        };
        self.runtime
            .block_on(page.quit())
            .map_err(|e| format!("closing: {e}"))
    }
}

impl Drop for Crew {
    fn drop(&mut self) {
        // Whatever the session thinks, the app is not to outlive the test.
        if self.pid != 0 && is_app(self.pid) {
            drop(send(self.pid, "KILL"));
        }
    }
}

const fn is_same_place((x, y): (i64, i64), (to_x, to_y): (i64, i64)) -> bool {
    (x - to_x).pow(2) + (y - to_y).pow(2) < SAME_PLACE_PX.pow(2)
}

/// A key of this name that is seen, enabled and under nothing.
fn is_open(key: &Value, name: &str) -> bool {
    key["name"] == name
        && ["seen", "enabled", "open"]
            .iter()
            .all(|is| key[*is] == true)
}

fn is_app(pid: u32) -> bool {
    fs::read_link(format!("/proc/{pid}/exe"))
        .is_ok_and(|exe| exe.to_string_lossy().contains("carrybeat-app"))
}

/// What a request says that no driver took.
const NOT_SENT: &str = "error sending request";
/// So many drivers are tried: where rigs begin at the same moment one was gone, or its port another's, once in some twenty
/// beginnings. The app has not been started then.
const DRIVERS: usize = 3;

/// A driver, and the app's window by it.
fn begin(rig: &Rig) -> Told<(Helper, Runtime, WebDriver)> {
    let app = built("carrybeat-app")?;
    let port = std::net::TcpListener::bind("127.0.0.1:0")
        .and_then(|socket| socket.local_addr())
        .map_err(|e| format!("a free port: {e}"))?
        .port();
    let mut command = rig.command(&tool("WebKitWebDriver", "webkit2gtk-driver")?);
    command
        .env("TAURI_AUTOMATION", "true")
        .env("TAURI_WEBVIEW_AUTOMATION", "true")
        .args(["--host=127.0.0.1", &format!("--port={port}")]);
    let driver = Helper::start(&format!("driver-{port}"), command, &rig.out())?;
    wait_for("the driver", Duration::from_secs(20), || {
        Ok(std::net::TcpStream::connect(("127.0.0.1", port)).ok())
    })?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .map_err(|e| format!("runtime: {e}"))?;
    let mut caps = Capabilities::new();
    caps.set(
        "webkitgtk:browserOptions",
        json!({"binary": app, "args": []}),
    )
    .map_err(|e| e.to_string())?;
    let page = runtime
        .block_on(WebDriver::new(format!("http://127.0.0.1:{port}"), caps))
        .map_err(|e| format!("no session with the window: {e}"))?;
    Ok((driver, runtime, page))
}

/// The app of this rig: by its program and its home.
pub(crate) fn pid_of_app(rig: &Rig) -> Told<u32> {
    let home = format!("HOME={}", rig.file("home").display());
    wait_for("the app's process", Duration::from_secs(10), || {
        let found = fs::read_dir("/proc")
            .map_err(|e| e.to_string())?
            .filter_map(Result::ok)
            .filter_map(|entry| entry.file_name().to_str()?.parse::<u32>().ok())
            .filter(|pid| is_app(*pid))
            .find(|pid| {
                fs::read(format!("/proc/{pid}/environ"))
                    .is_ok_and(|all| all.split(|b| *b == 0).any(|v| v == home.as_bytes()))
            });
        Ok(found)
    })
}

/// The processes that draw the page.
pub(crate) fn pages_of(app: u32) -> Told<Vec<u32>> {
    let output = std::process::Command::new("pgrep")
        .args(["-P", &app.to_string(), "WebKitWebProces"])
        .output()
        .map_err(|e| format!("pgrep: {e}"))?;
    let said = String::from_utf8_lossy(&output.stdout);
    Ok(said.lines().filter_map(|line| line.parse().ok()).collect())
}
