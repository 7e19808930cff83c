#!/usr/bin/env bash
# Memory of the app's own process, without the web process, while a run goes on.
# usage: bench/app_memory.sh PROGRAMS APP    the folder of built programs, the built app;
# wants Xvfb, xdotool, pulseaudio and ALSA's plugin for it
#
# A display, a home and a sound server of its own. The run is begun by a click in the window and shows in
# the record; figures are taken before the click, and 60 s and 180 s after it.
set -euo pipefail
programs=$(readlink -f "$1")
app=$(readlink -f "$2")
folder=$(mktemp -d)
pids=()
clean() {
    for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
    wait 2>/dev/null || true
    rm -rf "$folder"
}
trap clean EXIT
export HOME=$folder XDG_RUNTIME_DIR=$folder/run XDG_DATA_HOME=$folder/data
mkdir -m 700 "$XDG_RUNTIME_DIR"
printf 'pcm.!default { type pulse }\nctl.!default { type pulse }\n' >"$folder/alsa.conf"
export ALSA_CONFIG_PATH=$folder/alsa.conf GDK_BACKEND=x11 NO_AT_BRIDGE=1 LIBGL_ALWAYS_SOFTWARE=1

start() { "$@" >"$folder/said.${1##*/}" 2>&1 & pids+=($!); }

exec 3>"$folder/display"
Xvfb -displayfd 3 -screen 0 500x900x24 -nolisten tcp >"$folder/said.Xvfb" 2>&1 & pids+=($!)
for _ in $(seq 100); do [ -s "$folder/display" ] && break; sleep 0.1; done
export DISPLAY=":$(cat "$folder/display")"
export PULSE_SERVER=unix:$folder/run/pulse.socket
start pulseaudio -n --daemonize=no --exit-idle-time=-1 --use-pid-file=no \
    -L "module-null-sink rate=48000 channels=2" \
    -L "module-native-protocol-unix socket=$folder/run/pulse.socket auth-anonymous=1"
for _ in $(seq 100); do [ -S "$folder/run/pulse.socket" ] && break; sleep 0.1; done

"$app" >"$folder/said.app" 2>&1 & main=$! && pids+=($main)
window=$(timeout 60 xdotool search --sync --onlyvisible --pid "$main" | tail -1)
# The page is drawn some time after its window; a press before that does nothing.
sleep 15

memory() {
    local kb pid web=0
    kb=$(awk '/^Rss:/ { print $2 }' "/proc/$main/smaps_rollup")
    "$programs/say" "the app's process, $1: resident" kB 1 "$kb"
    kb=$(awk '/^Pss:/ { print $2 }' "/proc/$main/smaps_rollup")
    "$programs/say" "the app's process, $1: its share (shared pages divided)" kB 1 "$kb"
    kb=$(awk '/^(Private_Clean|Private_Dirty):/ { s += $2 } END { print s }' "/proc/$main/smaps_rollup")
    "$programs/say" "the app's process, $1: its own alone" kB 1 "$kb"
    for pid in $(pgrep -P "$main") ; do
        web=$((web + $(awk '/^Pss:/ { print $2 }' "/proc/$pid/smaps_rollup")))
    done
    "$programs/say" "the app's web and network processes beside it, $1: their share" kB 1 "$web"
}

memory "before a run"
# The one wide key of the start card lies at the foot of the window.
eval "$(xdotool getwindowgeometry --shell "$window")"
xdotool mousemove --window "$window" $((WIDTH / 2)) $((HEIGHT - 60)) mousedown 1 sleep 0.15 mouseup 1
sleep 5
records=("$XDG_DATA_HOME"/*/runs/*)
if ! grep -q compr_start "${records[@]}" 2>/dev/null; then
    [ -z "${PICTURE:-}" ] || import -window root "$PICTURE"
    echo "the run did not begin; the app said:" >&2
    cat "$folder/said.app" >&2
    exit 1
fi
sleep 55
memory "60 s into a run"
sleep 120
memory "180 s into a run"
if grep -h '"ev":"sound"' "${records[@]}" | tail -1 | grep -q '"what":"lost"'; then
    echo "the app had no sound at the end: the figures are those of a silent run" >&2
    exit 1
fi
[ -z "${PICTURE:-}" ] || import -window root "$PICTURE"
