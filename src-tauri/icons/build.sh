#!/bin/sh
# Draws the icons: the disc of compressions over the bar of hands off, in a square of 512. The pictures of the desktop
# with ImageMagick; those of Android are drawn by the phone itself, from the same numbers.
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

# vector FILE SIZE SCALE X Y DISC BAR: the two shapes in a square of SIZE, scaled and then moved by X and Y.
vector() {
    mkdir -p "$(dirname "$1")"
    cat >"$1" <<XML
<?xml version="1.0" encoding="utf-8"?>
<!-- Written by src-tauri/icons/build.sh. -->
<vector xmlns:android="http://schemas.android.com/apk/res/android"
    android:width="$2dp"
    android:height="$2dp"
    android:viewportWidth="$2"
    android:viewportHeight="$2">
    <group
        android:scaleX="$3"
        android:scaleY="$3"
        android:translateX="$4"
        android:translateY="$5">
        <path
            android:fillColor="$6"
            android:pathData="M256,92 a104,104 0 1,1 0,208 a104,104 0 1,1 0,-208 z" />
        <path
            android:fillColor="$7"
            android:pathData="M96,348 h320 v64 h-320 z" />
    </group>
</vector>
XML
}

app=../gen/android/app/src/main/res/drawable
# Within the circle of 66 that every launcher shows of the 108: the bar's corners lie 33 from the middle.
vector "$app/ic_launcher_foreground.xml" 108 0.145 16.88 17.46 '#A6DCFF' '#FFAC73'
vector "$app/ic_launcher_monochrome.xml" 108 0.145 16.88 17.46 '#FFFFFF' '#FFFFFF'
# The notice, the tile and the shortcut: the system takes the shape and gives it a colour.
vector ../crates/phone/android/src/main/res/drawable/phone_notice.xml 24 0.0625 -4 -3.75 '#FFFFFF' '#FFFFFF'
