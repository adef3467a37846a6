"""An axle held by friction faces (a slider behind a spring) beside an arm (a spring), under a torque that alternates.

At each small step of torque the positions are those of least incremental energy. The Rust solver follows the forces.
"""

import numpy as np
from scipy.optimize import minimize_scalar


def slip_per_reversal(drive, brake, friction, face_stiffness, arm_stiffness, steps=400, cycles=3):
    """Slip of the faces (degrees) from one peak to the next, once it repeats."""
    path = [np.linspace(0, drive, steps)]
    for _ in range(cycles):
        path += [np.linspace(drive, -brake, steps), np.linspace(-brake, drive, steps)]
    slid, turned = 0.0, []
    for leg in path:
        begin = slid
        for torque in leg:

            def energy(new):
                # Least over the axle's own angle, in closed form: two springs in parallel.
                angle = (torque + face_stiffness * new) / (arm_stiffness + face_stiffness)
                stored = arm_stiffness * angle**2 / 2 + face_stiffness * (angle - new) ** 2 / 2 - torque * angle
                return stored + friction * abs(new - slid)

            best = minimize_scalar(energy, bracket=(slid - 1e-4, slid + 1e-4), tol=1e-12).x
            if energy(best) < energy(slid) - 1e-12:
                slid = best
        turned.append(abs(slid - begin))
    return np.degrees(turned[-1])


def rows():
    cases = [
        (60, 60, 70, 2e4, 3000),
        (90, 60, 70, 1e7, 3000),
        (90, 99, 70, 1e7, 5000),
        (90, 99, 70, 2e4, 5000),
        (60, 60, 20, 1e7, 6000),
    ]
    for drive, brake, friction, faces, arm in cases:
        inputs = f"drive {drive} N m; brake {brake} N m; friction {friction} N m; faces {faces:g} N m/rad; arm {arm} N m/rad"
        yield "slip per reversal", inputs, slip_per_reversal(drive, brake, friction, faces, arm), "deg"
