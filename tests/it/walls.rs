//! The walls of the house, read from `cargo metadata` and from the sources themselves.
//!
//! The lists below are the layout page's arrows, written by hand: a new arrow is a decision, and
//! it is made here. Sources are read as Rust tokens, so comments and strings cannot trip a check.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::str::FromStr;

use cargo_metadata::{DependencyKind, Metadata, MetadataCommand};
use proc_macro2::{TokenStream, TokenTree};

/// Each room and the rooms that it may name. Tests may name any room and are not listed.
const ARROWS: [(&str, &[&str]); 20] = [
    ("beat", &[]),
    ("cycle", &["beat"]),
    ("record", &["cycle"]),
    ("render", &["beat"]),
    ("listening", &["cycle"]),
    ("drill", &["cycle", "debrief", "record"]),
    (
        "conduct",
        &["beat", "cycle", "drill", "listening", "record"],
    ),
    ("resample", &[]),
    (
        "audio",
        &[
            "beat",
            "conduct",
            "cycle",
            "listening",
            "render",
            "resample",
        ],
    ),
    ("phone", &["conduct", "cycle"]),
    ("words", &["cycle", "drill", "listening"]),
    ("debrief", &["cycle", "record"]),
    ("chart", &["cycle", "debrief", "words"]),
    ("sheet", &["chart", "cycle", "debrief", "record", "words"]),
    ("exports", &["cycle", "debrief", "record", "words"]),
    (
        "trends",
        &["chart", "cycle", "debrief", "record", "sheet", "words"],
    ),
    (
        "after",
        &[
            "chart",
            "conduct",
            "cycle",
            "debrief",
            "drill",
            "exports",
            "listening",
            "record",
            "sheet",
            "trends",
            "words",
        ],
    ),
    (
        "drafting",
        &[
            "audio", "beat", "chart", "conduct", "cycle", "record", "words",
        ],
    ),
    (
        "desk",
        &[
            "audio",
            "beat",
            "chart",
            "conduct",
            "cycle",
            "debrief",
            "drafting",
            "drill",
            "exports",
            "listening",
            "record",
            "sheet",
            "trends",
            "words",
        ],
    ),
    (
        "carrybeat",
        &[
            "after",
            "audio",
            "beat",
            "chart",
            "conduct",
            "cycle",
            "drafting",
            "drill",
            "listening",
            "phone",
            "record",
            "render",
            "words",
        ],
    ),
];

/// Packages from outside that only these rooms may name.
const KEPT_IN: [(&str, &[&str]); 7] = [
    ("cpal", &["audio"]),
    ("krilla", &["sheet"]),
    ("objc2", &["phone"]),
    ("parquet", &["desk"]),
    ("tauri", &["carrybeat", "phone"]),
    ("tauri-build", &["carrybeat"]),
    ("tauri-plugin", &["phone"]),
];

/// Rooms without a clock: the time comes in as an argument.
const CLOCKLESS: [&str; 10] = [
    "beat",
    "chart",
    "cycle",
    "debrief",
    "drill",
    "exports",
    "listening",
    "render",
    "sheet",
    "trends",
];

/// Rooms without the standard library.
const BARE: [&str; 3] = ["beat", "cycle", "render"];

/// The one file of ours that may hold `unsafe`: the platform calls of iOS.
const UNSAFE_FILE: &str = "src-tauri/crates/phone/src/ios/native.rs";

/// The one file of the app that may hold cpal's names.
const CPAL_FILE: &str = "src-tauri/crates/audio/src/device.rs";

/// A program of the tests with a callback that does nothing, to hold ours against; it names cpal
/// so that nothing of ours is in it.
const BARE_CALLBACK: &str = "src-tauri/crates/audio/examples/bare_callback.rs";

/// Packages whose job is to open network sockets.
const NETWORK: [&str; 22] = [
    "async-std",
    "attohttpc",
    "curl",
    "h2",
    "hickory-resolver",
    "hyper",
    "hyper-util",
    "isahc",
    "mio",
    "native-tls",
    "openssl",
    "quinn",
    "reqwest",
    "rustls",
    "smol",
    "socket2",
    "surf",
    "tiny_http",
    "tokio-tungstenite",
    "tungstenite",
    "ureq",
    "zbus",
];

pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .canonicalize()
        .expect("workspace root")
}

fn metadata() -> Metadata {
    MetadataCommand::new()
        .manifest_path(root().join("Cargo.toml"))
        .other_options(["--locked".to_owned()])
        .exec()
        .expect("cargo metadata")
}

/// Every `.rs` file below `folder`, without build output.
pub(crate) fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
        let path = entry.expect("folder entry").path();
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        if path.is_dir() && name != "target" && name != "gen" {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ext| ext == "rs") {
            found.push(path);
        }
    }
    found
}

/// The identifiers and keywords of a source, in order.
fn names(source: &str) -> Vec<String> {
    fn walk(tokens: TokenStream, out: &mut Vec<String>) {
        for token in tokens {
            match token {
                TokenTree::Group(group) => walk(group.stream(), out),
                TokenTree::Ident(ident) => out.push(ident.to_string()),
                TokenTree::Punct(_) | TokenTree::Literal(_) => {}
            }
        }
    }
    let mut out = Vec::new();
    walk(
        TokenStream::from_str(source).expect("source is Rust"),
        &mut out,
    );
    out
}

/// Where any of `words` is used as a name below `folder`, as `path: word`, once for each use.
fn uses(folder: &Path, words: &[&str]) -> Vec<String> {
    let root = root();
    let mut found = Vec::new();
    for file in rust_files(folder) {
        let source = fs::read_to_string(&file).expect("readable source");
        let place = file.strip_prefix(&root).unwrap_or(&file).display();
        for name in names(&source) {
            if words.contains(&name.as_str()) {
                found.push(format!("{place}: {name}"));
            }
        }
    }
    found
}

/// The packages that the app needs to run on `target`, with the features that it asks for itself
/// (`cargo metadata` mixes in what the tests ask for). Pruned packages are left out with all that
/// only they need.
fn app_needs(target: &str, prune: Option<&str>) -> BTreeSet<String> {
    let mut command = Command::new(env!("CARGO"));
    command
        .current_dir(root())
        .args(["tree", "--locked", "-p", "carrybeat", "-e", "normal"]);
    command.args(["--prefix", "none", "--target", target]);
    if let Some(package) = prune {
        command.args(["--prune", package]);
    }
    let out = command.output().expect("cargo tree runs");
    assert!(
        out.status.success(),
        "cargo tree: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    let text = String::from_utf8(out.stdout).expect("package names are UTF-8");
    text.lines()
        .filter_map(|line| line.split(' ').next())
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_rooms_name_only_the_rooms_they_may() {
    let tree = metadata();
    let rooms: BTreeSet<&str> = tree
        .workspace_packages()
        .iter()
        .map(|p| p.name.as_str())
        .collect();
    let listed: BTreeSet<&str> = ARROWS.iter().map(|(room, _)| *room).chain(["it"]).collect();
    assert_eq!(
        rooms, listed,
        "rooms in the workspace, and rooms in this test's list"
    );

    let mut wrong = Vec::new();
    for package in tree.workspace_packages() {
        let Some((room, allowed)) = ARROWS
            .iter()
            .find(|(room, _)| *room == package.name.as_str())
        else {
            continue;
        };
        for dep in &package.dependencies {
            if dep.kind != DependencyKind::Development
                && rooms.contains(dep.name.as_str())
                && !allowed.contains(&dep.name.as_str())
            {
                wrong.push(format!("{room} -> {}; allowed: {allowed:?}", dep.name));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "arrows against the walls:\n{}",
        wrong.join("\n")
    );
}

#[test]
fn outside_packages_stay_in_their_rooms() {
    let tree = metadata();
    let mut wrong = Vec::new();
    for package in tree.workspace_packages() {
        let room = package.name.as_str();
        for (outside, rooms) in KEPT_IN {
            if package.dependencies.iter().any(|d| d.name == outside) && !rooms.contains(&room) {
                wrong.push(format!("{room} names {outside}; only {rooms:?} may"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));

    let beat = tree
        .workspace_packages()
        .into_iter()
        .find(|p| p.name.as_str() == "beat");
    let needs: Vec<String> = beat
        .expect("beat is a room")
        .dependencies
        .iter()
        .filter(|d| d.kind != DependencyKind::Development)
        .map(|d| d.name.clone())
        .collect();
    assert_eq!(
        needs,
        Vec::<String>::new(),
        "beat needs nothing from anyone"
    );
}

/// The packages of a tree whose job is to open network sockets.
fn network(needs: &BTreeSet<String>) -> Vec<&'static str> {
    let mut found = NETWORK.to_vec();
    found.retain(|package| needs.contains(*package));
    found
}

#[test]
fn no_network_package_is_in_the_app() {
    // On phones the shell's own development server brings an HTTP client along, which a built
    // app never calls, and that client turns on tokio's sockets; nothing else may. On a Linux desktop the
    // sound server's protocol brings an event loop along for clients that the app has none of: it asks over a
    // local socket of the standard library's (`fault::only_local_sockets_are_opened` looks at what is opened).
    let targets = [
        ("x86_64-unknown-linux-gnu", Some("pulseaudio")),
        ("x86_64-pc-windows-msvc", None),
        ("aarch64-apple-darwin", None),
        ("aarch64-linux-android", Some("tauri")),
        ("aarch64-apple-ios", Some("tauri")),
    ];
    for (target, prune) in targets {
        let needs = app_needs(target, prune);
        assert!(
            needs.contains("cpal"),
            "{target}: the tree was read to its leaves"
        );
        for package in ["tauri", "pulseaudio"] {
            let is_wanted = package == "tauri" || target.contains("-linux-gnu");
            assert_eq!(
                needs.contains(package),
                is_wanted && prune != Some(package),
                "{target}: what was pruned"
            );
        }
        let mut found = network(&needs);
        found.retain(|package| prune != Some("tauri") || !["mio", "socket2"].contains(package));
        assert!(
            found.is_empty(),
            "{target}: network packages in the app: {found:?}"
        );
    }
    let whole = app_needs("x86_64-unknown-linux-gnu", None);
    assert_eq!(
        network(&whole),
        ["mio"],
        "what the sound server's protocol may bring along"
    );
}

#[test]
fn unsafe_stands_in_one_file_at_most() {
    let mut found = uses(&root().join("src-tauri"), &["unsafe"]);
    found.extend(uses(&root().join("tests"), &["unsafe"]));
    found.retain(|place| !place.starts_with(UNSAFE_FILE));
    assert!(
        found.is_empty(),
        "unsafe outside {UNSAFE_FILE}:\n{}",
        found.join("\n")
    );
}

#[test]
fn cpal_is_named_in_one_file() {
    let mut found = uses(&root().join("src-tauri"), &["cpal"]);
    found.retain(|place| !place.starts_with(BARE_CALLBACK));
    let inside = found.len();
    found.retain(|place| !place.starts_with(CPAL_FILE));
    assert!(
        found.is_empty(),
        "cpal outside {CPAL_FILE}:\n{}",
        found.join("\n")
    );
    assert!(inside > 0, "{CPAL_FILE} names cpal");
}

#[test]
fn rules_and_render_have_no_clock() {
    for room in CLOCKLESS {
        let folder = root().join("src-tauri/crates").join(room).join("src");
        let found = uses(
            &folder,
            &["Instant", "SystemTime", "UNIX_EPOCH", "clock_gettime"],
        );
        assert!(found.is_empty(), "a clock in {room}:\n{}", found.join("\n"));
    }
}

#[test]
fn bare_rooms_do_without_the_standard_library() {
    for room in BARE {
        let file = root()
            .join("src-tauri/crates")
            .join(room)
            .join("src/lib.rs");
        let names = names(&fs::read_to_string(&file).expect("readable lib.rs"));
        assert!(
            names.iter().any(|name| name == "no_std"),
            "{room}/src/lib.rs says no_std"
        );
        let alloc = names.windows(2).any(|pair| pair == ["crate", "alloc"]);
        assert_eq!(
            alloc,
            room == "cycle",
            "{room}/src/lib.rs says `extern crate alloc`"
        );
    }
}

#[test]
fn the_reader_of_names_skips_comments_and_strings() {
    let source = "// unsafe\n/* Instant */ fn f() { let unsafe_code = \"unsafe\"; }\n\
                  /// unsafe\nfn g() { unsafe { h(r#\"Instant\"#) } }";
    assert_eq!(
        names(source)
            .iter()
            .filter(|n| *n == "unsafe" || *n == "Instant")
            .count(),
        1
    );
}

/// The names in a text that stand between two marks and look like commands, in order of the alphabet.
fn commands(text: &str, from: &str, until: &str, prefix: &str) -> BTreeSet<String> {
    let begun = text.find(from).expect("where the list begins");
    let list = &text[begun + from.len()..];
    let list = &list[..list.find(until).expect("where the list ends")];
    let words = list.split(|c: char| !c.is_alphanumeric() && !matches!(c, '_' | '-' | ':'));
    words
        .filter_map(|word| word.strip_prefix(prefix))
        .filter(|word| !word.is_empty())
        .map(|word| word.replace('-', "_"))
        .collect()
}

/// A command that is not listed everywhere answers the page with "not allowed" and nothing else.
#[test]
fn what_the_page_may_ask_is_listed_alike_wherever_it_is_listed() {
    let read = |path: &str| fs::read_to_string(root().join(path)).expect("a source");
    let handled = read("src-tauri/src/lib.rs");
    let answered: BTreeSet<String> = [
        "commands::",
        "afterwards::",
        "listening::",
        "drafting::",
        "drills::",
    ]
    .iter()
    .flat_map(|room| commands(&handled, "generate_handler![", "]", room))
    .collect();
    let listed = commands(&read("src-tauri/build.rs"), ".commands(&[", "]", "");
    let allowed = read("src-tauri/capabilities/main.json");
    let allowed = commands(&allowed, "\"permissions\": [", "]", "allow-");
    let page = read("ui/src/ipc.ts");
    let asked: BTreeSet<String> = page
        .split("return invoke")
        .skip(1)
        .filter_map(|call| Some(call.split_once("(\"")?.1.split_once('"')?.0.to_owned()))
        .collect();
    assert!(answered.len() > 20, "{answered:?}");
    assert_eq!(answered, listed, "lib.rs and build.rs");
    assert_eq!(answered, allowed, "lib.rs and capabilities/main.json");
    assert_eq!(answered, asked, "lib.rs and ui/src/ipc.ts");
}
