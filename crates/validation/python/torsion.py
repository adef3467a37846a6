"""St-Venant torsion of a round bar with two flats and a central bore, by boundary collocation.

Prandtl's function is -r^2/2 plus harmonics that keep the bore at one value; least squares makes it vanish on the rim.
"""

import numpy as np


def torsion(diameter, flats, bore, torque, terms=60, points=4000):
    """Highest shear stress (MPa) and torsion constant (mm^4); lengths in mm, torque in N m."""
    half, radius, inner = flats / 2, diameter / 2, bore / 2
    theta = (np.arange(points) + 0.5) / points * np.pi / 2
    rim = np.minimum(radius, half / np.cos(theta))
    orders = 2 * np.arange(1, terms + 1)

    def shapes(r):
        grow = (r[:, None] / radius) ** orders
        return grow - (inner**2 / (radius * r[:, None])) ** orders

    basis = np.hstack([np.ones((points, 1)), shapes(rim) * np.cos(orders * theta[:, None])])
    weights, *_ = np.linalg.lstsq(basis, rim**2 / 2, rcond=None)

    def slope(r, angle):
        grow = (r[:, None] / radius) ** orders
        fall = (inner**2 / (radius * r[:, None])) ** orders
        radial = -r + ((grow + fall) * orders * np.cos(orders * angle[:, None]) / r[:, None]) @ weights[1:]
        around = (-(grow - fall) * orders * np.sin(orders * angle[:, None]) / r[:, None]) @ weights[1:]
        return np.hypot(radial, around)

    # J = 2 * integral of the function over the metal + 2 * its value at the bore * area of the bore.
    node, weight = np.polynomial.legendre.leggauss(60)
    integral = 0.0
    for angle, outer in zip(theta[::8], rim[::8]):
        r = inner + (outer - inner) * (node + 1) / 2
        value = -(r**2) / 2 + weights[0] + (shapes(r) * np.cos(orders * angle)) @ weights[1:]
        integral += (weight * value * r).sum() * (outer - inner) / 2
    integral *= 2 * np.pi / len(theta[::8])
    constant = 2 * integral + 2 * (weights[0] - inner**2 / 2) * np.pi * inner**2
    inside = np.full(points, max(inner, 1e-9))
    # Left out: the convex corner, where the stress is zero and a series in r^n only rings.
    flat = theta < 0.8 * np.arccos(half / radius)
    steepest = max(slope(rim[flat], theta[flat]).max(), slope(inside, theta).max() if bore else 0.0)
    return torque * 1e3 / constant * steepest, constant


def rows():
    for bore in (0, 5, 6, 7):
        stress, constant = torsion(12, 10, bore, 40)
        inputs = f"diameter 12 mm; across flats 10 mm; bore {bore} mm; 40 N m"
        yield "two-flat axle torsion stress", inputs, stress, "MPa"
        yield "two-flat axle torsion constant", inputs, constant, "mm^4"
