"""Braking current that loses its battery and its switching: it decays through the diodes into the bus capacitor."""

import numpy as np
from scipy.integrate import solve_ivp

SHIFT = 2 * np.pi / 3 * np.arange(3)
SMOOTH_A = 0.005


def dump(omega_e, flux, resistance, inductance, current, bus, capacitance, angle):
    """Highest bus voltage (V) when the switching stops at this electrical angle."""

    def rhs(t, state):
        i = np.array([state[0], state[1], -state[0] - state[1]])
        emf = omega_e * flux * np.sin(omega_e * t + angle - SHIFT)
        conducts = (1 + np.tanh(i / SMOOTH_A)) / 2
        terminal = state[2] * conducts
        di = (emf - resistance * i - terminal + terminal.mean()) / inductance
        return [di[0], di[1], (i * conducts).sum() / capacitance]

    start = current * np.sin(angle - SHIFT)
    out = solve_ivp(rhs, (0, 3e-3), [start[0], start[1], bus], method="Radau", rtol=1e-6, atol=1e-6, max_step=2e-5)
    return out.y[2].max()


def rows():
    # By symmetry the angles repeat every 60 degrees.
    angles = np.radians(np.arange(0, 60, 5))
    for omega_e, capacitance in ((817.0, 1e-3), (1050.0, 1e-3), (817.0, 0.5e-3)):
        peaks = [dump(omega_e, 0.0276, 0.045, 1e-4, 70.0, 54.6, capacitance, angle) for angle in angles]
        inputs = f"omega_e={omega_e} rad/s; flux=0.0276 Wb; R=0.045 ohm; L=0.1 mH per phase; 70 A; 54.6 V; C={capacitance * 1e3} mF; trip 0"
        yield "load dump bus peak", inputs, max(peaks), "V"
        yield "load dump bus peak, kindest angle", inputs, min(peaks), "V"
