#!/bin/sh
# Draws the icons with ImageMagick: the disc of compressions over the bar of hands off.
set -eu
cd "$(dirname "$0")"
convert -size 512x512 xc:none \
    -fill '#0E1216' -draw 'roundrectangle 0,0 511,511 96,96' \
    -fill '#A6DCFF' -draw 'circle 256,196 256,92' \
    -fill '#FFAC73' -draw 'rectangle 96,348 416,412' \
    -strip PNG32:icon.png
for size in 32 128; do
    convert icon.png -resize "${size}x${size}" -strip "PNG32:${size}x${size}.png"
done
