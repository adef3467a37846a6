#!/usr/bin/env bash
# All checks of this repository, in one command: bash test.sh
# What a machine lacks is either installed (cargo-fuzz, Python packages in their own folder) or named, with the
# command that brings it. A missing optional tool skips its check and says so in the last line.
set -uo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

readonly fuzz_seconds=${FUZZ_SECONDS:-30}
readonly target=${CARGO_TARGET_DIR:-target}
passed=() failed=() skipped=()
readonly started=$SECONDS

step() { # name, command...
    local name=$1 begin=$SECONDS
    shift
    printf '\n== %s\n' "$name"
    if "$@"; then passed+=("$name"); else failed+=("$name"); fi
    printf -- '-- %s: %s s\n' "$name" "$((SECONDS - begin))"
}

skip() { # name, reason, how to get it
    printf '\n== %s: skipped, %s\n   to run it: %s\n' "$1" "$2" "$3"
    skipped+=("$1")
}

have() { command -v "$1" >/dev/null 2>&1; }

if ! have cargo; then
    echo "cargo is missing; install Rust 1.95 or newer: https://www.rust-lang.org/tools/install" >&2
    exit 2
fi

# One selection of packages everywhere: another one would change the features of shared crates and rebuild them.
readonly all=(--workspace --locked)

if cargo fmt --version >/dev/null 2>&1; then
    step "format" cargo fmt --all --check
else
    skip "format" "rustfmt is missing" "rustup component add rustfmt"
fi

if cargo clippy --version >/dev/null 2>&1; then
    step "clippy" cargo clippy "${all[@]}" --all-targets -- -D warnings
else
    skip "clippy" "clippy is missing" "rustup component add clippy"
fi

# A real browser walks through the workbench; without one its tests skip and name what brings it.
if ! have chromedriver && have apt-get && [ "$(id -u)" = 0 ]; then
    apt-get install -y --no-install-recommends chromium chromium-driver >/dev/null 2>&1 || true
fi
have chromedriver || skip "browser" "chromium and chromedriver are missing" "apt-get install -y chromium chromium-driver"

documentation() { RUSTDOCFLAGS="-D warnings" cargo doc "${all[@]}" --no-deps; }
step "documentation" documentation

step "tests" cargo test "${all[@]}" --no-fail-fast

# Generated files are committed; each generator compares instead of writing when told to check.
generated() {
    cargo build "${all[@]}" || return 1
    "$target/debug/backdrive" generate --check && "$target/debug/report" --check
}
step "generated files" generated

# Coverage-guided fuzzing needs a nightly compiler. No sanitizer: all code here is safe Rust.
# New inputs go to the first folder; the demo jobs and the small rides in fuzz/seeds are where it starts.
fuzz() {
    mkdir -p "fuzz/corpus/$1" || return 1
    cargo +nightly fuzz run -s none "$1" "fuzz/corpus/$1" demo fuzz/seeds -- \
        -max_total_time="$fuzz_seconds" -max_len=65536 -timeout=10 -rss_limit_mb=2048 -verbosity=0 -print_final_stats=1
}
if ! cargo +nightly --version >/dev/null 2>&1; then
    skip "fuzz" "no nightly compiler" "rustup toolchain install nightly --profile minimal"
elif ! have cargo-fuzz && ! cargo install cargo-fuzz --locked; then
    skip "fuzz" "cargo-fuzz could not be installed" "cargo install cargo-fuzz --locked"
else
    for fuzz_target in job_file name_card unit_text ride_file bench_file; do step "fuzz $fuzz_target" fuzz "$fuzz_target"; done
fi

# The recorded reference numbers, computed again by their scripts.
readonly python=crates/validation/python
readonly venv=$target/python
python_ready() {
    [ -x "$venv/bin/python" ] || python3 -m venv "$venv" || return 1
    "$venv/bin/pip" install --quiet --disable-pip-version-check --requirement "$python/requirements.txt"
}
if ! have python3; then
    skip "reference numbers" "python3 is missing" "install Python 3.11 or newer with its venv module"
elif ! python_ready; then
    skip "reference numbers" "the packages in $python/requirements.txt could not be installed" \
        "python3 -m venv $venv && $venv/bin/pip install -r $python/requirements.txt"
else
    step "reference numbers" env PYTHONDONTWRITEBYTECODE=1 "$venv/bin/python" "$python/record.py" --check
fi

printf '\n%s passed, %s failed, %s skipped, %s s' "${#passed[@]}" "${#failed[@]}" "${#skipped[@]}" "$((SECONDS - started))"
[ ${#failed[@]} -eq 0 ] || printf '; failed: %s' "$(IFS=,; echo "${failed[*]}")"
[ ${#skipped[@]} -eq 0 ] || printf '; skipped: %s' "$(IFS=,; echo "${skipped[*]}")"
printf '\n'
[ ${#failed[@]} -eq 0 ]
