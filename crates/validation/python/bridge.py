"""A spinning motor behind the six diodes of a controller that does not switch, on a stiff bus.

Each phase is a sine EMF with resistance and inductance. Ideal diodes are smoothed to 0.005 A, so that a stiff ODE
solver (Radau) integrates them; the Rust solver steps over the corners instead.
"""

import numpy as np
from scipy.integrate import solve_ivp

SHIFT = 2 * np.pi / 3 * np.arange(3)
SMOOTH_A = 0.005


def bridge(omega_e, flux, resistance, inductance, bus, pole_pairs, periods=5):
    """Mean bus current (A) and rotor torque (N m) over the last electrical period."""

    def emf(t):
        return omega_e * flux * np.sin(omega_e * t - SHIFT)

    def phases(i):
        return np.array([i[0], i[1], -i[0] - i[1]])

    def rhs(t, state):
        i = phases(state)
        terminal = bus / 2 * (1 + np.tanh(i / SMOOTH_A))
        di = (emf(t) - resistance * i - terminal + terminal.mean()) / inductance
        upper = i * (1 + np.tanh(i / SMOOTH_A)) / 2
        return [di[0], di[1], upper.sum(), emf(t) @ i]

    period = 2 * np.pi / omega_e
    start, end = periods * period, (periods + 1) * period
    # The solver probes how the slopes change with the two integrals, on which nothing depends, with ever larger steps.
    with np.errstate(over="ignore"):
        out = solve_ivp(rhs, (0, end), [0, 0, 0, 0], method="Radau", t_eval=[start, end], rtol=1e-6, atol=1e-5, max_step=period / 60)
    charge, work = out.y[2:, 1] - out.y[2:, 0]
    return charge / period, work / period * pole_pairs / omega_e


def rows():
    for omega_e in (1256.4, 1370.6, 1713.2, 2284.3):
        current, torque = bridge(omega_e, 0.0276, 0.045, 1e-4, 54.6, 8)
        inputs = f"omega_e={omega_e} rad/s; flux=0.0276 Wb; R=0.045 ohm; L=0.1 mH per phase; bus=54.6 V stiff; p=8"
        yield "bridge bus current", inputs, current, "A"
        yield "bridge rotor torque", inputs, torque, "N m"
