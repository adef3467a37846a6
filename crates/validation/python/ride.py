"""Rides solved as continuous differential equations (DOP853, tight tolerance), with events where something switches.

The equations are those of the stepper's formulas, written anew: limits by root finding and not by the stepper's tangents, the
battery by its terminal equation at each instant and not by means over a step. Rides stand in ../tables/rides.csv.
"""

import csv
from math import pi, sqrt
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

HERE = Path(__file__).parent
G = 9.80665
EVIDENCE = HERE.parent.parent / "evidence" / "tables"


def rides():
    """Name and settings of each ride, over those of the base."""
    base, out = {}, {}
    with (HERE.parent / "tables" / "rides.csv").open(newline="") as file:
        for row in csv.DictReader(file):
            name, key, value = row["ride"], row["key"], row["value"]
            if name == "base":
                base[key] = value if key == "chemistry" else float(value)
                continue
            ride = out.setdefault(name, {**base, "point": [], "bend": [], "stop": []})
            if key in ("point", "bend", "stop"):
                ride[key].append(tuple(float(number) for number in value.split(";")))
            else:
                ride[key] = value if key == "chemistry" else float(value)
    return out


def column(name, chemistry, *heads):
    with (EVIDENCE / name).open(newline="") as file:
        rows = [r for r in csv.DictReader(file) if r["chemistry"] == chemistry]
    return [np.array([float(r[h]) for r in rows]) for h in heads]


class Course:
    """Cells of about 5 m; sine of the slope and squares of the wished speeds straight across each."""

    def __init__(self, ride):
        at, height = (np.array(c) for c in zip(*ride["point"]))
        road = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(at), np.diff(height)))])
        self.length = road[-1]
        cells = round(self.length / 5.0)
        self.cell = self.length / cells
        self.edge = np.arange(cells + 1) * self.cell
        slope = np.diff(np.interp(self.edge, road, height)) / self.cell
        self.sine = np.concatenate([[slope[0]], (slope[1:] + slope[:-1]) / 2, [slope[-1]]])
        brake = np.full(cells + 1, ride["downhill_m_s"] ** 2)
        pedal = np.full(cells + 1, ride["cruise_m_s"] ** 2)
        on_road = lambda place: int(round(np.interp(place, at, road) / self.cell))
        for place, speed in ride["bend"]:
            brake[on_road(place)] = min(brake[on_road(place)], speed**2)
        self.stops = []
        for place, wait in ride["stop"]:
            brake[on_road(place)] = 0.25
            self.stops.append((on_road(place) * self.cell, wait))
        for i in range(cells - 1, -1, -1):
            brake[i] = min(brake[i], brake[i + 1] + 2 * ride["course_slowing_m_s2"] * self.cell)
        self.brake, self.pedal = brake, np.minimum(pedal, brake)

    def look(self, x):
        i = min(max(int(x / self.cell), 0), len(self.sine) - 2)
        f = x / self.cell - i
        mid = lambda row: row[i] + f * (row[i + 1] - row[i])
        return mid(self.sine), sqrt(max(mid(self.brake), 0.0)), sqrt(max(mid(self.pedal), 0.0)), \
            min(0.0, (self.brake[i + 1] - self.brake[i]) / (2 * self.cell))


class Pack:
    def __init__(self, ride):
        c = ride["chemistry"]
        self.open = column("open_circuit.csv", c, "state_of_charge", "open_circuit_v")
        self.rows = column("cell_resistance.csv", c, "state_of_charge", "ohmic_mohm", "transfer_mohm", "quick_mohm",
                           "slow_mohm", "quick_s", "slow_s", "knee_per_h", "activation_kj_mol")
        self.quick_s, self.slow_s, self.knee, self.activation = (self.rows[k][0] for k in (5, 6, 7, 8))
        self.knee *= ride["capacity_as"] / 3600
        after = self.shape(0.5)
        self.scale = ride["pack_ohm"] / (after[0] + after[1] * self.bend(12.5) + after[2] * (1 - np.exp(-2 / self.quick_s))
                                         + after[3] * (1 - np.exp(-2 / self.slow_s)))
        self.series = ride["series"]
        self.heat = ride["capacity_as"] * self.series * 70 * 0.95 / (5 * 3600)

    def shape(self, s):
        return [np.interp(s, self.rows[0], self.rows[k]) for k in (1, 2, 3, 4)]

    def bend(self, amps):
        return (1 + 2 / 3 * (amps / self.knee) ** 2) ** -0.25

    def at(self, s, celsius, amps):
        cold = np.exp(self.activation * 1e3 / 8.314462618 * (1 / (celsius + 273.15) - 1 / 298.15))
        ohmic, transfer, quick, slow = (r * self.scale * cold for r in self.shape(s))
        return self.series * np.interp(s, *self.open), [ohmic + transfer * self.bend(amps), quick, slow]


class Ride:
    """State: way, speed, charge, quick and slow volts, winding, shell, pack, hands' work, legs' work, terminal energy, current
    that the electrodes feel (half a second behind)."""

    def __init__(self, ride):
        self.__dict__.update(ride)
        self.course, self.pack = Course(ride), Pack(ride)
        self.turns = self.reduction / self.wheel_radius_m
        self.factor, self.loss = (3 * sqrt(3) / pi, 2.0) if self.block else (1.5, 1.5)
        self.moving = self.mass_kg + self.wheels_kg + (self.rotor_kg_m2 * self.turns**2 if self.locked else 0)
        self.open_until = self.hands_from = -1.0

    def amps(self, emf, inner, power, switched):
        """Root of (emf - inner I) I = power + switched (emf - inner I) with the higher volts."""
        b, c = emf + inner * switched, emf * switched + power
        return (b - sqrt(b * b - 4 * inner * c)) / (2 * inner)

    def instant(self, t, y):
        x, v, s, quick, slow, winding, shell, cells = y[:8]
        v = max(v, 0.0)
        sine, v_brake, v_pedal, slowing = self.course.look(x)
        weight = self.mass_kg * G
        wind = v + self.head_wind_m_s
        road = weight * (sine + self.rolling * sqrt(1 - sine * sine)) + 0.091 + 0.0087 * v \
            + 0.5 * self.density_kg_m3 * self.drag_area_m2 * wind * abs(wind)
        om = v * self.turns
        drag = self.drag_nm + self.drag_nms * om
        copper = self.phase_ohm * (1 + 0.00393 * (winding - 20))
        ohm = copper + self.switch_ohm
        flux = self.flux_wb * (1 + self.magnet_per_k * (shell - 20))
        volts_open, r = self.pack.at(s, cells, y[11])
        emf = volts_open - quick - slow
        coast = self.turns / self.gears * drag
        opened = t < self.open_until
        torque = lambda i: self.factor * self.pole_pairs * flux * i / (1 + self.droop_per_a * i)
        inverse = lambda m: m / (self.factor * self.pole_pairs * flux - self.droop_per_a * m)
        a_coast = -(road + coast) / self.moving
        a_brake = max(slowing * v / v_brake + self.firmness_per_s * (v_brake - v), -self.slowing_m_s2)
        a_pedal = min(self.firmness_per_s * (v_pedal - v), self.speeding_m_s2, a_brake)
        em = i = legs = wanted = 0.0
        if a_coast > a_brake:
            wanted = self.moving * (a_coast - a_brake)
            if not opened:
                fade = min(max((v - self.fade_gone_m_s) / (self.fade_from_m_s - self.fade_gone_m_s), 0), 1)
                i = min(inverse(wanted * self.gears / self.turns), self.brake_a * fade)
                allowed = min(self.charge_a, max(0.0, self.charge_a * (self.ease_gone_v - emf)
                                                 / (self.ease_gone_v - self.ease_from_v + self.charge_a * r[0])))
                bus = emf + allowed * r[0]
                over = lambda i: torque(i) * om - self.loss * ohm * i * i - self.switching * bus * i - self.standby_w \
                    - allowed * bus
                if over(i) > 0:
                    i = brentq(over, 0.0, i, xtol=1e-13, rtol=1e-14)
                em = -torque(i)
        elif a_coast < a_pedal:
            legs, em, i = self.drive(self.moving * (a_pedal - a_coast), v, om, drag, ohm, flux, emf, r[0], torque, inverse)
        own = sqrt(3) * self.pole_pairs * om * flux
        bridge = None
        if own > emf + 2 * self.diode_v:
            if em > 0:
                em = i = 0.0
            if not opened:
                bridge = self.bridge(om, own, copper, emf, r[0])
                if bridge[0] > -em:
                    em = -bridge[0]
                else:
                    bridge = None
        shaft = em - drag
        motor = self.turns * shaft * (self.gears if shaft > 0 else 1 / self.gears)
        hands = 0.0
        if wanted > 0 and t >= self.hands_from:
            hands = min(max(wanted + motor + coast, 0.0), self.hands_m_s2 * self.mass_kg)
        if bridge:
            heat, switch, switched = bridge[1], bridge[2], 0.0
        else:
            heat, switch, switched = self.loss * copper * i * i, self.loss * self.switch_ohm * i * i, self.switching * i
        battery = self.amps(emf, r[0], em * om + heat + switch + self.standby_w, switched)
        bus = emf - r[0] * battery
        return dict(a=(motor + legs - hands - road) / self.moving, battery=battery, bus=bus, r=r, heat=heat, hands=hands,
                    legs=legs, shell_in=drag * om + shaft * om - motor * v, pack_heat=battery * (volts_open - bus))

    def drive(self, need, v, om, drag, ohm, flux, emf, inner, torque, inverse):
        """Legs' force, motor torque and current that together give a force over coasting."""
        power = 0.976 * self.power_w
        low, high = (gear * self.cadence_rpm / 60 for gear in (self.low_gear_m, self.high_gear_m))
        q = v / low if v < low else max(v / high, 1.0)
        most = power * max(2 - q, 0) / (low if v < low else max(v, 1e-9) / q)
        most = max(most, self.push_n * min(3 * (1 - v / 1.2), 1))
        assist = self.assist * min(max((self.assist_until_m_s - v) / (2 / 3.6), 0), 1)
        per_force = 1 / (self.turns * self.gears)

        def given(em):
            shaft = em - drag
            return self.turns * shaft * (self.gears if shaft > 0 else 1 / self.gears) + self.turns / self.gears * drag

        total = lambda legs: legs + given(assist * legs * per_force) - need
        legs = min(brentq(total, 0.0, need + 1.0, xtol=1e-11, rtol=1e-14) if assist > 0 else need, most)
        em = assist * legs * per_force
        i = wish = inverse(em)
        i = min(i, self.drive_a)
        om_e = om * self.pole_pairs
        push = lambda i: (om_e * self.phase_h * i) ** 2 + (ohm * i + om_e * flux) ** 2 - emf * emf / 3
        if push(i) > 0:
            i = brentq(push, 0.0, i, xtol=1e-12) if push(0.0) < 0 else 0.0
        # The controller keeps its supply above a limit, and above six tenths of what the pack shows unloaded.
        least = max(self.cutback_v, 0.6 * emf)
        taken = lambda i: torque(i) * om + self.loss * ohm * i * i + self.switching * least * i + self.standby_w \
            - max(least * (emf - least) / inner, self.standby_w)
        if i > 0 and taken(i) > 0:
            i = brentq(taken, 0.0, i, xtol=1e-13)
        if i < wish:
            em = torque(i)
            legs = min(max(need - given(em), 0.0), most)
        return legs, em, i

    def bridge(self, om, own, copper, emf, inner):
        """Torque, copper loss and diode loss of charging by itself."""
        u = emf + 2 * self.diode_v
        x, e, k = om * self.pole_pairs * self.phase_h, own / sqrt(3), own / u

        def stiff(bus):
            if own / bus <= 1.3:
                return max(0.0, own - pi / 3 * bus) / (x + 2 * pi / 3 * copper)
            v1, z2 = 2 * bus / pi, copper**2 + x**2
            root = sqrt((copper * v1) ** 2 + z2 * (e * e - v1 * v1))
            return 3 / pi * (root - copper * v1) / z2 * (1 - 0.3 * (1.3 * bus / own) ** 5)

        dc = brentq(lambda i: stiff(u + inner * i) - i, 0.0, stiff(u) + 1e-9, xtol=1e-13) if k > 1 else 0.0
        heat = 1.5 * copper * (pi * dc / 3) ** 2
        return (u * dc + dc * dc * inner + heat) / om, heat, 2 * self.diode_v * dc

    def slope(self, t, y, standing=False):
        if standing:
            volts, r = self.pack.at(y[2], y[7], y[11])
            battery = self.amps(volts - y[3] - y[4], r[0], self.standby_w, 0.0)
            bus = volts - y[3] - y[4] - r[0] * battery
            n = dict(a=0.0, battery=battery, bus=bus, r=r, heat=0.0, hands=0.0, legs=0.0, shell_in=0.0,
                     pack_heat=battery * (volts - bus))
        else:
            n = self.instant(t, y)
        v = 0.0 if standing else max(y[1], 0.0)
        cooling = np.interp(v, COOL_V, COOL) * self.shell_to_air_w_k
        over = (y[5] - y[6]) / self.winding_to_shell_k_w
        p = self.pack
        return [v, n["a"], -n["battery"] / self.capacity_as,
                (n["r"][1] * n["battery"] - y[3]) / p.quick_s, (n["r"][2] * n["battery"] - y[4]) / p.slow_s,
                (n["heat"] - over) / self.winding_j_k,
                (n["shell_in"] + over - cooling * (y[6] - self.air_c)) / self.shell_j_k,
                (n["pack_heat"] - p.heat / 2800 * (y[7] - self.air_c)) / p.heat,
                n["hands"] * v, n["legs"] * v, n["battery"] * n["bus"], (n["battery"] - y[11]) / 0.5]

    def not_allowed(self, t, y):
        """Positive while the electronics do not allow the charge."""
        n = self.instant(t, y)
        charge = -n["battery"]
        return min(charge - 0.1, max(n["bus"] - self.cutout_v, charge - self.electronics_a))

    def run(self, rtol=1e-9, max_step=1.0):
        t, y = 0.0, np.array([0, self.start_m_s, self.charge, 0, 0, self.air_c, self.air_c, self.pack_c, 0, 0, 0.0, 0.0])
        goals = [*self.course.stops, (self.course.length, None)]
        self.openings, self.steps, trip = [], 0, None
        for way, wait in goals:
            arrived = False
            while not arrived:
                reach = lambda t, y: y[0] - way
                reach.terminal, reach.direction = True, 1
                begins = lambda t, y: self.not_allowed(t, y)
                begins.terminal, begins.direction = True, 1 if trip is None else -1
                ends = [u for u in (trip, self.open_until if t < self.open_until else None,
                                    self.hands_from if t < self.hands_from else None) if u is not None]
                until = min([*ends, t + 3600.0])
                part = solve_ivp(self.slope, (t, until), y, "DOP853", rtol=rtol, atol=1e-1 * rtol, max_step=max_step,
                                 events=[reach, begins])
                self.steps += part.nfev
                t, y = part.t[-1], part.y[:, -1]
                if len(part.t_events[0]):
                    arrived = True
                elif len(part.t_events[1]):
                    trip = t + 1.0 if trip is None else None
                    t, y = t + 1e-9, y + 1e-9 * np.array(self.slope(t, y))
                elif trip is not None and t >= trip:
                    self.openings.append((t, y[0], y[1]))
                    self.open_until, self.hands_from, trip = t + 30.0, t + self.reaction_s, None
            if wait is not None:
                y[8] += 0.5 * self.moving * y[1] ** 2
                y[1] = 0.0
                part = solve_ivp(lambda t, y: self.slope(t, y, True), (t, t + wait), y, "DOP853", rtol=rtol, atol=1e-1 * rtol)
                t, y, trip = part.t[-1], part.y[:, -1], None
        return t, y


COOL_V = np.arange(122) * 0.5
COOL = 0.3 + 0.7 * (np.minimum(COOL_V, 60.0) * 3.6 / 20) ** 0.7


def rows():
    for name, settings in rides().items():
        ride = Ride(settings)
        t, y = ride.run()
        for quantity, value, unit in (
            ("time", t, "s"), ("speed at the end", y[1], "m/s"), ("charge at the end", y[2] * 100, "%"),
            ("winding at the end", y[5], "°C"), ("shell at the end", y[6], "°C"), ("pack at the end", y[7], "°C"),
            ("slow volts at the end", y[4], "V"), ("work of the hands", y[8] / 3600, "Wh"),
            ("work of the legs", y[9] / 3600, "Wh"), ("battery energy", y[10] / 3600, "Wh"),
            ("openings of the pack", len(ride.openings), "times"),
            *((f"way to opening {k + 1}", o[1], "m") for k, o in enumerate(ride.openings)),
        ):
            yield f"ride: {quantity}", name, value, unit


if __name__ == "__main__":
    for row in rows():
        print(*row)
