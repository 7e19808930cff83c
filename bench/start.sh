#!/usr/bin/env bash
# From the start of the process to a window that can be used and to the first beat heard, beside an empty window
# of the same shell: ten starts each, in turn.
# usage: bench/start.sh PROGRAMS APP EMPTY [STARTS]    the folder of built programs, the built app, the built
# example `empty_window`, and how many starts of each
set -euo pipefail
programs=$(readlink -f "$1")
app=$(readlink -f "$2")
empty=$(readlink -f "$3")
starts=${4-10}
here=$(readlink -f "$(dirname "$0")")
# shellcheck source=bench/world.sh
. "$here/world.sh"
"${CARRYBEAT_PYTHON:-python3}" "$here/start.py" "$app" "$empty" "$starts" >"$folder/starts" || { cat "$folder"/said.* >&2; exit 1; }
# A line is the name of a figure, its unit, and its values, with tabs.
while IFS=$'\t' read -r what unit values; do
    # shellcheck disable=SC2086
    "$programs/say" "start, $starts of each in turn: $what" "$unit" "$starts" $values
done <"$folder/starts"
