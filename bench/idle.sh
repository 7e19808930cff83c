#!/usr/bin/env bash
# Memory and processor time of the app while nobody touches it, beside an empty window of the same shell.
# usage: bench/idle.sh PROGRAMS APP EMPTY MINUTES    the folder of built programs, the built app, the built
# example `empty_window`, and how long
#
# A run is begun by a press in the window; then both go on untouched. Figures are taken from 60 s after the
# press on. Processor time is what the system counted for each process, and for each thread of the app's own;
# wake-ups are the sleeps that each thread ended.
# A web process tidies up when it has collected some tens of MB, so its memory is a saw: what it keeps is told
# by the troughs, the least within two minutes of a fall by a tenth.
set -euo pipefail
programs=$(readlink -f "$1")
app=$(readlink -f "$2")
empty=$(readlink -f "$3")
minutes=$4
# shellcheck source=bench/world.sh
. "$(dirname "$0")/world.sh"
tick=$(getconf CLK_TCK)

# ticks FILE...: processor time of stat files, in clock ticks; the name in brackets may hold blanks.
ticks() { cat "$@" 2>/dev/null | sed 's/^.*) //' | awk '{ s += $12 + $13 } END { print s + 0 }'; }
# family PID: the process and those it has started.
family() { printf '%s\n' "$1"; pgrep -P "$1" || true; }
stats() { for pid in $(family "$1"); do printf '/proc/%s/stat\n' "$pid"; done; }
private() { awk '/^(Private_Clean|Private_Dirty):/ { s += $2 } END { print s }' "/proc/$1/smaps_rollup"; }
web() { for pid in $(family "$1"); do private "$pid"; done | awk 'NR > 1 { s += $1 } END { print s }'; }
# saw FILE: first, highest and last of a list, and its troughs.
saw() {
    awk '{ v[NR] = $1; if ($1 > top) top = $1 }
        END {
            for (i = 2; i <= NR; i++) {
                high = 0
                for (j = i - 6; j < i; j++) if (v[j] > high) high = v[j]
                if (v[i] >= 0.9 * high) continue
                low = v[i]
                for (j = i; j < i + 6 && j <= NR; j++) if (v[j] < low) low = v[j]
                troughs = troughs " " low
                i += 6
            }
            print v[1], top, v[NR] troughs
        }' "$1"
}
# Each thread that woke by itself, with how often it did so far: a sleep that ended, no turn that was taken away.
wakes() {
    local pid task
    for pid in $(family "$main"); do
        for task in "/proc/$pid/task"/*; do
            printf '%s\t%s\n' "$(awk '/^voluntary/ { print $2 }' "$task/status" 2>/dev/null || echo 0)" \
                "$(cat "/proc/$pid/comm" 2>/dev/null)/$(cat "$task/comm" 2>/dev/null)"
        done
    done | awk -F '\t' '{ s[$2] += $1 } END { for (n in s) print n "\t" s[n] }' | sort
}
threads() {
    local task
    for task in "/proc/$main/task"/*; do
        printf '%s\t%s\n' "$(ticks "$task/stat")" "$(cat "$task/comm")"
    done | awk -F '\t' '{ s[$2] += $1 } END { for (n in s) print n "\t" s[n] }' | sort
}

"$empty" >"$folder/said.empty" 2>&1 & bare=$! && pids+=("$bare")
open_app "$app"
press_start
sleep 55
began=$(date +%s%N)
own_0=$(private "$main") cpu_0=$(ticks "/proc/$main/stat")
# shellcheck disable=SC2046
whole_0=$(ticks $(stats "$main")) bare_0=$(ticks $(stats "$bare"))
threads >"$folder/threads.0"
wakes >"$folder/wakes.0"
for _ in $(seq $((minutes * 3))); do
    web "$main" >>"$folder/web"
    sleep 20
done
# shellcheck disable=SC2046
whole_1=$(ticks $(stats "$main")) bare_1=$(ticks $(stats "$bare"))
cpu_1=$(ticks "/proc/$main/stat")
threads >"$folder/threads.1"
wakes >"$folder/wakes.1"
own_1=$(private "$main")
still_sounds
seconds=$(awk -v a="$began" -v b="$(date +%s%N)" 'BEGIN { print (b - a) / 1e9 }')
percent() { awk -v a="$1" -v b="$2" -v t="$tick" -v s="$seconds" 'BEGIN { printf "%.3f", (b - a) / t / s * 100 }'; }
growth() { awk -v a="$1" -v b="$2" 'BEGIN { printf "%.2f", (b - a) / a * 100 }'; }
say() { "$programs/say" "idle $minutes min in a run: $1" "$2" 1 "$3"; }
say "the app's process, its own memory at first" kB "$own_0"
say "the app's process, its own memory at last" kB "$own_1"
say "the app's process, growth of its own memory" % "$(growth "$own_0" "$own_1")"
read -r web_0 web_top web_1 troughs <<<"$(saw "$folder/web")"
say "its web processes, their own memory at first" kB "$web_0"
say "its web processes, their own memory at most" kB "$web_top"
say "its web processes, their own memory at last" kB "$web_1"
read -ra lows <<<"$troughs"
for low in "${lows[@]}"; do say "its web processes, their own memory once tidied" kB "$low"; done
if [ "${#lows[@]}" -gt 1 ]; then
    say "its web processes, growth from the first tidying to the last" % "$(growth "${lows[0]}" "${lows[-1]}")"
else
    echo "fewer than two tidyings: what the web processes keep is not told by so short a run" >&2
fi
say "the app's process" "% of a core" "$(percent "$cpu_0" "$cpu_1")"
say "the app and its web processes" "% of a core" "$(percent "$whole_0" "$whole_1")"
say "an empty window of the same shell and its web processes" "% of a core" "$(percent "$bare_0" "$bare_1")"
join -t $'\t' "$folder/threads.0" "$folder/threads.1" | while IFS=$'\t' read -r name a b; do
    [ "$a" = "$b" ] || say "thread $name" "% of a core" "$(percent "$a" "$b")"
done
rate() { awk -v a="$1" -v b="$2" -v s="$seconds" 'BEGIN { printf "%.2f", (b - a) / s }'; }
join -t $'\t' "$folder/wakes.0" "$folder/wakes.1" | while IFS=$'\t' read -r name a b; do
    [ "$a" = "$b" ] || say "$name" "wake-ups a second" "$(rate "$a" "$b")"
done
