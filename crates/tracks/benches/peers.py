"""A log of 10 h at 10 Hz with 12 columns, read by this crate and by two general CSV readers in one run.

    pip install polars pyarrow
    python crates/tracks/benches/peers.py

All read the same file on one core, in turn; the least processor time of each is printed (ours with the start of its
process), so that other work on the machine counts less. The peers build a table of numbers, this
crate hands out samples with units and times understood. In Rust beside the plain `csv` loop: `cargo bench -p tracks`.
"""

import os
import random
import resource
import subprocess
import tempfile
import time
from pathlib import Path

os.environ["POLARS_MAX_THREADS"] = "1"
import polars
import pyarrow.csv

HEAD = (
    "time_s,speed_kmh,distance_m,height_m,bus_voltage_v,battery_current_a,phase_current_a,motor_temp_c,"
    "controller_temp_c,motor_torque_nm,cadence_rpm,rider_power_w"
)
ROUNDS = 10


def log(path):
    rows, r = [HEAD], random.Random(1).uniform
    for i in range(360_000):
        rows.append(
            f"{i / 10:.3f},{r(20, 30):.4f},{i * 0.6:.3f},{r(500, 600):.4f},{r(48, 54):.5f},{r(-10, 20):.5f},{r(-30, 60):.5f},"
            f"{r(40, 80):.4f},{r(30, 60):.4f},{r(-30, 30):.5f},{r(60, 90):.3f},{r(0, 200):.4f}"
        )
    path.write_text("\n".join(rows) + "\n")


def timed(read):
    begun = time.process_time()
    read()
    return (time.process_time() - begun) * 1e3


def spent_by_children():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (used.ru_utime + used.ru_stime) * 1e3


def main():
    root = Path(__file__).resolve().parents[3]
    build = ["cargo", "build", "--quiet", "--release", "--package", "tracks", "--example", "read_log"]
    subprocess.run(build, cwd=root, check=True)
    program = Path(os.environ.get("CARGO_TARGET_DIR", root / "target")) / "release" / "examples" / "read_log"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        log(path)

        def ours():
            before = spent_by_children()
            subprocess.run([program, path], check=True, stdout=subprocess.DEVNULL)
            return spent_by_children() - before

        alone = pyarrow.csv.ReadOptions(use_threads=False)
        readers = {
            "tracks": ours,
            f"polars {polars.__version__}": lambda: timed(lambda: polars.read_csv(path)),
            f"pyarrow {pyarrow.__version__}": lambda: timed(lambda: pyarrow.csv.read_csv(path, read_options=alone)),
        }
        best = dict.fromkeys(readers, float("inf"))
        for _ in range(ROUNDS):
            for name, read in readers.items():
                best[name] = min(best[name], read())
        print(f"{path.stat().st_size / 1e6:.1f} MB, processor time on one core, least of {ROUNDS}")
        for name, took in best.items():
            print(f"{name}: {took:.0f} ms, {took / best['tracks']:.2f} times tracks")


if __name__ == "__main__":
    main()
