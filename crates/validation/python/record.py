"""Reference numbers by general-purpose libraries: writes the tables named here, or compares with them (--check)."""

import csv
import sys
from pathlib import Path

import numpy
import scipy

import bench_fit
import bridge
import doubt
import dump
import ride
import short
import stick_slip
import torsion
import trade_rule
import two_nodes

TABLES = {
    "solvers.csv": (bench_fit, bridge, doubt, dump, short, stick_slip, torsion, trade_rule, two_nodes),
    "rides_solved.csv": (ride,),
}
FOLDER = Path(__file__).parent.parent / "tables"
HEAD = ["quantity", "inputs", "expected", "unit", "script", "numpy", "scipy"]
# Other versions of the libraries may round differently; a wrong model differs by far more.
TOLERANCE = 1e-3
FLOOR = 1e-4


def computed(scripts):
    for script in scripts:
        for quantity, inputs, value, unit in script.rows():
            # Rounded first, so that a solver's dust does not become a minus sign.
            text = f"{round(float(value), 6) + 0.0:.6g}"
            yield [quantity, inputs, text, unit, f"{script.__name__}.py", numpy.__version__, scipy.__version__]


def differences(table, rows):
    with (FOLDER / table).open(newline="") as recorded:
        old = list(csv.reader(recorded))[1:]
    if len(old) != len(rows):
        yield f"{table}: {len(old)} rows recorded, {len(rows)} computed"
    for then, now in zip(old, rows):
        apart = abs(float(then[2]) - float(now[2]))
        if then[:2] != now[:2] or apart > TOLERANCE * abs(float(then[2])) + FLOOR:
            yield f"{then[0]} ({then[1]}): recorded {then[2]}, computed {now[2]} {now[3]}"


def main():
    wrong, count = [], 0
    for table, scripts in TABLES.items():
        rows = list(computed(scripts))
        count += len(rows)
        if "--check" in sys.argv[1:]:
            wrong += differences(table, rows)
            continue
        with (FOLDER / table).open("w", newline="") as out:
            csv.writer(out, lineterminator="\n").writerows([HEAD, *rows])
    print("\n".join(wrong) or f"{count} reference numbers computed, all as recorded")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
