# shellcheck shell=bash
# A display, a home and a sound server of their own for the app under measurement. Sourced, never run;
# wants Xvfb, xdotool, pulseaudio and ALSA's plugin for it.

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
# A phone on which the page for new users has been read.
mkdir -p "$XDG_DATA_HOME/org.carrybeat.app"
printf '{"first_seen": true}\n' >"$XDG_DATA_HOME/org.carrybeat.app/settings.json"
printf 'pcm.!default { type pulse }\nctl.!default { type pulse }\n' >"$folder/alsa.conf"
export ALSA_CONFIG_PATH=$folder/alsa.conf GDK_BACKEND=x11 NO_AT_BRIDGE=1 LIBGL_ALWAYS_SOFTWARE=1

start() { "$@" >"$folder/said.${1##*/}" 2>&1 & pids+=($!); }

exec 3>"$folder/display"
Xvfb -displayfd 3 -screen 0 900x900x24 -nolisten tcp >"$folder/said.Xvfb" 2>&1 & pids+=($!)
for _ in $(seq 100); do [ -s "$folder/display" ] && break; sleep 0.1; done
DISPLAY=":$(cat "$folder/display")"
export DISPLAY
export PULSE_SERVER=unix:$folder/run/pulse.socket
start pulseaudio -n --daemonize=no --exit-idle-time=-1 --use-pid-file=no \
    -L "module-null-sink rate=48000 channels=2" \
    -L "module-native-protocol-unix socket=$folder/run/pulse.socket auth-anonymous=1"
for _ in $(seq 100); do [ -S "$folder/run/pulse.socket" ] && break; sleep 0.1; done

# open_app APP: starts it and gives $main and $window once the page is drawn.
open_app() {
    "$1" >"$folder/said.app" 2>&1 & main=$! && pids+=("$main")
    window=$(timeout 60 xdotool search --sync --onlyvisible --pid "$main" | tail -1)
    # The page is drawn some time after its window; a press before that does nothing.
    sleep 15
}

# press_start: the wide key of the start card, in the row over its last, by a press in the window.
press_start() {
    eval "$(xdotool getwindowgeometry --shell "$window")"
    xdotool mousemove --window "$window" $((WIDTH / 2)) $((HEIGHT - 244)) mousedown 1 sleep 0.15 mouseup 1
    sleep 5
    records=("$XDG_DATA_HOME"/*/runs/*)
    if ! grep -q compr_start "${records[@]}" 2>/dev/null; then
        [ -z "${PICTURE:-}" ] || import -window root "$PICTURE"
        echo "the run did not begin; the app said:" >&2
        cat "$folder/said.app" >&2
        exit 1
    fi
}

# still_sounds: fails if the app has lost its sound.
still_sounds() {
    if grep -h '"ev":"sound"' "${records[@]}" | tail -1 | grep -q '"what":"lost"'; then
        echo "the app had no sound at the end: the figures are those of a silent run" >&2
        exit 1
    fi
}
