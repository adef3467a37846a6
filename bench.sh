#!/usr/bin/env bash
# How fast it is on this machine: bash bench.sh
# Prints numbers and judges nothing; compare runs on the same idle machine only.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

readonly job=${1:-demo/0117-bread-longtail.toml}
readonly runs=${RUNS:-50}
readonly binary=${CARGO_TARGET_DIR:-target}/release/backdrive

cargo build --release --locked -p app
echo "== inside the program (cargo bench -p workbench)"
cargo bench --locked -p workbench
echo "== job book, twenty people at once (cargo bench -p jobbook)"
cargo bench --locked -p jobbook --bench people

echo "== whole process: check $job, $runs runs after 5 to warm up"
times=()
for ((run = -5; run < runs; run++)); do
    # EPOCHREALTIME prints seconds and microseconds; the mark between them depends on the language setting.
    begin=${EPOCHREALTIME/[.,]/}
    "$binary" check "$job" >/dev/null 2>&1 || code=$?
    end=${EPOCHREALTIME/[.,]/}
    # 1 says "does not hold", which is an answer; anything above is not.
    if [ "${code:-0}" -gt 1 ]; then
        echo "check failed with exit code $code" >&2
        exit "$code"
    fi
    if [ "$run" -ge 0 ]; then times+=($((end - begin))); fi
done
printf '%s\n' "${times[@]}" | sort -n | awk '
    { all[NR] = $1 / 1000 }
    END { printf "least %.1f ms, median %.1f ms, 95 %% below %.1f ms, most %.1f ms\n", all[1], all[int((NR + 1) / 2)], all[int(NR * 0.95 + 0.5)], all[NR] }'
