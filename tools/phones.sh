#!/usr/bin/env bash
# Type-checks the app for Android and iOS without either's tools, and lints what is written for phones alone.
# Run by test.sh; sourced by tests/phone/planted.sh.
#
# Debian's second compiler brings the standard library's source, from which the library of each phone is made. Nothing
# is linked and no phone is asked: what a phone's system does with the app is not known from here.
set -euo pipefail

if [ -z "${ROOT-}" ]; then
    # shellcheck source=tools/setup.sh
    . "$(dirname "${BASH_SOURCE[0]}")/setup.sh"
fi

PHONE_TARGETS=(aarch64-linux-android aarch64-apple-ios)

# What the check wants to find in its environment. Its build has a folder and a profile of its own: nothing of it is
# run but build scripts and macros, so that nothing is optimised and nothing carries what a debugger reads.
phone_environment() {
    local home="$TOOLS/phone"
    mkdir -p "$home/iPhoneOS.sdk" "$home/page"
    # The page is no matter to the compiler: a single line takes the place of the built one.
    [ -e "$home/page/index.html" ] || printf '<!doctype html><title>Carrybeat</title>\n' >"$home/page/index.html"
    unset RUSTUP_TOOLCHAIN RUSTFLAGS CARGO_ENCODED_RUSTFLAGS
    export RUSTC=/usr/bin/rustc RUSTC_BOOTSTRAP=1 PATH="/usr/bin:$PATH"
    export CARGO_TARGET_DIR="$home/target" CARGO_INCREMENTAL=0
    export CARGO_PROFILE_RELEASE_OPT_LEVEL=0 CARGO_PROFILE_RELEASE_LTO=off
    export TAURI_CONFIG="{\"build\":{\"frontendDist\":\"$home/page\"}}"
    # One small file of Objective-C in a crate of the web view: it includes nothing, so an empty folder is enough.
    export SDKROOT="$home/iPhoneOS.sdk" IPHONEOS_DEPLOYMENT_TARGET=15.0
    export CC_aarch64_apple_ios=clang-22 AR_aarch64_apple_ios=llvm-ar-22
    export RUSTC_WORKSPACE_WRAPPER="$ROOT/tools/phone_lint.sh"
    export CLIPPY_ARGS=-D__CLIPPY_HACKERY__warnings__CLIPPY_HACKERY__
}

# phone_check FOLDER ARGS...: checks the workspace in a folder; the rest goes to cargo. Without --target, for both.
phone_check() {
    local folder=$1 targets=()
    shift
    case " $*" in
        *" --target="*) ;;
        *) targets=("${PHONE_TARGETS[@]/#/--target=}") ;;
    esac
    (cd "$folder" && /usr/bin/cargo check --locked --release -Zbuild-std=std -Zbuild-std-features=panic-unwind \
        "${targets[@]}" "$@" </dev/null)
}

if [ "${BASH_SOURCE[0]}" = "$0" ]; then
    if [ $# -gt 0 ]; then
        printf 'usage: tools/phones.sh\n\nIt takes no options, got "%s".\n' "$*" >&2
        exit 2
    fi
    need_packages "${PHONE_PACKAGES[@]}"
    phone_environment
    say "phones: $(/usr/bin/rustc --version), for ${PHONE_TARGETS[*]}"
    phone_check "$ROOT" -p phone -p carrybeat --lib
fi
