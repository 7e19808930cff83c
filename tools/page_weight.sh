#!/usr/bin/env bash
# What the page's script and style weigh when they are compressed, and that it is not too much.
# usage: tools/page_weight.sh [FOLDER [MOST]]    the built page, ui/dist if none is given, and bytes
#
# The page is read from the program's own file before a crew sees a key: what it weighs is what a start costs.
# Source of the limit: common practice, no source.
set -euo pipefail
folder=${1-ui/dist}
most=${2-120000}
total=0
shopt -s nullglob globstar
for file in "$folder"/**/*.js "$folder"/**/*.css; do
    size=$(gzip -9 -c "$file" | wc -c)
    printf '%s: %s bytes compressed\n' "$file" "$size"
    total=$((total + size))
done
if [ "$total" -eq 0 ]; then
    printf '%s holds no script and no style: build the page first (cd ui && npm run build)\n' "$folder"
    exit 1
fi
printf 'script and style: %s bytes compressed, allowed: %s\n' "$total" "$most"
[ "$total" -le "$most" ]
