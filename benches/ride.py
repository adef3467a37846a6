"""Rides in steps beside SciPy's adaptive DOP853 on the same equations, at equal accuracy.

Run from the repository's root: python3 benches/ride.py (needs NumPy and SciPy, see crates/validation/python/requirements.txt).
For each ride SciPy gets the loosest tolerance at which its largest error is no larger than the stepper's; both are judged
against SciPy at 1e-9.
"""

import csv
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "crates" / "validation" / "python"))
import ride  # noqa: E402


def answers(y, t):
    """Time s, charge %, winding degrees, battery energy Wh."""
    return t, 100 * y[2], y[5], y[10] / 3600


def error(ours, exact):
    return max(abs(a - b) / max(abs(b), 1.0) for a, b in zip(ours, exact))


def main():
    command = ["cargo", "run", "--release", "--quiet", "-p", "validation", "--example", "ride_speed"]
    stepped = csv.DictReader(subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout.splitlines())
    settings = ride.rides()
    print(f"{'ride':42} {'steps':>7} {'ns/step':>8} {'error':>9} {'SciPy s':>9} {'rtol':>6} {'error':>9} {'times':>9}")
    for row in stepped:
        name, seconds, steps = row["ride"], float(row["seconds"]), int(row["steps"])
        t, y = ride.Ride(settings[name]).run()
        exact = answers(y, t)
        off = error([float(row[k]) for k in list(row)[3:]], exact)
        for rtol in (1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7):
            begin = time.perf_counter()
            t, y = ride.Ride(settings[name]).run(rtol=rtol, max_step=10.0)
            took = time.perf_counter() - begin
            theirs = error(answers(y, t), exact)
            if theirs <= off:
                break
        print(f"{name:42} {steps:7} {1e9 * seconds / steps:8.1f} {off:9.1e} {took:9.3f} {rtol:6.0e} {theirs:9.1e} "
              f"{took / seconds:9.0f}")


if __name__ == "__main__":
    main()
