"""Winding and shell of a motor as two heat nodes, by SciPy's matrix exponential; times by root finding on it."""

import numpy as np
from scipy.linalg import expm
from scipy.optimize import brentq

ALPHA = 0.00393
# Winding and shell capacity in J/K, resistance between them in K/W, conductance to the air in W/K.
MOTORS = [(350, 2200, 0.25, 5), (300, 2200, 0.125, 4), (120, 5000, 0.6, 12)]
# Copper loss at 20 C and shell loss in W, air in C; the last one runs away in the first two motors.
HEATINGS = [(80, 20, 25), (250, 60, 35), (900, 0, -10)]


def course(motor, heating, start, time):
    """Both temperatures (C) after a time (s)."""
    winding, shell, between, away = motor
    copper, iron, air = heating
    system = np.array(
        [
            [(copper * ALPHA - 1 / between) / winding, 1 / (between * winding), copper * (1 - 20 * ALPHA) / winding],
            [1 / (between * shell), -(1 / between + away) / shell, (iron + away * air) / shell],
            [0, 0, 0],
        ]
    )
    return (expm(system * time) @ [*start, 1])[:2]


def rows():
    for motor in MOTORS:
        for heating in HEATINGS:
            name = "Cw={} J/K; Cs={} J/K; Rws={} K/W; H={} W/K; P20={} W; Ps={} W; air={} C".format(*motor, *heating)
            for start in ((heating[2], heating[2]), (140.0, 60.0)):
                for time in (20, 400, 6000):
                    winding, shell = course(motor, heating, start, time)
                    if winding > 2000:
                        continue
                    inputs = f"{name}; winding starts at {start[0]} C; shell starts at {start[1]} C; t={time} s"
                    yield "two heat nodes, winding", inputs, winding, "C"
                    yield "two heat nodes, shell", inputs, shell, "C"
            for node, limit in ((0, 120), (1, 70)):
                start = (heating[2], heating[2])

                def over(time):
                    return course(motor, heating, start, time)[node] - limit

                until = next((t for t in 2.0 ** np.arange(17) if over(t) > 0), None)
                if until is not None:
                    inputs = f"{name}; {('winding', 'shell')[node]} limit={limit} C"
                    yield "time to a heat limit", inputs, brentq(over, 0, until, xtol=1e-9), "s"
