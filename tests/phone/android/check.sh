#!/usr/bin/env bash
# Checks the Android side without an Android SDK: compiles Tauri's, Wry's and our Kotlin against the real framework of
# API 23 with additions that are held against the declarations of the newest API, runs our tests on the JVM, and packs
# the manifest and resources. docs/phone.md says what that proves and what it does not.
#
# From an empty cache it brings what it needs: packages of Debian, of npm, and one of an older Debian.
set -euo pipefail

usage() {
    cat <<'TEXT'
usage: tests/phone/android/check.sh [--full] [--planted]

--planted  puts faults into a copy and wants each to be found; first the quick ones, with --full all
--full     also turns everything into Android's own byte code (dex)
TEXT
}

full=no planted=no
while [ $# -gt 0 ]; do
    case "$1" in
        --full) full=yes ;;
        --planted) planted=yes ;;
        -h | --help)
            usage
            exit 0
            ;;
        *)
            printf 'check.sh: unknown option %s\n\n' "$1" >&2
            usage >&2
            exit 2
            ;;
    esac
    shift
done

# shellcheck source=tools/setup.sh
. "$(dirname "${BASH_SOURCE[0]}")/../../../tools/setup.sh"
cd "$ROOT"

HERE=tests/phone/android
PHONE=src-tauri/crates/phone
MODULE=$PHONE/android
PROJECT=src-tauri/gen/android
CACHE="$TOOLS/phone"
WORK="$CACHE/work"
PACKAGES=(
    aapt android-framework-res default-jdk-headless junit4 libandroid-json-org-java libjackson2-databind-java
    libmockito-java python3
)
# Where one of Debian's older releases still has the framework; the first that answers.
OLD_RELEASES=(
    "http://deb.debian.org/debian bullseye"
    "http://deb.debian.org/debian sid"
    "http://archive.debian.org/debian bullseye"
)
JAVA_LIBRARIES=/usr/share/java
KOTLIN="$ROOT/$HERE/node_modules/kotlin-compiler/lib"
DECLARATIONS="$HERE/node_modules/@nativescript/types-android/lib/android/android-platform-37.d.ts"
PACKAGER_FRAMEWORK=/usr/share/android-framework-res/framework-res.apk
# Short runs: what a longer compilation of the JVM's own would give does not come back.
JVM=(-XX:+UseSerialGC -XX:TieredStopAtLevel=1 -Xshare:auto)

# The paths, joined with colons.
path() {
    local IFS=:
    printf '%s' "$*"
}

# need FILE REMEDY: stops with what is missing and what brings it.
need() { [ -e "$1" ] || die "$1 is missing; $2"; }

# old_package NAME FILE: FILE out of a package that this Debian does not have any more, into the cache.
old_package() {
    local name=$1 file=$2 apt="$CACHE/apt" release
    [ ! -e "$CACHE/$(basename "$file")" ] || return 0
    say "bringing $name from an older Debian"
    for release in "${OLD_RELEASES[@]}"; do
        rm -rf "$apt"
        mkdir -p "$apt/lists/partial" "$apt/cache/archives/partial" "$apt/debs"
        : >"$apt/status"
        printf 'deb [signed-by=/usr/share/keyrings/debian-archive-keyring.gpg check-valid-until=no] %s main\n' \
            "$release" >"$apt/sources.list"
        # Apart from the system's own, so that nothing else of that release can come in.
        local options=(
            -o "Dir::Etc::sourcelist=$apt/sources.list" -o Dir::Etc::sourceparts=- -o "Dir::State::lists=$apt/lists"
            -o "Dir::Cache=$apt/cache" -o "Dir::State::status=$apt/status" -o APT::Sandbox::User=root
        )
        if apt-get "${options[@]}" update -qq >"$LOGS/phone-apt.log" 2>&1 </dev/null \
            && (cd "$apt/debs" && apt-get "${options[@]}" download "$name") >>"$LOGS/phone-apt.log" 2>&1 </dev/null; then
            dpkg-deb -x "$apt/debs/$name"_*.deb "$apt/tree"
            cp "$apt/tree$file" "$CACHE/"
            rm -rf "$apt"
            return
        fi
    done
    tail -n 20 "$LOGS/phone-apt.log" >&2
    die "no release of Debian gave $name (tried: ${OLD_RELEASES[*]}); put its $(basename "$file") into $CACHE by hand"
}

# crate NAME: the folder of a crate's source, of the locked version.
crate() {
    local version folder
    version=$(awk -v name="$1" '$1 == "name" && $3 == "\"" name "\"" { getline; gsub(/"/, "", $3); print $3; exit }' Cargo.lock)
    folder=$(echo "${CARGO_HOME:-$HOME/.cargo}"/registry/src/*/"$1-$version")
    if [ ! -d "$folder" ]; then
        cargo fetch --locked --target aarch64-linux-android >"$LOGS/phone-fetch.log" 2>&1 </dev/null || {
            tail -n 20 "$LOGS/phone-fetch.log" >&2
            die "the source of $1 $version is not here and cargo fetch cannot bring it"
        }
        folder=$(echo "${CARGO_HOME:-$HOME/.cargo}"/registry/src/*/"$1-$version")
    fi
    need "$folder" "run cargo fetch"
    printf '%s\n' "$folder"
}

bring() {
    mkdir -p "$CACHE"
    need_packages "${PACKAGES[@]}"
    command -v npm >/dev/null || die "npm is missing; run ./test.sh once, which brings Node, or install Node $NODE_FLOOR"
    npm_packages "$HERE" || die "npm ci in $HERE failed; its own lines above say why"
    old_package libandroid-23-java $JAVA_LIBRARIES/com.android.android-23.jar
    need "$DECLARATIONS" "run npm ci in $HERE"
    need "$PACKAGER_FRAMEWORK" "install android-framework-res"
    if [ "$full" = yes ]; then
        old_package dalvik-exchange $JAVA_LIBRARIES/com.android.dx-10.0.0.jar
        need_packages dexdump
    fi
}

# as_before KEY_FILE FILES...: whether KEY_FILE holds the hash of what FILES hold, which is left in `hash`.
as_before() {
    local file=$1
    shift
    hash=$(cat "$@" | sha256sum | cut -d' ' -f1)
    [ -e "$file" ] && [ "$(cat "$file")" = "$hash" ]
}

# The old framework with our additions, and the libraries that are not published as a package.
framework() {
    local sources=("$HERE/stubs/platform.txt" "$HERE/stubs/libraries.txt" "$HERE"/tools/*.java "$HERE/tools/files.py")
    as_before "$CACHE/framework.key" "${sources[@]}" "$CACHE/com.android.android-23.jar" && return
    local out="$CACHE/framework"
    rm -rf "$out" "$CACHE/framework.key" "$CACHE/libraries.key"
    mkdir -p "$out/tools" "$out/platform" "$out/libraries"
    python3 "$HERE/tools/files.py" "$HERE/stubs/platform.txt" "$out/platform-source"
    python3 "$HERE/tools/files.py" "$HERE/stubs/libraries.txt" "$out/libraries-source"
    javac "${JVM[@]/#/-J}" -nowarn -cp "$KOTLIN/kotlin-compiler.jar" -d "$out/tools" "$HERE"/tools/*.java
    # The additions are parts of classes; what they leave out is taken from the real ones.
    java_files "$out/platform-source" -implicit:none -Xprefer:source -sourcepath "$out/platform-source" \
        -bootclasspath "$CACHE/com.android.android-23.jar" -d "$out/platform"
    tool Framework "$CACHE/com.android.android-23.jar" "$out/platform" "$out/compile.jar" "$out/run.jar"
    java_files "$out/libraries-source" -cp "$(path "$out/compile.jar" "${JACKSON[@]}")" -d "$out/libraries"
    printf '%s' "$hash" >"$CACHE/framework.key"
}

# java_files FOLDER OPTIONS...: compiles what lies in FOLDER as Android's Java.
java_files() {
    local folder=$1
    shift
    find "$folder" -name '*.java' >"$WORK/java-files"
    javac "${JVM[@]/#/-J}" -nowarn -Xlint:none -source 8 -target 8 "$@" @"$WORK/java-files" 2>"$LOGS/phone-javac.log" || {
        cat "$LOGS/phone-javac.log" >&2
        die "javac refused the Java of $folder"
    }
}

tool() { java "${JVM[@]}" -cp "$CACHE/framework/tools:$KOTLIN/kotlin-compiler.jar:$KOTLIN/kotlin-stdlib.jar" "$@"; }

# Manifest and resources: names against the newest API, the rest by the packager, which also writes the classes R.
resources() {
    local out="$WORK/resources"
    mkdir -p "$WORK/generated"
    python3 "$HERE/tools/manifest.py" "$DECLARATIONS" "$PROJECT" "$MODULE" src-tauri/crates/words/text \
        src-tauri/tauri.conf.json "$out" || die "the manifests or resources are at fault, see above"
    aapt package -f -m -M "$out/AndroidManifest.xml" -S "$out/app" -S "$out/phone" -S "$out/library" \
        --auto-add-overlay --min-sdk-version "$(cat "$out/oldest")" --target-sdk-version 29 -I "$PACKAGER_FRAMEWORK" \
        -J "$WORK/generated" --extra-packages org.carrybeat.phone -F "$WORK/resources.apk" \
        || die "aapt refused the manifest or the resources, see above"
    # What came of it, once more by another way.
    if aapt dump permissions "$WORK/resources.apk" | grep -E 'INTERNET|NETWORK'; then
        die "the packed manifest asks for the network"
    fi
}

# Tauri's and Wry's Kotlin as their build scripts lay it, with what src-tauri/.cargo/config.toml puts into it.
others() {
    local tauri wry out="$WORK/others"
    tauri=$(crate tauri)
    wry=$(crate wry)
    mkdir -p "$out"
    cp -r "$tauri/mobile/android/src/main/java/app" "$out/"
    python3 - "$out" src-tauri/.cargo/config.toml "$wry"/src/android/kotlin/*.kt "$tauri"/mobile/android-codegen/*.kt <<'PY'
import pathlib, re, sys
out, conf, *files = map(pathlib.Path, sys.argv[1:])
into = dict(re.findall(r'^(WRY_\w+) = """\n(.*?)"""', conf.read_text(), re.M | re.S))
for file in files:
    text = file.read_text()
    for hole, part in (("class-extension", "CLASS_EXTENSION"), ("class-init", "CLASS_INIT")):
        text = text.replace("{{%s}}" % hole, into.pop(f"WRY_{file.stem.upper()}_{part}", ""))
    text = text.replace("{{package}}", "org.carrybeat.app").replace("{{package-unescaped}}", "org.carrybeat.app")
    (out / file.name).write_text(text.replace("{{library}}", "carrybeat_app"))
if into:
    sys.exit(f"{conf}: Wry has no file for {', '.join(into)}; see its build.rs")
PY
    cp "$HERE"/stubs/*.kt "$out/"
}

kotlin() {
    # The compiler's own byte code is that of the lock file's hash: looking through it takes a quarter of the time.
    java "${JVM[@]}" -XX:+UnlockDiagnosticVMOptions -XX:-BytecodeVerificationRemote -Xmx1500m -cp "$(path "$KOTLIN"/{kotlin-compiler,kotlin-stdlib,kotlin-reflect,kotlin-script-runtime,kotlinx-coroutines-core-jvm,annotations-13.0}.jar)" \
        org.jetbrains.kotlin.cli.jvm.K2JVMCompiler -no-jdk -no-stdlib -no-reflect -nowarn -jvm-target 1.8 \
        -Xlambdas=class -Xsam-conversions=class -Xstring-concat=inline -module-name phone "$@"
}

# One run of the compiler: with Tauri's and Wry's Kotlin where that has changed, else against what came of it before.
compile() {
    local out="$WORK/classes" own=("$MODULE/src/main/java" "$MODULE/src/test/java" "$PROJECT/app/src/main/java/org/carrybeat/app")
    local libraries=("$CACHE/framework/compile.jar" "$CACHE/framework/libraries" "$WORK/generated-classes" "${JACKSON[@]}"
        "$KOTLIN/kotlin-stdlib.jar" "$KOTLIN/annotations-13.0.jar" "${TESTING[@]}")
    java_files "$WORK/generated" -d "$WORK/generated-classes"
    mkdir -p "$out" "$WORK/generated-classes"
    others
    mapfile -t files < <(find "$WORK/others" -name '*.kt' | sort)
    if as_before "$CACHE/others.key" "${files[@]}" "$CACHE/framework.key"; then
        kotlin -cp "$(path "$CACHE/others.jar" "${libraries[@]}")" -d "$out" "${own[@]}" || die "the Kotlin does not compile, see above"
    else
        rm -f "$CACHE/others.key"
        kotlin -cp "$(path "${libraries[@]}")" -d "$out" "$WORK/others" "${own[@]}" || die "the Kotlin does not compile, see above"
        keep_others "$out"
    fi
}

# Keeps apart what came of Tauri's and Wry's Kotlin: it changes only with their versions.
keep_others() {
    local out=$1
    rm -f "$CACHE/others.jar"
    (cd "$out" && find . -path './org/carrybeat/phone' -prune -o -path './org/carrybeat/app/MainActivity*' -prune \
        -o -type f -print | jar -cfM0 "$CACHE/others.jar" @/dev/stdin)
    printf '%s' "$hash" >"$CACHE/others.key"
}

# What the manifests name is there.
components() {
    local name
    for name in org/carrybeat/app/MainActivity org/carrybeat/phone/RunService org/carrybeat/phone/StartTile; do
        grep -q "${name##*/}" "$WORK/resources/AndroidManifest.xml" || die "the manifests do not name $name"
        need "$WORK/classes/$name.class" "the manifests name it"
    done
}

members() {
    local ours="$WORK/ours"
    mkdir -p "$ours/org/carrybeat/app"
    cp -r "$WORK/classes/org/carrybeat/phone" "$ours/org/carrybeat/"
    cp "$WORK"/classes/org/carrybeat/app/MainActivity*.class "$ours/org/carrybeat/app/"
    find "$ours" \( -name '*Test.class' -o -name '*Test$*' -o -name 'Examples*' -o -name 'Heard*' \) -delete
    tool Members "$ours" "$CACHE/framework/platform" "$CACHE/framework/libraries" "$CACHE/framework/compile.jar" \
        >"$WORK/members.tsv"
    python3 "$HERE/tools/members.py" "$DECLARATIONS" "$WORK/members.tsv" "$HERE/guarded.txt" "$(cat "$WORK/resources/oldest")" \
        || die "platform members are at fault, see above"
}

tests() {
    local log="$WORK/tests.log" classes status=0
    mapfile -t classes < <(cd "$WORK/classes" && find org/carrybeat/phone -name '*Test.class' | sed 's/\.class$//; s|/|.|g' | sort)
    java "${JVM[@]}" "-Dcarrybeat.examples=$PHONE/examples.json" -cp "$(path $JAVA_LIBRARIES/json-android.jar "$WORK/classes" \
        "$CACHE/others.jar" "$CACHE/framework/libraries" "$WORK/generated-classes" "$CACHE/framework/run.jar" "${JACKSON[@]}" \
        "${TESTING[@]}" "$KOTLIN/kotlin-stdlib.jar")" org.junit.runner.JUnitCore "${classes[@]}" >"$log" 2>&1 || status=$?
    if [ "$status" -ne 0 ]; then
        # What JUnit, Mockito and the JVM call on the way says nothing.
        grep -vE '^\s+at (org\.junit|java\.base|jdk\.internal|org\.mockito|net\.bytebuddy|sun\.)' "$log" >&2
    fi
    awk '/^OK \(/ { gsub(/\(/, "", $2); p = $2 }
        /^Tests run:/ { gsub(/,/, ""); f = $5; p = $3 - $5 }
        END { printf "test result: %s. %d passed; %d failed; 0 ignored\n", f + 0 ? "FAILED" : "ok", p, f }' "$log"
    [ "$status" -eq 0 ] || die "tests of the Kotlin failed, see above"
}

dex() {
    local out="$WORK/dex"
    mkdir -p "$out/std"
    (cd "$out/std" && jar -xf "$KOTLIN/kotlin-stdlib.jar" && rm -rf META-INF)
    java "${JVM[@]}" -Xmx2g -cp "$CACHE/com.android.dx-10.0.0.jar" com.android.dx.command.Main --dex \
        --min-sdk-version="$(cat "$WORK/resources/oldest")" --output="$out/classes.dex" "$CACHE/others.jar" "$WORK/ours" "$out/std" \
        || die "dx refused the byte code, see above"
    printf 'dex: %s classes\n' "$(dexdump -f "$out/classes.dex" | grep -c 'Class descriptor')"
}

check() {
    rm -rf "$WORK"
    mkdir -p "$WORK"
    framework
    resources
    compile
    components
    members
    tests
    if [ "$full" = yes ]; then dex; fi
}

# fault NAME FILE SED WANTED: puts a fault into the copy and wants the check to fail with these words.
fault() {
    local name=$1 file=$2 change=$3 wanted=$4 copy="$CACHE/planted" log="$CACHE/planted.log"
    rm -rf "$copy"
    mkdir -p "$copy/.toolchain/phone" "$copy/$PHONE" "$copy/src-tauri/gen" "$copy/src-tauri/crates/words" "$copy/tests/phone"
    cp -r "$MODULE" "$PHONE/examples.json" "$copy/$PHONE/"
    cp -r "$PROJECT" "$copy/src-tauri/gen/"
    cp -r src-tauri/.cargo src-tauri/tauri.conf.json "$copy/src-tauri/"
    cp -r src-tauri/crates/words/text "$copy/src-tauri/crates/words/"
    cp -r tools Cargo.lock "$copy/"
    mkdir "$copy/$HERE"
    cp -r "$HERE"/{check.sh,stubs,tools,guarded.txt,package.json,package-lock.json,.npmrc} "$copy/$HERE/"
    ln -s "$ROOT/$HERE/node_modules" "$copy/$HERE/node_modules"
    cp -r "$CACHE"/{framework,framework.key,others.jar,others.key,com.android.android-23.jar} "$copy/.toolchain/phone/"
    sed -i -E "$change" "$copy/$file"
    if cmp -s "$file" "$copy/$file"; then die "the fault \"$name\" changes nothing in $file"; fi
    if "$copy/$HERE/check.sh" >"$log" 2>&1; then die "the fault \"$name\" was not found"; fi
    grep -qE "$wanted" "$log" || {
        tail -n 30 "$log" >&2
        die "the fault \"$name\" was met by something else than: $wanted"
    }
    printf 'planted: %s: found\n' "$name"
    planted_count=$((planted_count + 1))
    rm -rf "$copy"
}

faults() {
    local kotlin=$MODULE/src/main/java/org/carrybeat/phone
    planted_count=0
    fault "an attribute that Android does not have" $MODULE/src/main/AndroidManifest.xml \
        's/foregroundServiceType/foregroundServiceTyp/' 'foregroundServiceTyp is no attribute'
    fault "a value that an attribute cannot have" $MODULE/src/main/AndroidManifest.xml \
        's/stopWithTask="false"/stopWithTask="perhaps"/' 'stopWithTask'
    fault "the network" $MODULE/src/main/AndroidManifest.xml 's/VIBRATE/INTERNET/' 'asks for .*INTERNET|decided were'
    fault "a wrong argument" $kotlin/Focus.kt 's/postDelayed\(again, wait\)/postDelayed(wait, again)/' 'error: argument type mismatch'
    if [ "$full" = yes ]; then
        fault "a page without its guard" src-tauri/.cargo/config.toml '/companion object/d' "unresolved reference.*(Companion|gone)"
        fault "a newer member that asks for no version" $kotlin/RunNotice.kt \
            's/Build\.VERSION\.SDK_INT >= Build\.VERSION_CODES\.S/title.isEmpty()/' 'does not ask Build.VERSION'
        fault "a member that Android does not have" $HERE/stubs/platform.txt \
            's/public void setTurnScreenOn\(boolean on\)/public void setTurnScreenOver(boolean on) {} &/' 'has no setTurnScreenOver'
        fault "another route" $kotlin/RouteRules.kt 's/listOf\(WIRELESS, WIRED,/listOf(WIRED, WIRELESS,/' 'tests of the Kotlin failed'
        fault "a window that is asked for once" $kotlin/Bare.kt 's/lookIn\(AGAIN_MS\)/behind()/' 'tests of the Kotlin failed'
        fault "another name of a news" $kotlin/News.kt 's/"ago_ms" to within\(agoMs\)\)\)\)$/"ago" to within(agoMs))))/' 'tests of the Kotlin failed'
    fi
    printf 'test result: ok. %s passed; 0 failed; 0 ignored\n' "$planted_count"
}

JACKSON=("$JAVA_LIBRARIES"/jackson-{annotations,core,databind}.jar)
TESTING=("$JAVA_LIBRARIES"/{junit4,hamcrest-core,mockito-core,byte-buddy,byte-buddy-agent,objenesis}.jar)
bring
check
if [ "$planted" = yes ]; then faults; fi
say "the Android side: checked without a phone, $SECONDS s"
