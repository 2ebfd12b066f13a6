"""Holds `jumpseat debrief` against a real engine log of two engines: python3 tests/oracle/real_engine.py JUMPSEAT

The numbers are worked out here with numpy alone, from the file's own cells: where the two engines' speeds are apart, where exhaust gas
temperature, oil temperature and fuel pressure pass limits that are put on them, how long the left engine ran and what it burnt.
The log is described in tests/real/ORIGINS.md. Exits with 1 if a number differs.
"""
import csv
import json
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path

import numpy as np

LOG = Path(__file__).parents[1] / "real/logs/engine_monitor_twin_Flt53.csv"
APART, IDLE = 40, 900
LIMITS = [("LE1", "above", 1440), ("LE2", "above", 1500), ("RE3", "above", 1540), ("LOILT", "above", 190), ("LFP", "below", 23), ("RRPM", "below", 2000)]
PANEL = f"""
[[instrument]]
name = "speeds"
kind = "tachometer"
rotor = "LRPM"
engine = "RRPM"
title = "RPM"
place = {{ slot = "left", size = "XL" }}
scale.breakpoints = [[0, -142], [2800, 90]]
scale.ticks = {{ long = 400, short = 200 }}
scale.numerals = [0, 800, 1600, 2400]
[instrument.drive]
apart = {APART}
for = 0
severity = "warning"
source = "made for the check"

# Of this engine 1 rpm counts as 1 percent: only the numbers matter here.
[engine]
speed = "LRPM"
flow = "LFF"
idle = {IDLE}
""" + "".join(f'[[limit]]\nname = "{c}"\nchannel = "{c}"\n{s} = {v}\nseverity = "caution"\nsource = "made for the check"\n' for c, s, v in LIMITS)
FLIGHT = f"""
panel = "panel.toml"
[[log]]
name = "twin"
file = "{LOG}"
date_order = "month-first"
[log.units]
LRPM = "%"
RRPM = "%"
LFF = "US gal/h"
"""


def cells():
    with open(LOG, newline="") as file:
        rows = [row for row in csv.reader(file) if row]
    names = [name.strip() for name in rows[0]]
    rows = [row for row in rows[1:] if len(row) >= len(names) - 1 and row[0].strip().isdigit()]
    def number(cell):
        try:
            return float(cell)
        except ValueError:
            return np.nan
    of = {name: np.array([number(row[i]) if i < len(row) else np.nan for row in rows]) for i, name in enumerate(names)}
    stamps = [datetime.strptime(f"{row[1]} {row[2]}", "%m/%d/%Y %H:%M:%S") for row in rows]
    t = np.array([(stamp - stamps[0]).total_seconds() for stamp in stamps])
    # A row of a second that was there already is no record of its own.
    first = np.concatenate([[True], np.diff(t) > 0])
    return t[first], {name: values[first] for name, values in of.items()}


def runs(beyond):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], beyond.astype(int), [0]])))
    return list(zip(edges[::2], edges[1::2] - 1))


def main():
    program = Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "panel.toml").write_text(PANEL)
        (folder / "flight.toml").write_text(FLIGHT)
        said = subprocess.run([program, "debrief", folder / "flight.toml", "--json"], capture_output=True)
        if said.returncode:
            raise SystemExit(said.stderr.decode())
        document = json.loads(said.stdout)
    t, of = cells()
    wrong = []

    def same(what, found, expected, by):
        print(f"{what}: {found}, here {expected}")
        if found is None or abs(found - expected) > by:
            wrong.append(what)

    for channel, side, value in LIMITS:
        beyond = of[channel] > value if side == "above" else of[channel] < value
        # No two of these lie closer than the records, six seconds apart, so that none is joined.
        expected = runs(beyond)
        found = [e for e in document["exceedances"] if e["limit"] == channel]
        same(f"{channel} {side} {value}, times", len(found), len(expected), 0)
        for e, (a, b) in zip(found, expected):
            peak = of[channel][a:b + 1].max() if side == "above" else of[channel][a:b + 1].min()
            same(f"  from {t[a]:.0f} s", e["from_s"], t[a], 0.01)
            same("  to", e["to_s"], t[b], 0.01)
            same("  peak", e["peak"], peak, 1e-9)
    split = of["LRPM"] - of["RRPM"]
    expected = runs(split > APART)
    found = [e for e in document["events"] if e["kind"] == "freewheeling"]
    same(f"left ahead by more than {APART}, times", len(found), len(expected), 0)
    for e, (a, b) in zip(found, expected):
        same(f"  from {t[a]:.0f} s", e["from_s"], t[a], 0.01)
        same("  furthest", e["facts"][0]["value"], split[a:b + 1].max(), 1e-9)
    figure = {f["name"]: f["value"] for f in document["figures"]["flight"]}
    same("engine running", figure.get("engine running"), np.diff(t)[of["LRPM"][:-1] >= IDLE].sum(), 0.01)
    burnt = (np.diff(t) * (of["LFF"][:-1] + of["LFF"][1:]) / 2).sum() / 3600
    same("fuel used", figure.get("fuel used"), burnt, 1e-6)
    print("wrong:", wrong or "nothing")
    sys.exit(bool(wrong))


main()
