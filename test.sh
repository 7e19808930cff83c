#!/usr/bin/env bash
# Every check of the project, in stages. Installs what is missing first.
set -euo pipefail

usage() {
    cat <<'TEXT'
usage: ./test.sh [--full] [--minutes N] [--help]

Runs every stage and prints its seconds; the last line sums them up as
"N passed, N failed, N skipped". The run fails if a check fails.

--full       runs the whole proofs as well (tests marked as ignored)
--minutes N  fails, and starts no further stage, after N minutes
TEXT
}

FULL=no
# A day: a slow machine is no fault.
BUDGET_S=86400
while [ $# -gt 0 ]; do
    case "$1" in
        --full) FULL=yes ;;
        --minutes)
            case "${2-}" in
                "" | 0* | *[!0-9]*)
                    printf 'test.sh: --minutes wants a whole number from 1 on, got "%s"\n' "${2-}" >&2
                    exit 2
                    ;;
            esac
            BUDGET_S=$((60 * $2))
            shift
            ;;
        -h | --help)
            usage
            exit 0
            ;;
        *)
            printf 'test.sh: unknown option %s\n\n' "$1" >&2
            usage >&2
            exit 2
            ;;
    esac
    shift
done

# shellcheck source=tools/setup.sh
. "$(dirname "${BASH_SOURCE[0]}")/tools/setup.sh"
cd "$ROOT"

DENY_VERSION=0.20.2
passed=0 failed=0 skipped=0
child=
summary=()

# Each stage is a process group of its own, so that ending it ends what it started.
set -m
end_child() {
    [ -n "$child" ] || return 0
    kill -TERM -- "-$child" 2>/dev/null || return 0
    local until=$((SECONDS + 5))
    while [ "$SECONDS" -lt "$until" ]; do
        kill -0 -- "-$child" 2>/dev/null || return 0
        sleep 0.5
    done
    kill -KILL -- "-$child" 2>/dev/null || true
}
trap 'end_child; [ -z "${deny_pid-}" ] || kill -TERM -- "-$deny_pid" 2>/dev/null || true' EXIT
trap 'exit 130' INT
trap 'exit 143' TERM

# stage NAME [--show] COMMAND...: one stage with its output in a file of its own. With --show the
# output is passed on as it comes; else only its end, and only if the stage fails.
stage() {
    local name=$1 show=no
    shift
    if [ "$1" = --show ]; then
        show=yes
        shift
    fi
    local log="$LOGS/$name.log" began=$SECONDS status=0 tail_pid=
    say "$name"
    : >"$log"
    if [ "$began" -gt "$BUDGET_S" ]; then
        printf 'not started: no time was left of %s s\n' "$BUDGET_S" >"$log"
        count "$name" "$log" 1 0 no
        return
    fi
    ("$@") >"$log" 2>&1 </dev/null &
    child=$!
    if [ "$show" = yes ]; then
        tail -n +1 -f --pid="$child" "$log" &
        tail_pid=$!
    fi
    while kill -0 "$child" 2>/dev/null; do
        if [ "$SECONDS" -gt "$BUDGET_S" ]; then
            printf '%s: ended, the whole run has taken more than %s s\n' "$name" "$BUDGET_S"
            end_child
            break
        fi
        sleep 0.5
    done
    # Bash's own words about an ended job would only repeat what is said below.
    { wait "$child" || status=$?; } 2>/dev/null
    child=
    [ -z "$tail_pid" ] || { wait "$tail_pid" || true; } 2>/dev/null
    count "$name" "$log" "$status" "$((SECONDS - began))" "$show"
}

# Adds a stage to the sums: the tests that its runners counted, or else the stage itself.
count() {
    local name=$1 log=$2 status=$3 seconds=$4 show=$5 p f s
    read -r p f s < <(awk '
        # cargo test
        /^test result: / {
            for (i = 2; i <= NF; i++) {
                if ($i ~ /^passed/) p += $(i - 1)
                if ($i ~ /^failed/) f += $(i - 1)
                if ($i ~ /^ignored/) s += $(i - 1)
            }
            seen = 1
        }
        # the test runners of Node and of the page
        $2 == "pass" && NF == 3 { p += $3; seen = 1 }
        $2 == "fail" && NF == 3 { f += $3 }
        $2 == "skipped" && NF == 3 { s += $3 }
        /^ +[0-9]+ passed \(/ { p += $1; seen = 1 }
        /^ +[0-9]+ (failed|flaky|interrupted)$/ { f += $1; seen = 1 }
        /^ +[0-9]+ (skipped|did not run)$/ { s += $1 }
        # pytest
        / in [0-9.]+s( |$)/ && /[0-9]+ (passed|failed|error)/ {
            for (i = 2; i <= NF; i++) {
                if ($i ~ /^passed,?$/) p += $(i - 1)
                if ($i ~ /^(failed|errors?),?$/) f += $(i - 1)
                if ($i ~ /^skipped,?$/) s += $(i - 1)
            }
            seen = 1
        }
        END { if (!seen) print "none none none"; else print p + 0, f + 0, s + 0 }' "$log")
    if [ "$p" = none ]; then
        p=0 f=0 s=0
        [ "$status" -ne 0 ] || p=1
    fi
    # A runner that broke off before it counted a failure has failed all the same.
    if [ "$status" -ne 0 ] && [ "$f" -eq 0 ]; then f=1; fi
    passed=$((passed + p)) failed=$((failed + f)) skipped=$((skipped + s))
    summary+=("$(printf '%-12s %5s s  %5s passed %3s failed %3s skipped' "$name" "$seconds" "$p" "$f" "$s")")
    printf '%s\n' "${summary[-1]}"
    if [ "$status" -ne 0 ]; then
        if [ "$show" = no ]; then tail -n 150 "$log"; fi
        printf '%s FAILED (exit %s); all of its output: %s\n' "$name" "$status" "$log"
    fi
}

# need_file FILE WHAT: a stage whose subject is not there fails, it does not pass by default.
need_file() {
    [ -e "$1" ] || {
        printf '%s is missing: %s\n' "$1" "$2"
        return 1
    }
}

formatting() { cargo fmt --all --check; }

page() {
    need_file ui/package-lock.json "the page" || return 1
    build_page || return 1
    tools/page_weight.sh || return 1
    cd ui || return 1
    npm run check || return 1
    if npm pkg get scripts.lint | grep -q '"'; then npm run lint || return 1; fi
}

page_tests() {
    need_file tests/ui/package.json "the checks of the page" || return 1
    npm_packages tests/ui || return 1
    cd tests/ui || return 1
    [ "$FULL" = no ] || export CARRYBEAT_FULL=1
    npm test
}

# The programs, and apart from them what the tests need: asked for together cargo would take the features
# of both and build the shell's whole tree a second time.
PROGRAMS=(-p carrybeat -p desk -p phone)
ROOMS=(-p beat -p cycle -p render -p conduct -p audio -p words -p debrief -p chart -p sheet -p exports -p after -p resample -p listening -p trends -p drill -p drafting)
CHECKS=("${ROOMS[@]}" -p it)
# Asked for by itself: its schema's types would have every room above it built a second time.
FORMAT=(-p record)

# Clippy's driver is the compiler with the lints switched on: here it stands in the compiler's place for
# our own crates, so that each is linted as it is built and nothing is compiled for the lints alone.
lint_as_built() {
    export RUSTC_WORKSPACE_WRAPPER CLIPPY_ARGS
    RUSTC_WORKSPACE_WRAPPER=$(rustc --print sysroot)/bin/clippy-driver
    CLIPPY_ARGS=-D__CLIPPY_HACKERY__warnings__CLIPPY_HACKERY__
    "$RUSTC_WORKSPACE_WRAPPER" --version
}

# The programs are of the same features as run.sh's: what the whole-app checks start has nothing in it that
# only a test wants. Clippy's driver leaves the compiler's own early optimising out, so they are no faster.
build() {
    rm -f "$TOOLS/tests.tsv"
    every_package_is_built || return 1
    lint_as_built || return 1
    cargo build --locked "${PROGRAMS[@]}" || return 1
    cargo test --locked "${PROGRAMS[@]}" --no-run --message-format=json-render-diagnostics \
        >"$TOOLS/build.json" || return 1
    cargo test --locked "${CHECKS[@]}" --no-run --message-format=json-render-diagnostics \
        >>"$TOOLS/build.json" || return 1
    cargo test --locked "${FORMAT[@]}" --features schema --lib --no-run \
        --message-format=json-render-diagnostics >>"$TOOLS/build.json" || return 1
    python3 tools/test_binaries.py <"$TOOLS/build.json" >"$TOOLS/tests.tsv"
}

# A package that is in neither list would be neither linted nor tested.
every_package_is_built() {
    local known missing
    known=$(printf '%s\n' "${PROGRAMS[@]}" "${CHECKS[@]}" "${FORMAT[@]}" | grep -v '^-p$' | LC_ALL=C sort)
    missing=$(cargo metadata --locked --no-deps --format-version 1 |
        python3 -c 'import json, sys; print(*sorted(p["name"] for p in json.load(sys.stdin)["packages"]), sep="\n")' |
        LC_ALL=C comm -23 - <(printf '%s\n' "$known")) || return 1
    [ -z "$missing" ] || {
        printf 'test.sh builds no tests of: %s; add it to PROGRAMS or ROOMS\n' "$missing"
        return 1
    }
}

# run_tests WHICH OPTIONS...: the built test programs, each in its package's folder as cargo has it;
# WHICH is `it` for the whole-app checks and `own` for all others, of which `only` may name a few.
run_tests() {
    local which=$1 name folder program ran=0 failed=0 limit=(timeout --foreground -k 5 600)
    shift
    # One test that hangs must not take the time of all the others; the whole proofs take hours.
    [ "$which" = own ] && [ "$FULL" = no ] || limit=()
    while IFS=$'\t' read -r name folder program; do
        case "$which/$name" in
            own/it) continue ;;
            own/* | it/it) ;;
            *) continue ;;
        esac
        case " ${only-$name} " in *" $name "*) ;; *) continue ;; esac
        ran=$((ran + 1))
        printf '== %s\n' "$name"
        (cd "$folder" && CARGO_MANIFEST_DIR=$folder "${limit[@]}" "$program" "$@" </dev/null) || {
            [ $? -ne 124 ] || printf '%s was ended: it had run for 600 s\n' "$name"
            failed=$((failed + 1))
        }
    done <"$TOOLS/tests.tsv"
    [ "$ran" -gt 0 ] || {
        printf 'no test program was built\n'
        return 1
    }
    [ "$failed" -eq 0 ]
}

# The long forms of the two rooms that keep the record; those of other rooms have a line of their own.
unit() {
    local only
    run_tests own || return 1
    [ "$FULL" = no ] && return
    only="record conduct"
    run_tests own --ignored
}

# Each script is rehearsed and held against what another language makes of script and protocol; where
# its prompts were written down by hand, against that list too. Two at a time: nothing here is timed.
rehearsal() {
    local out="$TOOLS/rehearsal" script name names=() faults=0
    rm -rf "$out"
    mkdir -p "$out"
    for script in tests/scripts/*.json; do
        case "$script" in *.prompts.json) continue ;; esac
        name=$(basename "$script" .json)
        names+=("$name")
        while [ "$(jobs -rp | wc -l)" -ge 2 ]; do wait -n || true; done
        { rehearse_one >"$out/$name.log" 2>&1 && : >"$out/$name.passed"; } &
    done
    wait
    for name in "${names[@]}"; do
        printf '== %s\n' "$name"
        cat "$out/$name.log"
        [ -e "$out/$name.passed" ] || { printf '%s: FAILED\n' "$name"; faults=$((faults + 1)); }
    done
    [ "$faults" -eq 0 ]
}
rehearse_one() {
    local list="tests/scripts/$name.prompts.json" wav="$out/$name.wav"
    "${CARGO_TARGET_DIR:-target}"/debug/carrybeat rehearse "$script" \
        --wav "$wav" --record "$out/$name.rec.jsonl" --cues "$out/$name.cues.json" || return 1
    if [ -e "$list" ]; then
        python3 tests/py/check_prompts.py "$out/$name.rec.jsonl" "$out/$name.cues.json" "$list" || return 1
    fi
    protocol=$(python3 -c 'import json, sys; print(json.load(open(sys.argv[1]))["protocol"])' "$script") || return 1
    python3 tests/py/expected.py "$script" --manifest sounds/en-US/manifest.json \
        --protocol "src-tauri/crates/cycle/protocols/$protocol.toml" >"$out/$name.expected.json" || return 1
    # Listening takes as long as the case itself; one case shows that WAV and cue list are the same.
    if [ "$name" != five-minutes ] && [ "$FULL" = no ]; then wav=none; fi
    python3 tests/py/compare_rehearsal.py "$wav" "$out/$name.cues.json" "$out/$name.expected.json"
}

sounds() {
    need_file sounds/check.py "the check of the sound packs" || return 1
    python3 sounds/tones/recipe.py --check && python3 sounds/check.py
}

# The bench's own gates broken once each, then the bench. Its run of 20 minutes is rehearsed by the program.
sound_bench() {
    need_file tests/sound/bench.py "the sound bench" || return 1
    local options=()
    [ "$FULL" = no ] || options+=(--full)
    python3 -m pytest -q -p no:cacheprovider -n 2 --dist loadfile tests/sound || return 1
    python3 tests/sound/bench.py --carrybeat "${CARGO_TARGET_DIR:-target}"/debug/carrybeat "${options[@]}"
}

# What measures the sound is measured itself: it has to find the faults put into good sound. Random records
# are measured by the app's code, built before, and by the second implementation.
measures() {
    need_file tests/py/requirements.txt "the programs that measure sound" || return 1
    need_file tests/js/package-lock.json "the validator of FHIR bundles" || return 1
    npm_packages tests/js || return 1
    if [ "$FULL" = yes ]; then
        export CARRYBEAT_FULL=1
        need_spark
    fi
    # The pages of figures are what the lines they are made of say.
    python3 bench/table.py --check || return 1
    python3 bench/side_by_side.py table --check || return 1
    python3 -m pytest -q -p no:cacheprovider -n 2 --dist loadfile tests/py
}

# The engine of a cluster, on this machine, for the long form: 400 MB that only one check needs, and Java. Where it
# cannot be had that check is skipped and says so.
need_spark() {
    local home="$TOOLS/spark" list="$ROOT/tests/py/requirements-spark.txt"
    if ! command -v java >/dev/null; then
        printf 'no Java: the tables are not read by Spark\n'
        return
    fi
    if ! cmp -s "$list" "$home/requirements.txt"; then
        rm -rf "$home"
        if ! (make_venv "$home" "$list"); then
            printf 'no pyspark: the tables are not read by Spark\n'
            return
        fi
        cp "$list" "$home/requirements.txt"
    fi
    CARRYBEAT_SPARK=$(echo "$home"/lib/python3*/site-packages)
    export CARRYBEAT_SPARK
}

# What no machine here can run, type-checked; then broken in each place, and what the phones' tools will read.
phones() {
    local options=()
    [ "$FULL" = no ] || options+=(--planted --full)
    tools/phones.sh || return 1
    tests/phone/planted.sh || return 1
    tests/phone/android/check.sh "${options[@]}" || return 1
    python3 -m pytest -q -p no:cacheprovider tests/phone/test_projects.py
}

# The desktop's package, from the program that was built.
deb() { tests/phone/deb.sh; }

# Unoptimised: it is built in a minute and runs for a second.
bring_deny() {
    local home="$TOOLS/cargo-deny"
    if ! "$home/bin/cargo-deny" --version 2>/dev/null | grep -qF "$DENY_VERSION"; then
        CARGO_PROFILE_DEV_DEBUG=none CARGO_TARGET_DIR="$home/build" cargo install --locked --debug --root "$home" \
            --version "$DENY_VERSION" cargo-deny || return 1
        rm -rf "$home/build"
    fi
}

licences() {
    if [ -n "$deny_pid" ]; then
        tail -f --pid="$deny_pid" /dev/null
        cat "$LOGS/cargo-deny.log"
        deny_pid=
    fi
    bring_deny || return 1
    "$TOOLS/cargo-deny/bin/cargo-deny" check licenses bans sources
}

# One rig at a time where it measures sound or time on the machine's own clock; what one has captured is judged beside
# the next. Those that measure neither go on together.
whole_app() {
    local options=(--test-threads=3 --nocapture)
    if [ "$FULL" = yes ]; then
        options+=(--include-ignored)
        export CARRYBEAT_FULL=1
    fi
    run_tests it "${options[@]}"
}

# The pinned Python packages of the checks; the environment comes first on PATH from here on.
need_python() {
    local home="$TOOLS/venv" list="$ROOT/tests/py/requirements.txt"
    need_file "$list" "the Python packages of the checks, pinned" >&2 || exit 1
    if ! cmp -s "$list" "$home/requirements.txt"; then
        rm -rf "$home"
        make_venv "$home" "$list"
        cp "$list" "$home/requirements.txt"
    fi
    export PATH="$home/bin:$PATH"
    export CARRYBEAT_PYTHON="$home/bin/python3"
}

say "tools"
packages=("${TEST_PACKAGES[@]}" "${PHONE_PACKAGES[@]}")
# While packages are fetched and unpacked a core has nothing to do.
deny_pid=
if rustup_rust; then
    bring_deny >"$LOGS/cargo-deny.log" 2>&1 </dev/null &
    deny_pid=$!
fi
need_tools window "${packages[@]}"
need_python
printf '%-12s %5s s\n' tools "$SECONDS"

stage formatting formatting
stage page page
stage page-tests page_tests
stage sounds sounds
stage build build
stage measures measures
stage rehearsal rehearsal
stage sound-bench sound_bench
stage unit unit
stage phones phones
stage deb deb
stage licences licences
# Last, when nothing is left to compile.
stage whole-app --show whole_app

say "summary of $SECONDS s"
printf '%s\n' "${summary[@]}"
if [ "$SECONDS" -gt "$BUDGET_S" ]; then
    printf 'the run took %s s; its budget is %s s\n' "$SECONDS" "$BUDGET_S"
    failed=$((failed + 1))
fi
printf '%s passed, %s failed, %s skipped\n' "$passed" "$failed" "$skipped"
[ "$failed" -eq 0 ]
