"""Ten links over 65,536 draws beside a vectorised NumPy version of the same links, in one run.

Both draw the facts that these links read, with scrambled Sobol points; the medians must agree. NumPy is given its fastest
normal quantile (scipy.special.ndtri; scipy.stats.norm.ppf takes three times as long). Ours holds besides: the range of each
number checked, which facts were read, and quantile sketches; with the axle's state, which NumPy has not, as a line of its own.

Run with a Python that has numpy and scipy (crates/validation/python/requirements.txt):
    cargo bench -p workbench --bench doubt --no-run && python benches/doubt.py PATH-OF-THE-BENCHMARK
"""

import json
import math
import subprocess
import sys
import time

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

CONE = 0.6  # of the pressed cone in the clamped parts, as in VDI 2230
LINKS = [
    "axle-hold", "left-faces", "right-faces", "left-dropout", "right-dropout",
    "motor-current", "too-fast", "battery-out", "controller-volts", "cover-screws",
]


def draw(facts, count):
    doubtful = [k for k, f in facts.items() if f["spread"][0] != "exact" and f["read"]]
    points = qmc.Sobol(len(doubtful), scramble=True, rng=np.random.default_rng(1)).random(count)
    out = {k: f["value_si"] for k, f in facts.items()}
    for column, key in enumerate(doubtful):
        middle, (kind, *width) = facts[key]["value_si"], facts[key]["spread"]
        u = points[:, column]
        if kind == "uniform":
            out[key] = width[0] + (width[1] - width[0]) * u
        elif kind == "normal":
            out[key] = middle + width[0] * ndtri(u)
        else:
            out[key] = middle * np.exp(width[0] * ndtri(u))
    return out


def flatted(d, s):
    """Area of a circle of diameter d with two flats s apart."""
    s = np.minimum(s, d)
    half = np.arcsin(np.minimum(s / d, 1.0))
    return d * d / 2 * half + s / 2 * np.sqrt(np.maximum(d * d - s * s, 0.0))


def ring(inner, outer, slot):
    """Second and third moment of a ring less a slot (radii and half width)."""
    i, o, h = inner / 2, outer / 2, slot / 2
    start = np.maximum(i, h)

    def primitives(r):
        angle, root = np.arcsin(np.minimum(h / r, 1)), np.sqrt(np.maximum(r * r - h * h, 0))
        log = np.log(r + root)
        return (r * r * angle + h * root) / 2, r**3 / 3 * angle + h / 3 * (r * root / 2 + h * h / 2 * log)

    (a1, a2), (b1, b2) = primitives(start), primitives(o)
    second = np.pi * (o**2 - i**2) - 2 * (b1 - a1) - np.pi * (start**2 - i**2) / 2
    third = 2 * np.pi / 3 * (o**3 - i**3) - 2 * (b2 - a2) - np.pi * (start**3 - i**3) / 3
    return second, third


def links(x, chemistry):
    mm = lambda key: x[key] * 1e3
    # Machine with a cold magnet; peaks of torque.
    flux = x.get("motor.flux_linkage")
    if flux is None:
        flux = x["motor.volts_per_wheel_speed"] / (math.sqrt(3) * x["motor.pole_pairs"] * x["motor.reduction"])
    flux = flux * (1 - 0.0011 * (-10 - 20))
    beyond = 1 + x["controller.overshoot"] + x["controller.current_tolerance"]
    per_amp = 1.5 * x["motor.pole_pairs"] * flux

    def airgap(amps):
        return per_amp * amps / (1 + x["motor.flux_droop"] * amps)

    rotor = x["bike.downhill_speed"] / x["bike.wheel_radius"] * x["motor.reduction"]
    drag = x["motor.drag_constant"] + x["motor.drag_per_speed"] * rotor
    n, eta = x["motor.reduction"], x["motor.gear_efficiency"]
    still = airgap(x["settings.drive_current"] * beyond)
    drive = n * eta * (still - x["motor.drag_constant"])
    brake = n / eta * (airgap(x["settings.brake_current"] * beyond) + drag)
    demand = np.maximum(drive, brake)
    # Both ends of the axle.
    d, pitch = mm("axle.diameter"), mm("axle.pitch")
    d2, d3 = d - 0.64952 * pitch, d - 1.22687 * pitch
    out, held = {}, {}
    for side in ("left", "right"):
        k = lambda key: x[f"axle.{side}.{key}"]
        thread = k("thread_friction") * d2 / (2 * math.cos(math.pi / 6))
        nut_r = (d + k("nut_face_diameter") * 1e3) / 4
        force = k("nut_torque") * 1e3 / (pitch / (2 * np.pi) + thread + k("nut_face_friction") * nut_r)
        length = k("dropout_thickness") * 1e3 + sum(
            x[f"arm.{i}.thickness"] * 1e3 for i in range(1, 9) if x.get(f"arm.{i}.side") == ("left", "right").index(side)
        )
        bore = np.pi / 4 * (k("bore") * 1e3) ** 2
        flats = mm("axle.across_flats")
        bolt = ((length + d / 2) / (flatted(d3, flats) - bore) + 0.4 * d / (flatted(d, flats) - bore)) / 205e3
        hole, wide = k("face_inner_diameter") * 1e3, k("face_outer_diameter") * 1e3
        cone = wide + length * CONE
        plates = 2 * np.log((wide + hole) * (cone - hole) / ((wide - hole) * (cone + hole))) / (205e3 * np.pi * hole * CONE)
        clamp = np.maximum(force - k("settling") * 1e3 / (bolt + plates), 0)
        area, third = ring(hole, wide, k("slot_width") * 1e3)
        radius = third / area
        face = k("face_friction") * clamp * radius
        washer = np.minimum(face, k("nut_face_friction") * clamp * nut_r)
        tight = np.minimum(washer, clamp * (thread + pitch / (2 * np.pi)))
        loose = np.minimum(washer, clamp * (thread - pitch / (2 * np.pi)))
        held[side] = (face + np.minimum(tight, loose)) / 1e3
        out[f"{side}-faces"] = demand / 2 / held[side]
        out[f"{side}-dropout"] = force / area / (k("dropout_bearing_strength") / 1e6)
    out["axle-hold"] = demand / (2 * np.minimum(held["left"], held["right"]))
    most = np.maximum(x["settings.drive_current"], x["settings.brake_current"])
    out["motor-current"] = most / x["controller.hardware_current"] + 0 * demand
    volts = math.sqrt(3) * flux * x["motor.pole_pairs"] * rotor
    full, empty = (np.interp(c, *chemistry) * x["battery.cells_series"] for c in (x["settings.charge_to"], 0.1))
    out["battery-out"] = volts / 60
    out["controller-volts"] = np.maximum(volts, full) / x["controller.voltage_rating"]
    onset = empty / (math.sqrt(3) * flux * x["motor.pole_pairs"]) / n * x["bike.wheel_radius"]
    out["too-fast"] = x["bike.downhill_speed"] / onset
    slip = x["motor.cover_screw_clamp"] * x["motor.cover_friction"] * x["motor.cover_screws"]
    out["cover-screws"] = demand / (slip * x["motor.cover_screw_circle_radius"])
    return out


def run(binary):
    return json.loads(subprocess.run([binary, "--links", ",".join(LINKS)], capture_output=True, check=True).stdout)


def main():
    with open("crates/evidence/tables/open_circuit.csv") as table:
        rows = [line.split(",") for line in table if line.startswith("nmc,")]
    chemistry = np.array([float(r[1]) for r in rows]), np.array([float(r[2]) for r in rows])
    # In turns, so that a machine that is busy now and then is as busy for both.
    times, ours = [], []
    for _ in range(5):
        ours.append(run(sys.argv[1]))
        for _ in range(3):
            begin = time.perf_counter()
            values = draw(ours[0]["facts"], ours[0]["draws"])
            drawn = time.perf_counter()
            with np.errstate(divide="ignore"):
                found = links(values, chemistry)
            times.append((time.perf_counter() - begin, time.perf_counter() - drawn))
    numpy_s = min(times)
    facts = sum(f["read"] and f["spread"][0] != "exact" for f in ours[0]["facts"].values())
    print(f"{ours[0]['draws']} draws of {facts} doubts, {len(LINKS)} links")
    for name, ours_median in zip(ours[0]["links"], ours[0]["medians"]):
        theirs = float(np.median(found[name]))
        mark = "" if abs(ours_median / theirs - 1) < 0.01 else "  DIFFERS"
        print(f"  {name:18} median {ours_median:.4f}, NumPy {theirs:.4f}{mark}")
    print(f"NumPy {numpy_s[0]:.3f} s (of which drawing {numpy_s[0] - numpy_s[1]:.3f} s)")
    for key, name in (
        ("one_thread_s", "1 thread"), ("two_threads_s", "2 threads"),
        ("two_threads_with_axle_s", "2 threads, with the axle's state"),
    ):
        least = min(o[key] for o in ours)
        print(f"ours, {name}: {least:.3f} s, {numpy_s[0] / least:.1f} times as fast")


if __name__ == "__main__":
    main()
