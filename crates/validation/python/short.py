"""Motor wires that are shorted suddenly at a steady speed: the dq equations with no voltage, and two wires as one loop."""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

# Flux in Wb, resistance in ohm, inductance in H, pole pairs.
MOTORS = [(0.0276, 0.045, 1e-4, 8), (0.012, 0.15, 2.5e-4, 10)]
PRECISE = {"method": "DOP853", "rtol": 1e-11, "atol": 1e-10}


def extremes(omega_e, flux, resistance, inductance, pole_pairs, start):
    """Largest demagnetising current (A) and braking torque (N m) after three wires meet; `start` drives when positive."""

    def rhs(_, i):
        along = (-resistance * i[0] + omega_e * inductance * i[1]) / inductance
        across = (-resistance * i[1] - omega_e * (flux + inductance * i[0])) / inductance
        return [along, across]

    end = 3 * np.pi / omega_e
    out = solve_ivp(rhs, (0, end), [0, start], dense_output=True, **PRECISE)

    def largest(component):
        times = np.linspace(0, end, 3001)
        near = times[np.argmax(-out.sol(times)[component])]
        bounds = (max(0, near - end / 3000), min(end, near + end / 3000))
        best = minimize_scalar(lambda t: out.sol(t)[component], bounds=bounds, method="bounded", options={"xatol": 1e-12})
        return -best.fun

    return largest(0), 1.5 * pole_pairs * flux * largest(1)


def two_wires(omega_e, flux, resistance, inductance, pole_pairs):
    """Largest braking torque (N m) after two wires meet, at the worst angle."""

    def worst(angle):
        def volts(t):
            return np.sqrt(3) * omega_e * flux * np.sin(omega_e * t + angle)

        def rhs(t, i):
            return [(volts(t) - 2 * resistance * i[0]) / (2 * inductance)]

        out = solve_ivp(rhs, (0, 2 * np.pi / omega_e), [0], dense_output=True, **PRECISE)
        times = np.linspace(0, 2 * np.pi / omega_e, 2001)
        return (volts(times) * out.sol(times)[0]).max() * pole_pairs / omega_e

    return max(worst(angle) for angle in np.radians(np.arange(0, 180, 3)))


def rows():
    for motor in MOTORS:
        for omega_e in (150.0, 450.0, 817.0, 2000.0):
            name = "omega_e={} rad/s; flux={} Wb; R={} ohm; L={} H; p={}".format(omega_e, *motor)
            for start in (0.0, -70.0, 40.0):
                current, torque = extremes(omega_e, *motor, start)
                inputs = f"{name}; current before={start} A"
                yield "short, first peak along the magnet", inputs, current, "A"
                yield "short, first peak of rotor torque", inputs, torque, "N m"
            yield "short of two wires, peak of rotor torque", name, two_wires(omega_e, *motor), "N m"
