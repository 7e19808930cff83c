#!/usr/bin/env bash
# Breaks the code for phones in one place at a time and sees that the check fails there: that it looks into every file,
# for the right phone, and knows what a phone has not got. Works on a copy; the tree itself is never touched.
set -euo pipefail

# shellcheck source=tools/phones.sh
. "$(dirname "${BASH_SOURCE[0]}")/../../tools/phones.sh"
phone_environment

ANDROID=aarch64-linux-android IOS=aarch64-apple-ios
COPY=$(mktemp -d "${TMPDIR:-/tmp}/carrybeat-planted.XXXXXX")
trap 'rm -rf "$COPY"' EXIT
passed=0 failed=0

# The rooms that are broken are copied with their times, so that cargo takes the others as checked; they are linked.
link_all_but() {
    local from=$1 to=$2 entry
    mkdir -p "$to"
    shift 2
    for entry in "$from"/* "$from"/.cargo; do
        [ -e "$entry" ] || continue
        case " $* " in *" ${entry##*/} "*) continue ;; esac
        ln -s "$entry" "$to/"
    done
}
link_all_but "$ROOT" "$COPY" src-tauri
link_all_but "$ROOT/src-tauri" "$COPY/src-tauri" src crates
link_all_but "$ROOT/src-tauri/crates" "$COPY/src-tauri/crates" phone
cp -a "$ROOT/src-tauri/src" "$COPY/src-tauri/src"
cp -a "$ROOT/src-tauri/crates/phone" "$COPY/src-tauri/crates/phone"

note() {
    case "$1" in
        passed) passed=$((passed + 1)) ;;
        *) failed=$((failed + 1)) ;;
    esac
    printf '%-6s %s\n' "$1" "$2"
}

# must_fail WHAT FILE TARGET PACKAGE WORDS: the check of the copy fails, names the file and says so.
must_fail() {
    local what=$1 file=$2 target=$3 package=$4 words=$5 log="$COPY/check.log"
    if phone_check "$COPY" -p "$package" --lib --target="$target" >"$log" 2>&1; then
        note FAILED "$what: the check for $target passed"
    elif ! grep -qF -- "--> $file:" "$log"; then
        note FAILED "$what: the check for $target does not name the file"
        tail -n 30 "$log"
    elif ! grep -qF -- "$words" "$log"; then
        note FAILED "$what: the check for $target does not say \"$words\""
        tail -n 30 "$log"
    else
        note passed "$what: the check for $target fails"
    fi
}

must_pass() {
    local what=$1 target=$2 log="$COPY/check.log"
    if phone_check "$COPY" -p phone --lib --target="$target" >"$log" 2>&1; then
        note passed "$what: the check for $target passes"
    else
        note FAILED "$what: the check for $target fails"
        tail -n 30 "$log"
    fi
}

# plant FILE LINES: adds lines to the end of a file of the copy; `unplant` has it as it was, with its times.
plant() { printf '%s\n' "$2" >>"$COPY/$1"; }
unplant() { cp -a "$ROOT/$1" "$COPY/$1"; }

PHONE=src-tauri/crates/phone/src
TYPE_ERROR='const _PLANTED: u8 = "planted";'
mapfile -t android < <(cd "$ROOT" && find "$PHONE/android.rs" "$PHONE/android" -name '*.rs' 2>/dev/null | LC_ALL=C sort)
mapfile -t ios < <(cd "$ROOT" && find "$PHONE/ios.rs" "$PHONE/ios" -name '*.rs' | LC_ALL=C sort)
[ ${#android[@]} -ge 1 ] && [ ${#ios[@]} -ge 2 ] || {
    printf 'planted.sh: no code for phones was found under %s\n' "$PHONE"
    exit 1
}

must_pass "nothing planted" "$ANDROID"
must_pass "nothing planted" "$IOS"

# all_must_fail TARGET OTHER FILE...: with a type error in each of the files at once, the check for the target fails
# and names every one of them; for the other phone it passes, whose code they are not part of.
all_must_fail() {
    local target=$1 other=$2 log="$COPY/check.log" file
    shift 2
    for file in "$@"; do plant "$file" "$TYPE_ERROR"; done
    if phone_check "$COPY" -p phone --lib --target="$target" >"$log" 2>&1; then
        note FAILED "type errors in all files for $target: the check passed"
    else
        for file in "$@"; do
            if grep -F -A1 'mismatched types' "$log" | grep -qF -- "--> $file:"; then
                note passed "a type error in $file: the check for $target fails and names it"
            else
                note FAILED "a type error in $file: the check for $target does not name it"
            fi
        done
    fi
    must_pass "type errors in all files for $target" "$other"
    for file in "$@"; do unplant "$file"; done
}
all_must_fail "$ANDROID" "$IOS" "${android[@]}"
all_must_fail "$IOS" "$ANDROID" "${ios[@]}"

# A call of Apple's outside the one room for it, and one without its reason.
file="$PHONE/ios/sound.rs"
plant "$file" 'pub(super) fn planted() { unsafe { std::hint::unreachable_unchecked() } }'
must_fail "unsafe in $file" "$file" "$IOS" phone "usage of an \`unsafe\` block"
unplant "$file"
file="$PHONE/ios/native.rs"
plant "$file" 'pub(super) fn planted() { unsafe { std::hint::unreachable_unchecked() } }'
must_fail "unsafe without a reason in $file" "$file" "$IOS" phone "unsafe block missing a safety comment"
unplant "$file"

# What only a desktop has, called by the shell everywhere.
file=src-tauri/src/error.rs
for target in "$ANDROID" "$IOS"; do
    plant "$file" 'pub(crate) type Planted = tauri::menu::Menu<tauri::Wry>;'
    must_fail "a desktop's menu in $file" "$file" "$target" carrybeat "configured out"
    unplant "$file"
done

say "$((passed + failed)) planted faults and their opposites"
printf 'test result: %s passed; %s failed; 0 ignored\n' "$passed" "$failed"
[ "$failed" -eq 0 ]
