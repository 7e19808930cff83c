#!/usr/bin/env bash
# Type-checks the app for Android and iOS without either's tools, and lints what is written for phones alone.
# Run by test.sh; sourced by tests/phone/planted.sh.
#
# Nothing is linked and no phone is asked: what a phone's system does with the app is not known from here. The pinned
# compiler is given each phone's standard library; its build shares folder and profile with the machine's own, and so
# all macros and build scripts. Where there is no rustup, Debian's second compiler makes the libraries from their source.
set -euo pipefail

if [ -z "${ROOT-}" ]; then
    # shellcheck source=tools/setup.sh
    . "$(dirname "${BASH_SOURCE[0]}")/setup.sh"
fi

PHONE_TARGETS=(aarch64-linux-android aarch64-apple-ios)
PHONE_CARGO=()

# The pinned toolchain with both phones' libraries, or else Debian's compiler with their source.
phone_toolchain() {
    if rustup_rust && rustup target add --toolchain "$RUSTUP_TOOLCHAIN" "${PHONE_TARGETS[@]}" \
        >"$LOGS/rustup-targets.log" 2>&1 </dev/null; then
        PHONE_CARGO=(cargo check --locked)
        return
    fi
    say "no rustup that brings the phones' libraries: making them from Debian's source"
    need_packages "${PHONE_DEBIAN[@]}"
    unset RUSTUP_TOOLCHAIN
    export RUSTC=/usr/bin/rustc RUSTC_BOOTSTRAP=1 PATH="/usr/bin:$PATH"
    # Another compiler's build is no use to the machine's own.
    export CARGO_TARGET_DIR="$TOOLS/phone/target"
    PHONE_CARGO=(/usr/bin/cargo check --locked -Zbuild-std=std -Zbuild-std-features=panic-unwind)
}

# What the check wants to find in its environment.
phone_environment() {
    local home="$TOOLS/phone"
    need_packages "${PHONE_PACKAGES[@]}"
    phone_toolchain
    mkdir -p "$home/iPhoneOS.sdk" "$home/page"
    # The page is no matter to the compiler: a single line takes the place of the built one.
    [ -e "$home/page/index.html" ] || printf '<!doctype html><title>Carrybeat</title>\n' >"$home/page/index.html"
    export TAURI_CONFIG="{\"build\":{\"frontendDist\":\"$home/page\"}}"
    # One small file of Objective-C in a crate of the web view: it includes nothing, so an empty folder is enough.
    export SDKROOT="$home/iPhoneOS.sdk" IPHONEOS_DEPLOYMENT_TARGET=15.0
    export CC_aarch64_apple_ios=clang-22 AR_aarch64_apple_ios=llvm-ar-22
    export CARGO_TARGET_DIR="${CARGO_TARGET_DIR:-$ROOT/target}"
    RUSTC_WORKSPACE_WRAPPER="$ROOT/tools/phone_lint.sh"
    PHONE_LINTER="$("${RUSTC:-rustc}" --print sysroot)/bin/clippy-driver"
    CLIPPY_ARGS=-D__CLIPPY_HACKERY__warnings__CLIPPY_HACKERY__
    export RUSTC_WORKSPACE_WRAPPER PHONE_LINTER CLIPPY_ARGS
}

# phone_check FOLDER ARGS...: checks the workspace in a folder; the rest goes to cargo. Without --target, for both.
phone_check() {
    local folder=$1 targets=()
    shift
    case " $*" in
        *" --target="*) ;;
        *) targets=("${PHONE_TARGETS[@]/#/--target=}") ;;
    esac
    (cd "$folder" && "${PHONE_CARGO[@]}" "${targets[@]}" "$@" </dev/null)
}

if [ "${BASH_SOURCE[0]}" = "$0" ]; then
    if [ $# -gt 0 ]; then
        printf 'usage: tools/phones.sh\n\nIt takes no options, got "%s".\n' "$*" >&2
        exit 2
    fi
    phone_environment
    say "phones: $("${RUSTC:-rustc}" --version), for ${PHONE_TARGETS[*]}"
    phone_check "$ROOT" -p phone -p carrybeat --lib
fi
