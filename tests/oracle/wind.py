"""The wind of invented flights by scipy, held against the figures of `debrief --json`.

    wind.py PROGRAM

Reads the flight's own log with the csv module, takes true airspeed as the calibrated one over the square root of the density ratio (ICAO
Doc 7488), with the flight file's position error and without (the demo's truth has none, so that only then its wind must come out), picks its samples by the stated rule, and lets scipy.optimize.least_squares find wind and airspeed factor with numerical derivatives. Exit code 1 where
wind or its sigma differ. What is compared is the wind found, and that the demo's own (8 kt from 330 degrees) lies within twice what is told.
"""
import csv
import json
import pathlib
import subprocess
import sys
import tempfile
import tomllib
from datetime import datetime

import numpy as np
from scipy.optimize import least_squares

program = pathlib.Path(sys.argv[1]).resolve()
bad = 0
for seed, corrected in [(seed, corrected) for seed in range(1, 9) for corrected in (False, True)]:
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program, "demo", folder, "--no-film", "--seconds", "600", "--seed", str(seed), "--quiet"], check=True)
        flight = pathlib.Path(folder) / "flight.toml"
        if not corrected:
            flight.write_text("".join(line for line in flight.open() if not line.startswith("position_error")))
        table = tomllib.loads(flight.read_text())["conditions"].get("position_error", [[0, 0], [200, 200]])
        told = json.loads(subprocess.run([program, "debrief", "flight.toml", "--json", "--quiet"], cwd=folder, check=True, capture_output=True).stdout)
        rows = list(csv.DictReader(open(pathlib.Path(folder) / "air.csv")))
    t = np.array([datetime.fromisoformat(row["utc"].replace("Z", "+00:00")).timestamp() for row in rows])
    t -= t[0]
    column = lambda name: np.array([float(row[name]) for row in rows])
    heading = np.unwrap(np.radians(column("Heading (deg)")))
    grid = np.arange(1.0, t[-1] - 1.0)
    at = lambda values, when: np.interp(when, t, values)
    pressure = (1 - 2.25577e-5 * column("Pressure Altitude (ft)") * 0.3048) ** 5.25588
    ratio = pressure * 288.15 / (column("OAT (degC)") + 273.15)
    calibrated = np.interp(column("IAS (kt)"), *zip(*table))
    tas, gs, hdg = at(calibrated / np.sqrt(ratio), grid), at(column("Ground Speed (kt)"), grid), at(heading, grid)
    turning = (at(heading, grid + 1) - at(heading, grid - 1)) / 2
    bank = np.degrees(np.arctan(tas * 1852 / 3600 * turning / 9.80665))
    fit = (tas >= 40) & (np.abs(bank) <= 5)
    tas, gs, hdg = tas[fit], gs[fit], hdg[fit]
    away = lambda p: np.hypot(p[0] * tas * np.sin(hdg) - p[1], p[0] * tas * np.cos(hdg) - p[2]) - gs
    found = least_squares(away, [1.0, 0.0, 0.0], x_scale="jac", xtol=1e-12, ftol=1e-12, gtol=1e-12)
    speed, direction = np.hypot(*found.x[1:]), np.degrees(np.arctan2(found.x[1], found.x[2])) % 360
    rest = found.fun
    lag = (rest[1:] * rest[:-1]).sum() / (rest**2).sum()
    covariance = np.linalg.inv(found.jac.T @ found.jac) * (rest**2).sum() / (len(rest) - 3) * (1 + lag) / (1 - lag)
    unit = found.x[1:] / speed
    sigma = np.sqrt(unit @ covariance[1:, 1:] @ unit)
    figure = lambda name: next(f for f in told["figures"]["flight"] if f["name"] == name)
    kt, deg = figure("wind speed"), figure("wind from")
    turned = (deg["value"] - direction + 180) % 360 - 180
    # The two take their seconds from other moments, so that sigma, of few independent gusts, is not the same.
    holds = abs(kt["value"] - speed) < 0.15 and abs(turned) < 1.5 and abs(kt["plus_minus"] / (2 * sigma) - 1) < 0.25
    near = abs(kt["value"] - 8) <= 2 * kt["plus_minus"] and abs((deg["value"] - 330 + 180) % 360 - 180) <= 2 * deg["plus_minus"]
    holds &= near or corrected
    bad += not holds
    print(f"seed {seed}: told {kt['value']:.2f} +- {kt['plus_minus']:.2f} kt from {deg['value']:.1f} +- {deg['plus_minus']:.1f}; scipy {speed:.2f} +- {2 * sigma:.2f} from {direction:.1f}; airspeed x {found.x[0]:.4f}; {len(gs)} samples{', corrected' if corrected else ''}{'' if holds else '  DIFFERS'}")
sys.exit(1 if bad else 0)
