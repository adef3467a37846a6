"""Resistance of cells over duration, charge and temperature, from an electrochemical model (PyBaMM, DFN).

Not part of record.py, which needs only NumPy and SciPy. To run it again:
    python3 -m venv v && v/bin/pip install pybamm==26.10.1.1 && v/bin/python cell_resistance.py OUT.csv
Pulses of one hour's capacity each way from rest; volts from the open-circuit volts of the charge at that moment (so that the
charge that moves is not counted as resistance), over the current; mean of both ways. Fitted by R0 + R1(1 - e^(-t/tau1)) +
R2(1 - e^(-t/tau2)). States of charge and durations are other ones than in tables/battery_pulse_fine.csv, which checks the result.
"""

import csv
import sys

import numpy as np
import pybamm
from scipy.optimize import least_squares

T_S = np.array([0.2, 0.5, 2.0, 4.0, 7.0, 15.0, 25.0, 40.0, 80.0])
CHARGES = (0.05, 0.12, 0.2, 0.3, 0.4, 0.6, 0.7, 0.8, 0.86, 0.92, 0.97)
SETS = {"nmc": "Chen2020", "lfp": "Prada2013"}
MESH = {"x_n": 30, "x_s": 20, "x_p": 30, "r_n": 40, "r_p": 40}


def resistance(name, celsius, charge):
    """Ohms over T_S, mean of charging and discharging."""
    both = []
    for rate in (1.0, -1.0):
        p = pybamm.ParameterValues(name)
        p.update({"Upper voltage cut-off [V]": 6.0, "Lower voltage cut-off [V]": 0.5,
                  "Ambient temperature [K]": 273.15 + celsius, "Initial temperature [K]": 273.15 + celsius})
        amps = rate * p["Nominal cell capacity [A.h]"]
        p["Current function [A]"] = -amps
        simulation = pybamm.Simulation(pybamm.lithium_ion.DFN(), parameter_values=p, var_pts=MESH,
                                       solver=pybamm.IDAKLUSolver(rtol=1e-6, atol=1e-6))
        solved = simulation.solve([0, T_S[-1]], t_interp=np.concatenate([[0.0], T_S]), initial_soc=charge)
        both.append((solved["Voltage [V]"](T_S) - solved["Bulk open-circuit voltage [V]"](T_S)) / amps)
    return np.mean(both, axis=0)


def fit(rows):
    """One pair of time constants for a chemistry, three resistances for each charge."""
    def parts(tau):
        base = np.stack([np.ones_like(T_S), 1 - np.exp(-T_S / tau[0]), 1 - np.exp(-T_S / tau[1])], axis=1)
        return base, [np.maximum(np.linalg.lstsq(base, r, rcond=None)[0], 1e-4) for r in rows]

    def off(log_tau):
        base, found = parts(np.exp(log_tau))
        return np.concatenate([(base @ k - r) / r for k, r in zip(found, rows)])

    tau = np.exp(least_squares(off, np.log([3.0, 50.0]), bounds=(np.log([0.5, 20.0]), np.log([15.0, 200.0]))).x)
    return tau, parts(tau)[1], np.abs(off(np.log(tau))).max()


def main():
    pybamm.set_logging_level("ERROR")
    ratios = [resistance("OKane2022", 8.0, c) / resistance("OKane2022", 25.0, c) for c in (0.4, 0.7, 0.86, 0.92, 0.97)]
    activation = 8.314462618 * np.mean(np.log(ratios)) / (1 / 281.15 - 1 / 298.15)
    print(f"activation by charge {8.314462618 * np.mean(np.log(ratios), axis=1) / (1 / 281.15 - 1 / 298.15)}", file=sys.stderr)
    with open(sys.argv[1], "w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow("chemistry,state_of_charge,cell_ah,at_once_mohm,quick_mohm,slow_mohm,quick_s,slow_s,activation_kj_mol,"
                        "source,place,grade".split(","))
        for chemistry, name in SETS.items():
            ah = pybamm.ParameterValues(name)["Nominal cell capacity [A.h]"]
            # Near its ends the iron phosphate set runs out of lithium within the pulse.
            runs = [(c, resistance(name, 25.0, c)) for c in CHARGES]
            runs = [(c, r) for c, r in runs if np.isfinite(r).all()]
            tau, found, worst = fit([r for _, r in runs])
            print(f"{chemistry}: tau {tau}, worst fit {worst:.3f}, activation {activation / 1e3:.1f} kJ/mol", file=sys.stderr)
            for (charge, _), k in zip(runs, found):
                writer.writerow([chemistry, charge, ah, *(f"{1e3 * r:.2f}" for r in k), *(f"{t:.2f}" for t in tau),
                                 f"{activation / 1e3:.1f}", f"fitted to PyBaMM {pybamm.__version__} by cell_resistance.py",
                                 f"parameter set {name}, 25 °C, pulses of 1 C; temperature from OKane2022", "C"])


if __name__ == "__main__":
    main()
