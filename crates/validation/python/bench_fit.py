"""A bench session fitted by SciPy's least_squares, its model written apart from the program's.

The readings stand in ../tables/bench_readings.csv: simulated from known values with noise of the stated deviations
(`python3 bench_fit.py simulate` writes them anew; NumPy's PCG64, seed 6).
"""

import csv
import sys
from pathlib import Path

import numpy
from scipy.optimize import least_squares

TABLE = Path(__file__).parent.parent / "tables" / "bench_readings.csv"
HEAD = ["kind", "at", "with", "value", "deviation"]
N, P, RADIUS = 4.6, 8, 0.332
NAMES = ["resistance", "flux", "drag-constant", "drag-per-speed", "efficiency", "droop", "standby", "inertia"]
UNITS = ["mOhm", "mWb", "mN m", "mN m s", "%", "%/A", "W", "g m2"]
PER_SI = [1e3, 1e3, 1e3, 1e3, 1e2, 1e2, 1.0, 1e3]
TRUTH = [0.148, 0.0215, 0.28, 0.001, 0.95, 5e-4, 6.0, 0.19]
SIZES = [0.15, 0.02, 0.2, 1e-3, 0.1, 3e-3, 5.0, 0.2]


def reading(kind, at, other, u):
    resistance, flux, constant, slope, efficiency, droop, standby, inertia = u[:8]
    if kind == "wires":
        return resistance
    if kind == "standby":
        return standby
    if kind == "no-load":  # wheel speed rad/s, supply V
        rotor = at * N
        drag = constant + slope * rotor
        current = drag / (1.5 * P * flux)
        return (standby + drag * rotor + 0.75 * resistance * current**2) / other
    if kind == "pull":
        return N * constant / efficiency / RADIUS
    if kind == "back-emf":  # wheel speed rad/s, volts rms between two wires
        return numpy.sqrt(1.5) * P * N * flux * at
    if kind in ("against", "lifted"):  # amperes
        torque = 1.5 * P * flux * at / (1 + droop * at)
        return N * (torque + constant) / efficiency if kind == "against" else N * efficiency * (torque - constant)
    # Spin-down: seconds, flywheel kg m2; speed at the beginning is an unknown of its own.
    a = N * constant / (efficiency * (inertia + other))
    b = N * N * slope / (efficiency * (inertia + other))
    start = u[8] if other == 0 else u[9]
    return (start + a / b) * numpy.exp(-b * at) - a / b


def plan():
    for _ in range(3):
        yield "wires", 0.0, 0.0, 0.001
    yield "standby", 0.0, 0.0, 0.3
    for speed in (14.6, 20.4, 26.3, 32.1, 37.9):
        yield "no-load", speed, 52.0, 0.02
    for _ in range(3):
        yield "pull", 0.0, 0.0, 0.08
    for speed in (4.0, 6.0, 8.0):
        yield "back-emf", speed, 0.0, 0.05
    for amperes in (15.0, 30.0, 45.0, 60.0):
        yield "against", amperes, 0.0, 0.3
        yield "lifted", amperes, 0.0, 0.3
    for flywheel in (0.0, 0.3):
        for k in range(8):
            yield "spin-down", 0.5 * k, flywheel, 0.2


def simulate():
    dice = numpy.random.default_rng(6)
    rows = [HEAD]
    for kind, at, other, deviation in plan():
        value = reading(kind, at, other, [*TRUTH, 36.0, 36.0]) + deviation * dice.standard_normal()
        rows.append([kind, at, other, f"{value:.6g}", deviation])
    with TABLE.open("w", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows(rows)


def rows():
    with TABLE.open(newline="") as table:
        data = [(r["kind"], float(r["at"]), float(r["with"]), float(r["value"]), float(r["deviation"]))
                for r in csv.DictReader(table)]
    scale = numpy.array([*SIZES, 36.0, 36.0])

    def residuals(x):
        return [(reading(kind, at, other, x * scale) - value) / deviation for kind, at, other, value, deviation in data]

    start = numpy.array([*TRUTH, 36.0, 36.0]) * 1.1 / scale
    fit = least_squares(residuals, start, method="trf", jac="3-point", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    covariance = numpy.linalg.inv(fit.jac.T @ fit.jac)
    for i, (name, unit, per_si) in enumerate(zip(NAMES, UNITS, PER_SI)):
        yield f"bench fit {name}", "bench_readings.csv", fit.x[i] * scale[i] * per_si, unit
        yield f"bench fit {name} deviation", "bench_readings.csv", covariance[i, i] ** 0.5 * scale[i] * per_si, unit


if __name__ == "__main__":
    if sys.argv[1:] == ["simulate"]:
        simulate()
    for row in rows():
        print(row)
