"""Rides in steps beside SciPy's adaptive DOP853 on the same equations, at equal accuracy.

Run from the repository's root: python3 benches/ride.py (needs NumPy and SciPy, see crates/validation/python/requirements.txt).
For each ride and each accuracy asked, both sides get their cheapest setting that meets it: the stepper its longest step, SciPy
its loosest tolerance. Both are judged against SciPy at 1e-9. Times are of one core, the least of several runs; SciPy's
right-hand side is Python, as its users write it.
"""

import csv
import subprocess
import sys
import time
from math import exp, log
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "crates" / "validation" / "python"))
import ride  # noqa: E402


def answers(y, t):
    """Time s, charge %, winding degrees, battery energy Wh."""
    return t, 100 * y[2], y[5], y[10] / 3600


def error(ours, exact):
    return max(abs(a - b) / max(abs(b), 1.0) for a, b in zip(ours, exact))


ACCURACIES = (1e-3, 1e-4)
RTOLS = (1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8)


def solved(settings, rtol):
    """Processor seconds and answers at a tolerance."""
    took = []
    for _ in range(2):
        begin = time.process_time()
        t, y = ride.Ride(settings).run(rtol=rtol, max_step=10.0)
        took.append(time.process_time() - begin)
    return min(took), answers(y, t)


def main():
    command = ["cargo", "run", "--release", "--quiet", "-p", "validation", "--example", "ride_speed"]
    out = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    stepped = {}
    for row in csv.DictReader(out.splitlines()):
        stepped.setdefault(row["ride"], []).append(row)
    print(f"{'ride':38} {'asked':>6} {'step s':>6} {'ns/step':>8} {'abreast':>8} {'error':>8} {'SciPy s':>8} {'rtol':>6} "
          f"{'error':>8} {'times':>7} {'abreast':>8}")
    ratios, wide = [], []
    for name, settings in ride.rides().items():
        t, y = ride.Ride(settings).run()
        exact = answers(y, t)
        theirs = [(rtol, *solved(settings, rtol)) for rtol in RTOLS]
        for asked in ACCURACIES:
            ours = [(row, error([float(row[k]) for k in list(row)[5:]], exact)) for row in stepped[name]]
            row, off = next(((r, e) for r, e in ours if e <= asked), ours[-1])
            rtol, took, found = next((x for x in theirs if error(x[2], exact) <= asked), theirs[-1])
            seconds, abreast, steps = float(row["seconds"]), float(row["abreast_seconds"]), int(row["steps"])
            ratios.append(took / seconds)
            wide.append(took / abreast)
            print(f"{name:38} {asked:6.0e} {row['step_s']:>6} {1e9 * seconds / steps:8.1f} {1e9 * abreast / steps:8.1f} "
                  f"{off:8.1e} {took:8.3f} {rtol:6.0e} {error(found, exact):8.1e} {ratios[-1]:7.0f} {wide[-1]:8.0f}")
    mean = lambda all: exp(sum(map(log, all)) / len(all))
    print(f"geometric mean: {mean(ratios):.0f} times, eight abreast {mean(wide):.0f} times")


if __name__ == "__main__":
    main()
