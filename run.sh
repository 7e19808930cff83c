#!/usr/bin/env bash
# Builds Carrybeat from source and starts it; installs what is missing first.
# Without a display it rehearses the example case into a sound file instead.
set -euo pipefail

usage() {
    cat <<'TEXT'
usage: ./run.sh [--gallery | --help]

Builds the app and opens its window. Without a display (neither DISPLAY nor
WAYLAND_DISPLAY is set) it rehearses tests/scripts/five-minutes.json instead and
says where the sound, the record and the list of sounds lie.

--gallery  makes a picture of every state of the screen in every set of colours
           instead, into out/gallery, and opens the page that shows them all if
           there is a display
TEXT
}

gallery=no
case "${1-}" in
    "") ;;
    --gallery) gallery=yes ;;
    -h | --help)
        usage
        exit 0
        ;;
    *)
        printf 'run.sh: unknown option %s; known are --gallery and --help\n\n' "$1" >&2
        usage >&2
        exit 2
        ;;
esac
if [ $# -gt 1 ]; then
    printf 'run.sh: takes at most one option, got %s\n\n' "$#" >&2
    usage >&2
    exit 2
fi

# shellcheck source=tools/setup.sh
. "$(dirname "${BASH_SOURCE[0]}")/tools/setup.sh"
cd "$ROOT"

if [ "$gallery" = yes ]; then
    need_tools window chromium-headless-shell
    say "building the page"
    build_page
    npm_packages tests/ui
    say "taking the pictures"
    (cd tests/ui && npx playwright test -c gallery.config.ts </dev/null)
    say "every state: $ROOT/out/gallery/index.html"
    if [ -n "${DISPLAY:-}" ] || [ -n "${WAYLAND_DISPLAY:-}" ]; then
        if command -v xdg-open >/dev/null; then exec xdg-open "$ROOT/out/gallery/index.html"; fi
    fi
    exit 0
fi

if [ -z "${DISPLAY:-}" ] && [ -z "${WAYLAND_DISPLAY:-}" ]; then
    say "no display (DISPLAY and WAYLAND_DISPLAY are empty): rehearsing the example case instead"
    need_tools no-window
    say "building the command line"
    cargo build --locked -p desk
    mkdir -p out
    "${CARGO_TARGET_DIR:-target}"/debug/carrybeat rehearse tests/scripts/five-minutes.json \
        --wav out/rehearsal.wav --record out/rehearsal.rec.jsonl --cues out/rehearsal-cues.json
    say "what the phone would have played: $ROOT/out/rehearsal.wav"
    say "its record:                       $ROOT/out/rehearsal.rec.jsonl"
    say "every sound with its time:        $ROOT/out/rehearsal-cues.json"
    exit 0
fi

need_tools window
say "building the page"
build_page
say "building the app"
cargo build --locked -p carrybeat -p desk
say "starting"
exec "${CARGO_TARGET_DIR:-target}"/debug/carrybeat-app
