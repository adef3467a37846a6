"""Simulates rides of the demo's longtail and writes them as a log of 12 columns at 10 samples a second.

    python3 benches/ride_log.py test-ride > ride.csv     the test ride of the ladder, some ten minutes
    python3 benches/ride_log.py 10 > long.csv            ten hours of stop and go, hills among them

The equations are written here anew, apart from the program's own; the same seed gives the same bytes.
"""

import math
import random
import sys

MASS, MOVING, RADIUS, RATIO, PAIRS = 174.0, 178.0, 0.332, 4.6, 8
FLUX, DROOP, R_LINE, DRAG, DRAG_SPEED, ETA = 0.0215 * (1 - 0.0011 * 10), 0.00025, 0.148, 0.28, 0.001, 0.95
CRR, CDA, AIR, OPEN_VOLTS, PACK, CHARGE = 0.0075, 0.62, 1.225, 55.0, 0.085, 11.0
FULL_FROM, GONE = 9 / 3.6, 5 / 3.6
HEADER = ("time_s,speed_kmh,height_m,bus_voltage_v,battery_current_a,phase_current_a,motor_temperature_c,"
          "air_temperature_c,cadence_rpm,rider_power_w,latitude_deg,longitude_deg")


class Ride:
    def __init__(self, out, seed):
        self.out, self.dice = out, random.Random(seed)
        self.t = self.v = self.x = 0.0
        self.h, self.winding, self.shell, self.tick = 400.0, 14.0, 14.0, 0
        out.write(HEADER + "\n")

    def step(self, amps, grade, rider=0.0, dt=0.02):
        rotor = self.v / RADIUS * RATIO
        if amps < 0:
            # The controller keeps its charge limit: 1.5·(R·i² − E·i) = −I·V with the smaller current.
            emf, ohms = PAIRS * FLUX * rotor, R_LINE / 2
            root = emf * emf - 8 / 3 * ohms * CHARGE * OPEN_VOLTS
            if root > 0:
                amps = max(amps, -(emf - math.sqrt(root)) / (2 * ohms))
        inside = 1.5 * PAIRS * FLUX / (1 + DROOP * abs(amps)) * amps
        shaft = inside - (DRAG + DRAG_SPEED * rotor)
        wheel = RATIO * shaft * ETA if shaft >= 0 else RATIO * shaft / ETA
        copper = 1.5 * R_LINE / 2 * amps * amps
        power = copper + inside * rotor
        battery = (OPEN_VOLTS - math.sqrt(OPEN_VOLTS**2 - 4 * PACK * power)) / (2 * PACK)
        angle = math.atan(grade)
        road = MASS * 9.80665 * (math.sin(angle) + CRR * math.cos(angle)) + 0.5 * AIR * CDA * self.v**2
        force = wheel / RADIUS + rider / max(self.v, 1.0)
        if self.v <= 0 and force <= road:
            road = force
        if self.tick % 5 == 0:
            n = self.dice.gauss
            self.out.write(
                f"{self.t:.1f},{max(0.0, self.v * 3.6 + n(0, 0.03)):.2f},{self.h + n(0, 0.1):.1f},"
                f"{OPEN_VOLTS - PACK * battery + n(0, 0.03):.2f},{battery + n(0, 0.04):.2f},{amps + n(0, 0.15):.2f},"
                f"{(self.winding + self.shell) / 2 + n(0, 0.2):.1f},14.0,{70 if rider > 0 else 0},{rider:.0f},"
                f"{47 + self.x * 8.98e-6:.6f},{11.0:.6f}\n"
            )
        self.winding += dt / 350 * (copper - (self.winding - self.shell) / 0.25)
        drag = (DRAG + DRAG_SPEED * rotor) * rotor
        self.shell += dt / 2200 * (drag + (self.winding - self.shell) / 0.25 - 5.5 * (self.shell - 14))
        self.v = max(0.0, self.v + dt * (force - road) / MOVING)
        self.x += self.v * dt
        self.h += self.v * dt * math.sin(angle)
        self.t += dt
        self.tick += 1

    def go(self, seconds, grade, amps, until=lambda v: False, rider=0.0):
        end = self.t + seconds
        while self.t < end and not until(self.v):
            self.step(amps(self.v), grade, rider)


def braking(amps):
    return lambda v: -amps * min(1.0, max(0.0, (v - GONE) / (FULL_FROM - GONE)))


def holding(speed):
    return lambda v: -min(31.0, max(0.0, 14 + 40 * (v - speed)))


def drive(amps):
    return lambda v: amps


NOTHING = drive(0.0)


def stops(ride, count):
    for k in range(count):
        grade = 0.008 * (k % 3 - 1)
        ride.go(60, grade, drive(44), lambda v: v > 26 / 3.6)
        ride.go(8, grade, NOTHING)
        ride.go(30, grade, braking(31), lambda v: v < 1.0)
        ride.go(30, 0.01, NOTHING, lambda v: v <= 0)
        ride.go(1.5, 0, NOTHING)


def main():
    what = sys.argv[1] if len(sys.argv) > 1 else "test-ride"
    ride = Ride(sys.stdout, 117)
    if what == "test-ride":
        ride.go(5, 0, NOTHING)
        stops(ride, 12)
        for k in range(6):
            ride.go(60, 0, drive(44), lambda v: v > 28 / 3.6)
            ride.go(40, 0.002 * (k % 2) - 0.001, NOTHING, lambda v: v < 2.0)
        ride.go(120, 0.05, drive(40), rider=120)
        ride.go(60, 0, drive(30), lambda v: v > 21 / 3.6)
        ride.go(150, -0.06, holding(21 / 3.6))
        return
    hours = float(what)
    while ride.t < 3600 * hours:
        stops(ride, 6)
        ride.go(240, 0.04, drive(38), rider=130)
        ride.go(120, 0, drive(12), rider=100)
        ride.go(60, 0, drive(20), lambda v: v > 21 / 3.6)
        ride.go(180, -0.055, holding(21 / 3.6))
        ride.go(60, 0, drive(44), lambda v: v > 30 / 3.6)
        ride.go(30, 0, NOTHING, lambda v: v < 2.0)


if __name__ == "__main__":
    main()
