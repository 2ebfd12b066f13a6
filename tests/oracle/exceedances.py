"""Holds `jumpseat debrief` against the truth of invented flights: python3 tests/oracle/exceedances.py JUMPSEAT [FIRST LAST]

For each seed a flight is invented, and limits at random values are put on its channels. Where the truth, which no logger knows,
lies beyond a limit is read from truth.csv, at a hundred rows a second, by this script alone. Then:
- every spell that is beyond the limit by the hysteresis and by three times the record's rounding, for twice the minimum time, must be found;
- it must start at the first crossing and end at the last record beyond, within one record and the clocks' error;
- nothing may be found where the truth never was beyond.
Near misses are not scored. Prints the counts; exits with 1 if one does not hold.
"""
import csv
import json
import random
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path

import numpy as np

CLOCK_S = 0.06
# What the logs round to, and their records' distance.
COLUMNS = {
    "engine.Rotor [%]": (0.1, 0.1), "engine.Engine [%]": (0.1, 0.1), "engine.Fuel Flow [US gal/h]": (0.1, 0.1), "engine.Oil P [psi]": (1, 0.1),
    "engine.Oil T [°C]": (1, 0.1), "engine.Gearbox T [°C]": (1, 0.1), "engine.EGT [°C]": (1, 0.1), "engine.Volts [V]": (0.1, 0.1),
    "air.IAS [kt]": (0.1, 0.2), "air.Vertical Speed [ft/min]": (10, 0.2), "air.Altitude [ft]": (1, 0.2),
}


def truth(folder):
    with open(folder / "truth.csv") as file:
        rows = csv.reader(file)
        names = next(rows)
        values = np.array([[float(cell) for cell in row] for row in rows])
    return {name: values[:, i] for i, name in enumerate(names)}


def recorded(folder, of, log):
    """The rows of the truth between a log's first and last record."""
    lines = (folder / f"{log}.csv").read_text().splitlines()
    if log == "engine":
        first, last = (int(line.split(",")[0]) / 1000 for line in (lines[2], lines[-1]))
        return (of["engine_s"] >= 0) & (of["engine_s"] <= last - first)
    stamp = lambda line: datetime.fromisoformat(line.split(",")[0].replace("Z", "+00:00")).timestamp()
    return (of["air_s"] >= 0) & (of["air_s"] <= stamp(lines[-1]) - stamp(lines[1]))


def spells(t, beyond):
    """From and to of every run of rows that are beyond."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], beyond.astype(int), [0]])))
    return [(t[a], t[b - 1]) for a, b in zip(edges[::2], edges[1::2])]


def limits(of, rng, pace):
    """Random limits inside what each channel does."""
    made = []
    for column, (step, every) in COLUMNS.items():
        if column not in of:
            raise SystemExit(f"truth.csv has no column {column}: {list(of)}")
        low, high = np.percentile(of[column], [2, 98])
        # One side of each: between two the program would rightly say that they contradict each other.
        side = rng.choice(["above", "below"])
        for _ in range(2):
            value = round(rng.uniform(low, high) / step) * step + step / 2
            wait = round(rng.choice([0, 0.3, 1, 3]) * pace, 2)
            made.append((f"{side} {len(made)}", column, side, round(value, 4), wait, round(rng.choice([0, 2, 5]) * step, 4), step, every))
    return made


def one(program, seed):
    rng = random.Random(seed)
    seconds = rng.choice([90, 150, 240, 400, 600])
    pace = min(seconds / 600, 1)
    wrong, counts = [], [0, 0]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "flight"
        subprocess.run([program, "--quiet", "demo", folder, "--no-film", "--seed", str(seed), "--seconds", str(seconds)], check=True)
        of = truth(folder)
        panel = (folder / "panel.toml").read_text()
        head, rest = panel[:panel.index("[[limit]]")], panel[panel.index("[banner]"):]
        made = limits(of, rng, pace)
        text = "".join(
            f'[[limit]]\nname = "{n}"\nchannel = "{c.split(" [")[0]}"\n{s} = {v}\nfor = {w}\nclear_by = {h}\nseverity = "advisory"\nsource = "random"\n\n'
            for n, c, s, v, w, h, _, _ in made)
        (folder / "panel.toml").write_text(head + text + rest)
        said = subprocess.run([program, "--quiet", "debrief", folder / "flight.toml", "--json"], check=True, capture_output=True)
        document = json.loads(said.stdout)
        unjudged = [(u["limit"], u["from_s"], u["to_s"]) for u in document["not_judged"]]
        for n, column, side, value, wait, hysteresis, step, every in made:
            sign = 1 if side == "above" else -1
            there = recorded(folder, of, column.split(".")[0])
            t, over = of["air_s"][there], sign * (of[column][there] - value)
            found = [e for e in document["exceedances"] if e["limit"] == n]
            gaps = [(a, b) for limit, a, b in unjudged if limit == n]
            by = every + CLOCK_S
            near = lambda a, b: any(f < b + 3 and a - 3 < to for f, to in gaps)
            for a, b in spells(t, over > hysteresis + 3 * step):
                if b - a < 2 * wait + 2 * every + 0.1 or near(a, b):
                    continue
                counts[0] += 1
                hit = [e for e in found if e["from_s"] <= a + by and e["to_s"] >= b - by]
                if not hit:
                    wrong.append(f"seed {seed}: {n} {column} {value}: beyond from {a:.2f} to {b:.2f}, found {[(e['from_s'], e['to_s']) for e in found]}")
            for e in found:
                counts[1] += 1
                a, b = e["from_s"], e["to_s"]
                within = (t >= a - by) & (t <= b + by)
                if not (over[within] > -step).any():
                    wrong.append(f"seed {seed}: {n} {column} {value}: nothing was beyond from {a:.2f} to {b:.2f}")
                    continue
                # Just before the start and just after the end the truth is not beyond, unless the data end or are missing there.
                for moment, outside in ((a, (t >= a - by) & (t <= a)), (b, (t >= b) & (t <= b + by))):
                    edge = moment < t[0] + by + 0.3 or moment > t[-1] - by - 0.3
                    if not edge and not e["at_least"] and not (over[outside] < step).any():
                        wrong.append(f"seed {seed}: {n} {column} {value}: at {moment:.2f} the truth is beyond by {over[outside].min():.2f} already or still")
                peak = over[within].max()
                if abs(sign * (e["peak"] - value) - peak) > step + abs(np.diff(over)).max() * (every + CLOCK_S) / 0.01:
                    wrong.append(f"seed {seed}: {n} {column}: peak {e['peak']}, the truth {value + sign * peak:.2f}")
    return wrong, counts


def main():
    program = Path(sys.argv[1]).resolve()
    first, last = (int(sys.argv[2]), int(sys.argv[3])) if len(sys.argv) > 3 else (1, 100)
    wrong, injected, found = [], 0, 0
    for seed in range(first, last + 1):
        faults, (a, b) = one(program, seed)
        wrong += faults
        injected, found = injected + a, found + b
    print(f"seeds {first} to {last}: {injected} spells beyond a limit, {found} exceedances found, {len(wrong)} wrong")
    print("\n".join(wrong[:20]))
    sys.exit(bool(wrong))


main()
