#!/usr/bin/env bash
# Packs the built app as a Debian package, installs it, starts it from there, sees its window, and removes it again.
# It is installed below a folder of its own, with the system's list of packages beside it: what the package asks for is
# held against what is here, and nothing of the system is touched.
set -euo pipefail

# shellcheck source=tools/setup.sh
. "$(dirname "${BASH_SOURCE[0]}")/../../tools/setup.sh"

BUILT="${CARGO_TARGET_DIR:-$ROOT/target}"
case "$BUILT" in /*) ;; *) BUILT="$ROOT/$BUILT" ;; esac
WORK=$(mktemp -d "${TMPDIR:-/tmp}/carrybeat-deb.XXXXXX")
INSTALLED="$WORK/installed"
helpers=()
end() {
    for pid in "${helpers[@]}"; do kill "$pid" 2>/dev/null || true; done
    rm -rf "$WORK"
}
trap end EXIT
fail() {
    printf 'deb.sh: %s\n' "$*" >&2
    exit 1
}
step() { printf '%-10s %s\n' "$SECONDS s" "$*"; }

# wait_for SECONDS WHAT COMMAND...
wait_for() {
    local limit=$((SECONDS + $1)) what=$2
    shift 2
    until "$@"; do
        [ "$SECONDS" -lt "$limit" ] || fail "$what: not within its time"
        sleep 0.2
    done
}

[ -x "$BUILT/debug/carrybeat-app" ] || fail "$BUILT/debug/carrybeat-app is missing; build it: cargo build -p carrybeat"

# The packing program, by version and hash.
cli="$TOOLS/tauri-cli"
mkdir -p "$cli"
cp "$ROOT/tests/phone/package.json" "$ROOT/tests/phone/package-lock.json" "$cli/"
npm_packages "$cli" >"$LOGS/npm-cli.log" 2>&1 || {
    tail -n 20 "$LOGS/npm-cli.log" >&2
    fail "npm could not bring @tauri-apps/cli"
}
step "the packing program is here"

# A target folder of its own with the built program in it: the package is laid there and goes with it.
mkdir -p "$WORK/target/debug"
ln "$BUILT/debug/carrybeat-app" "$WORK/target/debug/" 2>/dev/null || cp "$BUILT/debug/carrybeat-app" "$WORK/target/debug/"
(cd "$ROOT/src-tauri" && CARGO_TARGET_DIR="$WORK/target" \
    "$cli/node_modules/.bin/tauri" bundle --ci --debug --bundles deb) >"$WORK/bundle.log" 2>&1 </dev/null || {
    tail -n 30 "$WORK/bundle.log" >&2
    fail "the package could not be made"
}
deb=$(find "$WORK/target/debug/bundle/deb" -name '*.deb')
[ -f "$deb" ] || fail "one package is wanted, found: ${deb:-none}"
step "packed: ${deb##*/}, $(stat -c %s "$deb") bytes"

# What it says of itself.
field() { dpkg-deb -f "$deb" "$1"; }
[ "$(field Package)" = carrybeat ] || fail "Package is \"$(field Package)\""
[ "$(field Section)" = misc ] || fail "Section is \"$(field Section)\""
[ "$(field Maintainer)" = "The Carrybeat developers" ] || fail "Maintainer is \"$(field Maintainer)\""
[[ "$(field Description)" == *cardiac* ]] || fail "Description is \"$(field Description)\""

# Every library that the program is linked with belongs to a package that it asks for, or to one that those ask for.
python3 "$ROOT/tests/phone/depends.py" "$BUILT/debug/carrybeat-app" "$(field Depends)" || fail "Depends is \"$(field Depends)\""
step "it asks for what it needs: $(field Depends)"

dpkg_here() { dpkg --root="$INSTALLED" --force-not-root --log="$WORK/dpkg.log" "$@"; }
mkdir -p "$INSTALLED/var/lib/dpkg/info" "$INSTALLED/var/lib/dpkg/updates"
cp /var/lib/dpkg/status "$INSTALLED/var/lib/dpkg/status"
files() { find "$INSTALLED" -path "$INSTALLED/var/lib/dpkg" -prune -o -print | LC_ALL=C sort; }
files >"$WORK/before"
# Without the lists of the other packages' files it warns of each.
dpkg_here -i "$deb" >"$WORK/install.log" 2>&1 || {
    grep -v 'files list file' "$WORK/install.log" >&2
    fail "dpkg does not install it"
}
app="$INSTALLED/usr/bin/carrybeat-app"
[ -x "$app" ] || fail "usr/bin/carrybeat-app is not in it"
[ -n "$(find "$INSTALLED/usr/share/applications" -name '*.desktop')" ] || fail "it has no entry for the menu"
step "installed"

# A screen of a phone's size, a home and nothing of the user's.
mkdir -p "$WORK/home" "$WORK/run" "$WORK/screen"
chmod 700 "$WORK/run"
Xvfb -displayfd 3 -screen 0 390x844x24 -nolisten tcp -fbdir "$WORK/screen" 3>"$WORK/display" 2>"$WORK/xvfb.log" &
helpers+=($!)
wait_for 20 "the screen" test -s "$WORK/display"
DISPLAY=":$(head -n1 "$WORK/display")"
env -i PATH="$PATH" HOME="$WORK/home" XDG_RUNTIME_DIR="$WORK/run" DISPLAY="$DISPLAY" GDK_BACKEND=x11 LANG=C.UTF-8 \
    NO_AT_BRIDGE=1 LIBGL_ALWAYS_SOFTWARE=1 "$app" >"$WORK/app.log" 2>&1 </dev/null &
pid=$!
helpers+=("$pid")
window() { DISPLAY="$DISPLAY" xwininfo -root -tree 2>/dev/null | grep -qE '"Carrybeat".* 390x844\+'; }
drawn() { python3 "$ROOT/tests/phone/drawn.py" "$WORK/screen/Xvfb_screen0" >"$WORK/drawn.log" 2>&1; }
wait_for 30 "its window" window
step "its window is there"
wait_for 30 "something drawn in it" drawn
step "it is drawn: $(cat "$WORK/drawn.log")"
kill -0 "$pid" 2>/dev/null || fail "it has ended by itself: $(cat "$WORK/app.log")"
kill "$pid"
wait "$pid" 2>/dev/null || true

dpkg_here --purge carrybeat >"$WORK/purge.log" 2>&1 || {
    grep -v 'files list file' "$WORK/purge.log" >&2
    fail "dpkg does not remove it"
}
files >"$WORK/after"
diff "$WORK/before" "$WORK/after" >"$WORK/left" || {
    cat "$WORK/left" >&2
    fail "something of it is left"
}
if grep -q '^Package: carrybeat$' "$INSTALLED/var/lib/dpkg/status"; then fail "dpkg still knows it"; fi
step "removed, nothing is left"
