"""Writes the two invented logs beside it: python3 tests/oracle/flights.py. The Dunlin flies straight, in a circle and straight again, in a wind.

`pressures.csv` is a logger that feels pressures; `pilots_dials.csv` one that copies what the dials show. Both lack some rows.
"""
from pathlib import Path

import numpy as np
from pyproj import Geod

HERE = Path(__file__).parent
GEOD = Geod(ellps="WGS84")
rng = np.random.default_rng(6)
t = np.arange(0, 300, 0.5)
turning = np.clip(t - 100, 0, 70)
heading = (70 + 3 * turning) % 360
tas = 85 + 6 * np.sin(t / 40) - 80 * np.exp(-t / 9)
wind = 14 * np.exp(1j * np.radians(310 + 180))
over = tas * np.exp(1j * np.radians(heading)) + wind
lat, lon = [51.9], [-2.1]
for step in over[:-1]:
    east, north, _ = GEOD.fwd(lon[-1], lat[-1], np.degrees(np.angle(step)), abs(step) * 1852 / 3600 * 0.5)
    lat.append(north), lon.append(east)
feet = 1200 + 900 * (1 - np.cos(t / 55))
hpa = 1013.25 * (1 - 0.0065 * feet * 0.3048 / 288.15) ** 5.25588
impact = 6.1258 * (tas / 1.02 * 1852 / 3600) ** 2 / 1000
noise = lambda sigma: rng.normal(0, sigma, len(t))
rotor = 500 * np.clip(t / 12, 0, 1) + noise(0.8)
engine = 6000 * np.clip(t / 8, 0, 1) + noise(8)
flow = np.where(t < 30, 4.4, 11 + np.sin(t / 30)) + noise(0.05)
fuel = 14 - np.cumsum(flow) * 0.5 / 3600 + 0.1 * np.sin(t / 2.3)
volts = np.where(t < 4, 0.5, 27.9) + noise(0.05)
acc = (0.3 * np.sin(t / 3), 0.2 + noise(0.02), 9.81 + noise(0.1))
oat = 13.5 - 0.00198 * feet


def stamp(s):
    return f"2026-05-17T09:{int(s // 60) + 10:02}:{s % 60:04.1f}Z"


def write(name, columns, missing):
    with open(HERE / f"{name}.csv", "w") as out:
        print("utc", *columns, sep=",", file=out)
        for i, s in enumerate(t):
            if not missing(s):
                print(stamp(s), *(f"{v[i]:.{d}f}" for v, d in columns.values()), sep=",", file=out)


write("pressures", {
    "Static Pressure (hPa)": (hpa + noise(0.02), 2), "Impact Pressure (hPa)": (impact, 3), "OAT (degC)": (oat, 1),
    "Dew Point (degC)": (oat - 4, 1), "Heading Magnetic (deg)": ((heading + 0.9) % 360, 1), "Latitude (deg)": (lat, 7), "Longitude (deg)": (lon, 7),
    "Rotor (rpm)": (rotor, 1), "Engine (rpm)": (engine, 0), "Fuel Flow (US gal/h)": (flow, 2), "Fuel (US gal)": (fuel, 2), "Volts (V)": (volts, 1),
    "Accel X (m/s2)": (acc[0], 2), "Accel Y (m/s2)": (acc[1], 2), "Accel Z (m/s2)": (acc[2], 2),
}, lambda s: 210 <= s < 221)
write("pilots_dials", {
    "Indicated Altitude (ft)": (np.round((feet + 240) / 10) * 10, 0), "IAS (kt)": (tas * 0.97, 1), "Heading (deg)": (heading, 0), "Ground Speed (kt)": (abs(over), 1),
    "Rotor (%)": (rotor / 5, 1), "Engine (%)": (engine / 60, 1), "Fuel Flow (US gal/h)": (flow, 1), "Fuel (US gal)": (fuel, 1),
}, lambda s: 130 <= s < 131.5 or 180 <= s < 205)
