#!/usr/bin/env bash
# Instructions of one callback block: two counts of different length, so that the start drops out.
# usage: bench/instructions.sh PROGRAMS [--profile]    the folder of built programs; wants valgrind
set -euo pipefail
callback=$1/callback
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
count() {
    valgrind --tool=callgrind --callgrind-out-file="$folder/$1" "$callback" --plain --blocks "$1" \
        >"$folder/said" 2>&1 || { cat "$folder/said" >&2; return 1; }
    awk '/^(summary|totals):/ { n = $2 } END { print n }' "$folder/$1"
}
few=2000 many=22000
a=$(count "$few") b=$(count "$many")
what="callback, 256 frames, beats and a voice, instructions"
"$1/say" "$what" "instructions a block" "$((many - few))" "$(((b - a) / (many - few)))"
if [ "${2:-}" = --profile ]; then
    callgrind_annotate "$folder/$many" | head -40 >&2
fi
