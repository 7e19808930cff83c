#!/usr/bin/env bash
# Memory of the app's own process, without the web process, while a run goes on.
# usage: bench/app_memory.sh PROGRAMS APP    the folder of built programs, the built app
#
# The run is begun by a press in the window and shows in the record; figures are taken before the press, and
# 60 s and 180 s after it.
set -euo pipefail
programs=$(readlink -f "$1")
app=$(readlink -f "$2")
# shellcheck source=bench/world.sh
. "$(dirname "$0")/world.sh"
open_app "$app"

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
press_start
sleep 55
memory "60 s into a run"
sleep 120
memory "180 s into a run"
still_sounds
[ -z "${PICTURE:-}" ] || import -window root "$PICTURE"
