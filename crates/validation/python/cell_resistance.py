"""Resistance of cells over duration, charge and temperature, from an electrochemical model (PyBaMM, DFN).

Not part of record.py, which needs only NumPy and SciPy. To run it again:
    python3 -m venv v && v/bin/pip install pybamm==26.10.1.1 && v/bin/python cell_resistance.py OUT.csv
Pulses of half, one and two hours' capacity each way from rest; volts from the open-circuit volts of the charge at that moment
(so that the charge that moves is not counted as resistance), over the current; mean of both ways. Fitted by

    R0 + RT (1 + 2/3 (rate/knee)^2)^(-1/4) + R1(1 - e^(-t/tau1)) + R2(1 - e^(-t/tau2))

The second term is the charge transfer at the electrodes, whose volts grow with asinh of the current (Butler and Volmer, symmetric);
the fourth root is asinh(x)/x within 0.2 % up to x = 3 and 5 % at x = 5. States of charge and durations are other ones than in
tables/battery_pulse_fine.csv, which checks the result.
"""

import csv
import sys

import numpy as np
import pybamm
from scipy.optimize import least_squares, nnls

T_S = np.array([0.2, 0.5, 2.0, 4.0, 7.0, 15.0, 25.0, 40.0, 80.0])
CHARGES = (0.05, 0.12, 0.2, 0.3, 0.4, 0.6, 0.7, 0.8, 0.86, 0.92, 0.97)
RATES = (0.5, 1.0, 2.0)
SETS = {"nmc": "Chen2020", "lfp": "Prada2013"}
MESH = {"x_n": 30, "x_s": 20, "x_p": 30, "r_n": 40, "r_p": 40}


def resistance(name, celsius, charge, rate):
    """Ohms over T_S, mean of charging and discharging."""
    both = []
    for way in (1.0, -1.0):
        p = pybamm.ParameterValues(name)
        p.update({"Upper voltage cut-off [V]": 6.0, "Lower voltage cut-off [V]": 0.5,
                  "Ambient temperature [K]": 273.15 + celsius, "Initial temperature [K]": 273.15 + celsius})
        amps = way * rate * p["Nominal cell capacity [A.h]"]
        p["Current function [A]"] = -amps
        simulation = pybamm.Simulation(pybamm.lithium_ion.DFN(), parameter_values=p, var_pts=MESH,
                                       solver=pybamm.IDAKLUSolver(rtol=1e-6, atol=1e-6))
        try:
            solved = simulation.solve([0, T_S[-1]], t_interp=np.concatenate([[0.0], T_S]), initial_soc=charge)
        except pybamm.SolverError:
            return np.full(len(T_S), np.nan)
        both.append((solved["Voltage [V]"](T_S) - solved["Bulk open-circuit voltage [V]"](T_S)) / amps)
    return np.mean(both, axis=0)


def fit(rows):
    """Two time constants and a knee for a chemistry, four resistances for each charge; rows hold a line for each rate."""
    def parts(constants):
        tau1, tau2, knee = constants
        bent = np.repeat([(1 + 2 / 3 * (rate / knee) ** 2) ** -0.25 for rate in RATES], len(T_S))
        t = np.tile(T_S, len(RATES))
        base = np.stack([np.ones_like(t), bent, 1 - np.exp(-t / tau1), 1 - np.exp(-t / tau2)], axis=1)
        # Each charge by its relative differences.
        return base, [np.maximum(nnls(base / r[:, None], np.ones_like(r))[0], 1e-5) for r in map(np.ravel, rows)]

    def off(logs):
        base, found = parts(np.exp(logs))
        return np.concatenate([(base @ k - r) / r for k, r in zip(found, map(np.ravel, rows))])

    low, high = np.log([0.5, 20.0, 0.05]), np.log([15.0, 200.0, 5.0])
    constants = np.exp(least_squares(off, np.log([3.0, 50.0, 0.7]), bounds=(low, high)).x)
    return constants, parts(constants)[1], np.abs(off(np.log(constants))).max()


def main():
    pybamm.set_logging_level("ERROR")
    ratios = [resistance("OKane2022", 8.0, c, 1.0) / resistance("OKane2022", 25.0, c, 1.0) for c in (0.4, 0.7, 0.86, 0.92, 0.97)]
    activation = 8.314462618 * np.mean(np.log(ratios)) / (1 / 281.15 - 1 / 298.15)
    print(f"activation by charge {8.314462618 * np.mean(np.log(ratios), axis=1) / (1 / 281.15 - 1 / 298.15)}", file=sys.stderr)
    with open(sys.argv[1], "w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow("chemistry,state_of_charge,cell_ah,ohmic_mohm,transfer_mohm,quick_mohm,slow_mohm,quick_s,slow_s,knee_per_h,"
                        "activation_kj_mol,"
                        "source,place,grade".split(","))
        for chemistry, name in SETS.items():
            ah = pybamm.ParameterValues(name)["Nominal cell capacity [A.h]"]
            # Near its ends the iron phosphate set runs out of lithium within the pulse.
            runs = [(c, np.stack([resistance(name, 25.0, c, rate) for rate in RATES])) for c in CHARGES]
            runs = [(c, r) for c, r in runs if np.isfinite(r).all()]
            constants, found, worst = fit([r for _, r in runs])
            print(f"{chemistry}: constants {constants}, worst fit {worst:.3f}, activation {activation / 1e3:.1f} kJ/mol", file=sys.stderr)
            for (charge, _), k in zip(runs, found):
                writer.writerow([chemistry, charge, ah, *(f"{1e3 * r:.2f}" for r in k), *(f"{x:.3f}" for x in constants),
                                 f"{activation / 1e3:.1f}", f"fitted to PyBaMM {pybamm.__version__} by cell_resistance.py",
                                 f"parameter set {name}, 25 °C, pulses of 0.5, 1 and 2 C; temperature from OKane2022", "C"])


if __name__ == "__main__":
    main()
