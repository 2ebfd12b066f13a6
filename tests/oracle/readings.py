"""What `jumpseat readings` must say, worked out without jumpseat: the logs read and every formula computed by general libraries.

    target/debug/jumpseat demo /tmp/dunlin --no-film
    python3 -m venv /tmp/oracle && /tmp/oracle/bin/pip install -r tests/oracle/requirements.txt
    /tmp/oracle/bin/python tests/oracle/readings.py /tmp/dunlin

writes `tests/oracle/expected/FLIGHT.csv`, which tests/readings_oracle.rs holds against the program. Sources, and what makes the two ways different:

* the atmosphere is integrated from the hydrostatic equation with the lapse of ICAO Doc 7488; altitudes are found in it by root search, not by
  the closed formula;
* airspeeds by root search on the isentropic relation for pressure (gamma 1.4);
* moist air as the sum of two partial pressures, the vapour's by Bolton (1980), equation 10: not the formula of the program;
* lengths, speeds and tracks over the ground by pyproj's geodesics on WGS 84;
* variation by pygeomag with the coefficients of WMM 2020 and 2025 (NOAA NCEI and BGS);
* units by pint; slopes by numpy.polyfit; clock fits by scipy's least squares.

Only the rules that the README and the docs of `session::derive` state are shared: which records are neighbours, windows, least speeds.
"""
import math, re, sys, tomllib
import xml.etree.ElementTree as xml
from pathlib import Path

import numpy as np, pandas as pd, pint
from pygeomag import GeoMag
from pyproj import Geod
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, least_squares

HERE = Path(__file__).parent
UNITS = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
PINT = {"US gal": "US_liquid_gallon", "US gal/h": "US_liquid_gallon/hour", "inHg": "inch_Hg_32F", "degC": "degC", "°C": "degC", "kt": "knot",
        "hPa": "hectopascal", "ft/min": "foot/minute", "degF": "degF", "m": "meter", "ft": "foot", "L": "liter", "L/h": "liter/hour", "m/s": "m/s"}
ROOT_OF_QUARTZ, BY_HAND_S = 41e-6, 0.05
G, R, RV, GAMMA, P0, T0 = 9.80665, 287.05287, 461.51, 1.4, 1013.25, 288.15
GEOD = Geod(ellps="WGS84")
FT, KT = 0.3048, 1852 / 3600


def unit(value, a, b):
    return UNITS.Quantity(value, PINT.get(a, a)).to(PINT.get(b, b)).magnitude


def stated(text, to):
    number, _, a = text.partition(" ")
    return unit(float(number), a, to)


# -- channels -----------------------------------------------------------------------------------------------------------------

class Channel:
    def __init__(self, times, values, kind="continuous", step=None, rules=None):
        keep = np.isfinite(values)
        self.t, self.v, self.kind = np.asarray(times, float)[keep], np.asarray(values, float)[keep], kind
        steps = np.sort(np.diff(self.t))
        usual = step or (steps[(len(steps) - 1) // 2] if len(steps) else 1.0)
        self.joined, self.held = rules or (1.5 * usual, max(3 * usual, 1.0))

    def of(self, times, values, kind="continuous"):
        """A channel made from this one: with its rules."""
        return Channel(times, values, kind, rules=(self.joined, self.held))

    def at(self, t, fresh=True):
        """The value of a moment; with `fresh` false also one that is held."""
        i = np.searchsorted(self.t, t + 1e-9, side="right") - 1
        if i < 0:
            return None
        age = t - self.t[i]
        if age <= 1e-9:
            return self.v[i]
        if i + 1 < len(self.t) and self.t[i + 1] - self.t[i] <= self.joined:
            if self.kind == "discrete":
                return self.v[i]
            a, b = self.v[i], self.v[i + 1]
            if self.kind == "angle":
                a, b = np.degrees(np.unwrap(np.radians([a, b])))
            v = np.interp(t, self.t[i:i + 2], [a, b])
            return v % 360 if self.kind == "angle" else v
        return None if fresh or age > self.held else self.v[i]

    def to(self, a, b):
        return self.of(self.t, unit(self.v, a, b), self.kind)


def made(formula, first, *others, kind="continuous"):
    """A channel at the records of the first, where all others have a value of that moment."""
    values = []
    for t, v in zip(first.t, first.v):
        row = [v] + [o.at(t) for o in others]
        value = None if None in row else formula(*row)
        values.append(math.nan if value is None else value)
    return first.of(first.t, values, kind)


def windows(c, half):
    """The records about each record, where they surround it and leave no gap."""
    for i, t in enumerate(c.t):
        a, b = np.searchsorted(c.t, t - half - 1e-9), np.searchsorted(c.t, t + half + 1e-9, side="right")
        w = c.t[a:b]
        if len(w) >= 3 and np.diff(w).max() <= c.joined and t - w[0] >= half - c.joined and w[-1] - t >= half - c.joined:
            yield i, t, slice(a, b)


def slope(c, half=1.0):
    half = max(half, c.joined)
    out = np.full(len(c.t), math.nan)
    for i, t, w in windows(c, half):
        v = np.degrees(np.unwrap(np.radians(c.v[w]))) if c.kind == "angle" else c.v[w]
        out[i] = np.polyfit(c.t[w] - t, v, 1)[0]
    return c.of(c.t, out)


def trailing_mean(c, seconds=60.0):
    out = np.full(len(c.t), math.nan)
    whole = 0
    for i, t in enumerate(c.t):
        if i and t - c.t[i - 1] > c.joined:
            whole = i
        a = max(whole, np.searchsorted(c.t, t - seconds - 1e-9))
        if t - c.t[whole] >= seconds - 1e-9:
            out[i] = c.v[a:i + 1].mean()
    return c.of(c.t, out)


# -- air ----------------------------------------------------------------------------------------------------------------------

def lapse(h):
    return T0 - 0.0065 * min(h, 11000.0)


_p = solve_ivp(lambda h, p: -G * p / (R * lapse(h)), (-2000, 11000), [P0 * (lapse(-2000) / T0) ** (G / (R * 0.0065))],
               rtol=1e-12, atol=1e-12, dense_output=True).sol


def pressure(h_m):
    return float(_p(h_m)[0])


def altitude_ft(hpa):
    return brentq(lambda h: pressure(h) - hpa, -1900, 10900, xtol=1e-9) / FT


def density_altitude(ft, c, dew=None):
    p, t = 100 * pressure(ft * FT), c + 273.15
    e = 0 if dew is None else 100 * 6.112 * math.exp(17.67 * dew / (dew + 243.5))
    rho = (p - e) / (R * t) + e / (RV * t)
    return brentq(lambda h: 100 * pressure(h) / (R * lapse(h)) - rho, -1900, 10900, xtol=1e-9) / FT


def impact(mach, p):
    return p * ((1 + 0.2 * mach * mach) ** 3.5 - 1)


A0 = math.sqrt(GAMMA * R * T0)


def calibrated(hpa):
    return None if hpa < 0 else brentq(lambda m: impact(m, P0) - hpa, 0, 1, xtol=1e-14) * A0 / KT


def airspeeds(cas, ft, c):
    """Mach, equivalent and true airspeed in knots."""
    p, t = pressure(ft * FT), c + 273.15
    m = brentq(lambda m: impact(m, p) - impact(cas * KT / A0, P0), 0, 1, xtol=1e-14)
    true = m * math.sqrt(GAMMA * R * t)
    return m, true * math.sqrt(100 * p / (R * t) / 1.225) / KT, true / KT


def air_data(out, basis, m):
    """`m`: what was recorded, by meaning, each in the unit that its formula wants."""
    settings = sorted((s.get("from", 0), stated(s["setting"], "hPa")) for s in basis.get("altimeter_setting", []))

    def setting(t):
        past = [hpa for start, hpa in settings if start <= t]
        return past[-1] if past else None

    pa = m.get("pressure_altitude")
    if pa is None and "static" in m:
        pa = out["Pressure Altitude [ft]"] = made(altitude_ft, m["static"])
    elif pa is None and "indicated" in m:
        i = m["indicated"]
        pa = i.of(i.t, [math.nan if setting(t) is None else v + altitude_ft(setting(t)) for t, v in zip(i.t, i.v)])
        out["Pressure Altitude [ft]"] = pa
    if pa is None:
        return
    if "indicated" not in m and settings:
        values = [math.nan if setting(t) is None else v - altitude_ft(setting(t)) for t, v in zip(pa.t, pa.v)]
        out["Indicated Altitude [ft]"] = pa.of(pa.t, values)
    if "oat" in m and "dew" in m:
        out["Density Altitude [ft]"] = made(density_altitude, pa, m["oat"], m["dew"])
    elif "oat" in m:
        out["Density Altitude [ft]"] = made(density_altitude, pa, m["oat"])
    elif "oat" in basis and "field_elevation" in basis:
        oat, field = stated(basis["oat"], "degC"), stated(basis["field_elevation"], "ft")
        values = []
        for t, ft in zip(pa.t, pa.v):
            above = ft - (altitude_ft(setting(t)) if setting(t) else 0) - field
            values.append(density_altitude(ft, oat - 0.0065 * FT * above))
        out["Density Altitude [ft]"] = pa.of(pa.t, values)
    least = max(20.0, stated(basis.get("airspeed_from", "20 kt"), "kt"))
    speed = m.get("ias")
    if "impact" in m:
        speed = out["Calibrated Airspeed [kt]"] = made(calibrated, m["impact"])
    elif "ias" in m and "position_error" in basis:
        x, y = zip(*basis["position_error"])
        table = lambda kt: np.interp(kt, x, y) if x[0] <= kt <= x[-1] and kt >= least else None
        speed = out["Calibrated Airspeed [kt]"] = made(table, m["ias"])
    if speed is not None and "oat" in m and "tas" not in m:
        for i, name in enumerate(["Mach", "Equivalent Airspeed [kt]", "True Airspeed [kt]"]):
            out[name] = made(lambda kt, ft, c: airspeeds(kt, ft, c)[i] if kt >= least else None, speed, pa, m["oat"])
    if "vs" not in m:
        s = slope(pa)
        warm = lambda t, ft: 1 if "oat" not in m else None if m["oat"].at(t) is None else (m["oat"].at(t) + 273.15) / lapse(ft * FT)
        rows = [(t, ft, warm(t, ft)) for t, ft in zip(pa.t, pa.v)]
        by_time = dict(zip(s.t, s.v))
        out["Vertical Speed [ft/min]"] = pa.of(pa.t, [math.nan if t not in by_time or w is None else 60 * by_time[t] * w for t, _, w in rows])


# -- motion -------------------------------------------------------------------------------------------------------------------

def over_the_ground(m):
    lat, lon = m["lat"], m["lon"]
    north, east = slope(lat), slope(Channel(lon.t, lon.v, "angle", rules=(lon.joined, lon.held)))
    at = dict(zip(lat.t, lat.v))
    easts = dict(zip(east.t, east.v))
    rows = []
    for t, dn in zip(north.t, north.v):
        if t not in easts:
            continue
        d = 1e-4
        a = GEOD.inv(0, at[t] - d, 0, at[t] + d)[2] / (2 * d)
        b = GEOD.inv(-d, at[t], d, at[t])[2] / (2 * d)
        n, e = dn * a / KT, easts[t] * b / KT
        rows.append((t, math.hypot(n, e), math.degrees(math.atan2(e, n)) % 360))
    t, v, track = (np.array(x) for x in zip(*rows)) if rows else (np.array([]),) * 3
    return lat.of(t, v), lat.of(t, np.where(v >= 5, track, math.nan), "angle")


def variation(out, m, start, field_m):
    lat, lon = m["lat"], m["lon"]
    height = m.get("gnss_m") or m.get("pressure_altitude_m")
    if start is None:
        return None
    times, values = [], []
    for t, v in zip(lat.t, lat.v):
        day = (start + pd.to_timedelta(t, "s"))
        if times and t - times[-1] < 1 or lon.at(t) is None or not 2020 <= day.year < 2030:
            continue
        h = height.at(t) if height and height.at(t) is not None else field_m
        model = WMM[2020 if day.year < 2025 else 2025]
        days = 366 if day.is_leap_year else 365
        times.append(t)
        values.append(model.calculate(v, lon.at(t), h / 1000, day.year + (day.day_of_year - 1) / days).d)
    if not times:
        return None
    step = 1.0 + lat.joined / 1.5
    out["Variation [deg]"] = Channel(times, values, step=step)
    return out["Variation [deg]"]


WMM = {2020: GeoMag(coefficients_file="wmm/WMM_2020.COF"), 2025: GeoMag(coefficients_file="wmm/WMM_2025.COF")}


def motion(out, basis, m, start):
    ground, track = m.get("gs"), m.get("track")
    if "lat" in m:
        made_ground, made_track = over_the_ground(m)
        if ground is None and len(made_ground.t):
            ground = out["Ground Speed [kt]"] = made_ground
        if track is None and len(made_track.t):
            track = out["Track [deg]"] = made_track
    direction = next((m[k] for k in ("hdg_m", "hdg_t", "hdg") if k in m), track)
    tas = m.get("tas") or out.get("True Airspeed [kt]")
    if direction is not None:
        rate = slope(direction)
        out["Turn Rate [deg/s]"] = rate
        if tas is not None:
            bank = made(lambda r, v: math.degrees(math.atan(v * KT * math.radians(r) / G)) if v >= 30 else None, rate, tas)
            out["Bank in a Coordinated Turn [deg]"] = bank
            out["Load Factor in a Coordinated Turn [g]"] = made(lambda b: 1 / math.cos(math.radians(b)), bank)
    heading = m.get("hdg_t")
    if "lat" in m:
        field = stated(basis.get("field_elevation", "0 ft"), "m")
        v = variation(out, m, start, field)
        if v is not None:
            if "hdg_m" in m and heading is None:
                heading = out["Heading True [deg]"] = made(lambda h, v: (h + v) % 360, m["hdg_m"], v, kind="angle")
            true_track = out.get("Track [deg]") or m.get("track_true")
            if true_track is not None:
                out["Track Magnetic [deg]"] = made(lambda h, v: (h - v) % 360, true_track, v, kind="angle")
    if "acc" in m:
        out["Total Acceleration [g]"] = made(lambda x, y, z: float(np.linalg.norm([x, y, z])) / G, *m["acc"])
    if heading is not None and tas is not None and track is not None and ground is not None:
        wind(out, heading, tas, track, ground)


def wind(out, heading, tas, track, ground):
    """Complex numbers: north is real, east imaginary."""
    rate = slope(heading)
    along = lambda deg, v: v * np.exp(1j * math.radians(deg))
    hdg = dict(zip(heading.t, heading.v))
    singles = []
    for t, r in zip(rate.t, rate.v):
        v, trk, gs = tas.at(t), track.at(t), ground.at(t)
        if None in (v, trk, gs) or v < 40 or abs(math.degrees(math.atan(v * KT * math.radians(r) / G))) >= 5:
            continue
        singles.append((t, along(hdg[t], v) - along(trk, gs)))
    if not singles:
        return
    t, w = np.array([s[0] for s in singles]), np.array([s[1] for s in singles])
    rows = []
    for x in t:
        pick = (t >= x - 10) & (t <= x + 10)
        if pick.sum() >= 3 and np.ptp(t[pick]) >= 20 - 2 * heading.joined:
            mean = w[pick].mean()
            # The mean of the variances of the two parts.
            sigma = math.sqrt((np.var(w[pick].real, ddof=1) + np.var(w[pick].imag, ddof=1)) / 2)
            rows.append((x, math.degrees(np.angle(mean)) % 360, abs(mean), sigma))
    if rows:
        x, a, v, s = zip(*rows)
        out["Wind From True [deg]"] = heading.of(x, a, "angle")
        out["Wind Speed [kt]"], out["Wind Sigma [kt]"] = heading.of(x, v), heading.of(x, s)


# -- power --------------------------------------------------------------------------------------------------------------------

def worked(c, least):
    on = c.v >= least
    total, out = 0.0, [0.0]
    for i in range(1, len(c.t)):
        step = c.t[i] - c.t[i - 1]
        total += step * (int(on[i]) + int(on[i - 1])) / 2 if step <= c.joined else 0
        out.append(total / 60)
    return c.of(c.t, out)


def power(out, basis, m):
    for name, which in (("Rotor", "rotor"), ("Engine", "engine")):
        full = basis.get(f"{which}_rpm_at_100")
        percent, rpm = m.get(which + "_percent"), m.get(which + "_rpm")
        if full and percent is None and rpm is not None:
            percent = out[name + " Percent [%]"] = made(lambda v: v / full * 100, rpm)
        elif full and rpm is None and percent is not None:
            out[name + " Revolutions [rpm]"] = made(lambda v: v * full / 100, percent)
        if percent is not None:
            out[name + " Time [min]"] = worked(percent, 2.0)
            m[which + "_percent"] = percent
    if "rotor_percent" in m and "engine_percent" in m:
        out["Needle Split [%]"] = made(lambda r, e: r - e, m["rotor_percent"], m["engine_percent"])
    if "volts" in m:
        v = m["volts"].v
        usual = np.sort(v[v >= 0.1 * v.max()])
        out["Electrical Time [min]"] = worked(m["volts"], 0.5 * usual[len(usual) // 2])
    flow, gauge = m.get("flow"), m.get("fuel")
    if flow is None:
        return
    steps = np.diff(flow.t)
    parts = np.where(steps <= flow.joined, (flow.v[1:] + flow.v[:-1]) / 2 * steps / 3600, 0)
    used = out["Fuel Used [L]"] = flow.of(flow.t, np.concatenate([[0], np.cumsum(parts)]))
    left = None
    if "fuel_at_start" in basis:
        left = out["Fuel Left by Flow [L]"] = flow.of(used.t, stated(basis["fuel_at_start"], "L") - used.v)
    mean_gauge = trailing_mean(gauge) if gauge is not None else None
    if mean_gauge is not None and len(mean_gauge.t):
        out["Fuel Used by Gauge [L]"] = mean_gauge.of(mean_gauge.t, mean_gauge.v[0] - mean_gauge.v)
    if "flow_in_flight" not in basis:
        return
    least, reserve = stated(basis["flow_in_flight"], "L/h"), stated(basis.get("fuel_reserve", "0 L"), "L")
    mean_flow = trailing_mean(flow)
    ground = trailing_mean(m["gs"]) if m.get("gs") is not None else None

    def last(c, t):
        """The mean up to the last record, if that is of this moment."""
        i = np.searchsorted(c.t, t + 1e-9, side="right") - 1
        return c.v[i] if i >= 0 and t - c.t[i] <= c.joined else None

    for by, litres in (("Flow", lambda t, f: left.at(t) if left is not None else None),
                       ("Gauge", lambda t, f: None if mean_gauge is None or last(mean_gauge, t) is None else last(mean_gauge, t) - f / 120)):
        times, minutes, miles = [], [], []
        for t, f in zip(mean_flow.t, mean_flow.v):
            l = litres(t, f)
            if f < least or l is None:
                continue
            hours = max(l - reserve, 0) / f
            kt = last(ground, t) if ground is not None else None
            times.append(t)
            minutes.append(hours * 60)
            miles.append(hours * kt if kt is not None and kt >= 20 else math.nan)
        if times:
            out[f"Endurance by {by} [min]"] = flow.of(times, minutes)
            if np.isfinite(miles).any():
                out[f"Range by {by} [nmi]"] = flow.of(times, miles)


# -- logs ---------------------------------------------------------------------------------------------------------------------

MEANS = {"IAS": ("ias", "kt"), "Pressure Altitude": ("pressure_altitude", "ft"), "Indicated Altitude": ("indicated", "ft"),
         "Static Pressure": ("static", "hPa"), "Impact Pressure": ("impact", "hPa"), "OAT": ("oat", "degC"), "Dew Point": ("dew", "degC"),
         "Heading": ("hdg", "deg"), "Heading Magnetic": ("hdg_m", "deg"), "Heading True": ("hdg_t", "deg"), "TAS": ("tas", "kt"),
         "Ground Speed": ("gs", "kt"), "Track": ("track", "deg"), "Vertical Speed": ("vs", "ft/min"), "Fuel Flow": ("flow", "L/h"), "Fuel": ("fuel", "L"),
         "Volts": ("volts", "V"), "Latitude": ("lat", "deg"), "Longitude": ("lon", "deg"), "FF": ("flow", "L/h"), "BAT": ("volts", "V"),
         "GNSS Altitude MSL": ("gnss_m", "m"), "GNSS Altitude Ellipsoid": ("gnss_m", "m"), "Track True": ("track", "deg")}


def meanings(channels):
    """From `(name, unit) -> channel` to what formulae ask for."""
    m = {}
    for (name, u), c in channels.items():
        if name in MEANS and u:
            key, wanted = MEANS[name]
            m[key] = c if u == wanted or wanted == "deg" else c.to(u, wanted)
        if name in ("Rotor", "Engine", "RPM"):
            m[("engine" if name == "RPM" else name.lower()) + ("_percent" if u == "%" else "_rpm")] = c
    axes = [channels.get((f"Accel {a}", "m/s2")) for a in "XYZ"]
    if all(axes):
        m["acc"] = axes
    if "track" in m:
        m["track_true"] = m["track"] if ("Track True", "deg") in channels else None
    if "pressure_altitude" in m:
        m["pressure_altitude_m"] = m["pressure_altitude"].to("ft", "m")
    return {k: v for k, v in m.items() if v is not None}


def table(path, clock, skip=(), units=None):
    """A table's columns; names and units from the header or the row after it. `clock`: the rows' times."""
    rows = pd.read_csv(path, skiprows=list(skip), dtype=str, keep_default_na=False, header=None)
    head = [h.strip() for h in rows.iloc[0]]
    body = rows.iloc[1:]
    given = [""] * len(head)
    if (body.iloc[0, 1:6] != "").all() and not re.match(r"^\s*-?\d", body.iloc[0, 0]):
        given, body = list(body.iloc[0]), body.iloc[1:]
    times, start = clock(dict(zip(head, (body[i] for i in range(len(head))))))
    channels = {}
    for i, h in enumerate(head):
        if h == "time_ms":
            continue
        named = re.fullmatch(r"(.*?)\s*\((.*)\)", h)
        name, u = (named[1], named[2]) if named else (h, given[i] or (units or {}).get(h, ""))
        values = pd.to_numeric(body[i].str.strip(), errors="coerce").to_numpy(float)
        if np.isfinite(values).sum() == 0:
            continue
        kind = "angle" if re.match(r"(Heading|Track)", name) else "discrete" if re.match(r"Lamp|Clutch", name) else "continuous"
        channels[(name, u)] = Channel(times, values, kind)
    return channels, start


def utc_clock(columns):
    stamps = pd.to_datetime(columns["utc"], utc=True)
    return (stamps - stamps.iloc[0]).dt.total_seconds().to_numpy(), stamps.iloc[0]


def ms_clock(columns):
    ms = columns["time_ms"].astype(float).to_numpy()
    return (ms - ms[0]) / 1000, None


def local_clock(columns):
    stamps = pd.to_datetime(columns["DATE"] + " " + columns["TIME"], format="%m/%d/%Y %H:%M:%S")
    return (stamps - stamps.iloc[0]).dt.total_seconds().to_numpy(), None


def igc(path):
    day, rows = None, []
    extra = []
    for line in path.read_text(encoding="latin-1").splitlines():
        if found := re.match(r"HFDTE(?:DATE:)?\s*(\d\d)(\d\d)(\d\d)", line):
            day = pd.Timestamp(2000 + int(found[3]), int(found[2]), int(found[1]), tz="UTC")
        if line.startswith("I"):
            extra = [(int(a), int(b), c) for a, b, c in re.findall(r"(\d\d)(\d\d)([A-Z]{3})", line[3:])]
        f = re.match(r"B(\d\d)(\d\d)(\d\d)(\d\d)(\d{5})([NS])(\d{3})(\d{5})([EW])A(-?\d{4,5})(\d{5})", line)
        if f and re.fullmatch(r"[-0-9 ]*", line[35:].strip()):
            t = int(f[1]) * 3600 + int(f[2]) * 60 + int(f[3])
            lat = (int(f[4]) + int(f[5]) / 60000) * (-1 if f[6] == "S" else 1)
            lon = (int(f[7]) + int(f[8]) / 60000) * (-1 if f[9] == "W" else 1)
            if not rows or t > rows[-1][0]:
                rows.append((t, lat, lon, int(f[10]), int(f[11])))
    t, lat, lon, pressure, gnss = (np.array(x, float) for x in zip(*rows))
    start = day + pd.to_timedelta(t[0], "s")
    t -= t[0]
    return {("Latitude", "deg"): Channel(t, lat), ("Longitude", "deg"): Channel(t, lon),
            ("Pressure Altitude 1013 hPa", "m"): Channel(t, pressure), ("GNSS Altitude Ellipsoid", "m"): Channel(t, gnss)}, start


def nmea(path):
    """Fixes of RMC and GGA with a sound checksum; the date from RMC, which in these logs follows its GGA of the same second."""
    found = {}
    sentences = re.findall(r"\$([^*$\r\n]*)\*([0-9A-Fa-f]{2})", path.read_text(encoding="latin-1"))
    for body, given in sentences:
        check = 0
        for byte in body.encode("latin-1"):
            check ^= byte
        f = body.split(",")
        if check != int(given, 16) or f[0][2:] not in ("RMC", "GGA") or not f[1]:
            continue
        seconds = int(f[1][:2]) * 3600 + int(f[1][2:4]) * 60 + float(f[1][4:])
        row = found.setdefault(seconds, {})
        number = lambda text: float(text) if text else math.nan
        i = 3 if f[0].endswith("RMC") else 2
        degrees = lambda text, n, letter: (int(text[:n]) + float(text[n:]) / 60) * (-1 if letter in "SW" else 1)
        row["Latitude", "deg"], row["Longitude", "deg"] = degrees(f[i], 2, f[i + 1]), degrees(f[i + 2], 3, f[i + 3])
        if i == 3:
            row["Ground Speed", "kt"], row["Track True", "deg"], row["date"] = number(f[7]), number(f[8]), f[9]
        else:
            row["GNSS Altitude MSL", "m"], row["HDOP", ""] = number(f[9]), number(f[8])
    seconds = sorted(found)
    d = next(r["date"] for r in found.values() if "date" in r)
    start = pd.Timestamp(2000 + int(d[4:]), int(d[2:4]), int(d[:2]), tz="UTC") + pd.to_timedelta(seconds[0], "s")
    t = np.array(seconds) - seconds[0]
    keys = [k for k in dict.fromkeys(k for r in found.values() for k in r) if k != "date"]
    kind = lambda name: "angle" if name.startswith("Track") else "continuous"
    return {k: Channel(t, [found[s].get(k, math.nan) for s in seconds], kind(k[0])) for k in keys}, start


def gpx(path):
    space = "{*}"
    rows = []
    for p in xml.parse(path).getroot().iter():
        if p.tag.endswith("}trkpt") and (time := p.find(space + "time")) is not None:
            rows.append((pd.Timestamp(time.text), float(p.get("lat")), float(p.get("lon")), float(p.find(space + "ele").text)))
    rows = [r for i, r in enumerate(rows) if i == 0 or r[0] > rows[i - 1][0]]
    t = np.array([(r[0] - rows[0][0]).total_seconds() for r in rows])
    column = lambda i: Channel(t, [r[i] for r in rows])
    return {("Latitude", "deg"): column(1), ("Longitude", "deg"): column(2), ("Elevation", "m"): column(3)}, rows[0][0]


# -- flights ------------------------------------------------------------------------------------------------------------------

def shifted(channels, a, b):
    """On another clock, a straight line away: `own = a + b session`."""
    return {k: Channel((c.t - a) / b, c.v, c.kind, rules=(c.joined, c.held)) for k, c in channels.items()}


def by_marks(pairs):
    x, y = (np.array(v) for v in zip(*pairs))
    fit = least_squares(lambda p: np.concatenate([(p[0] + p[1] * x - y) / BY_HAND_S, [(p[1] - 1) / ROOT_OF_QUARTZ]]), [y[0] - x[0], 1.0], xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=[1, 1e-4])
    return fit.x


def write(name, every, basis, logs, start, formulas=(), without=()):
    """The table of a flight: every channel at the moments that `readings --every` writes."""
    measured, m = {}, {}
    for log, channels in logs.items():
        m |= meanings(channels)
        measured |= {f"{log}.{n}" + (f" [{ {'degC': '°C', 'degF': '°F'}.get(u, u)}]" if u else ""): c for (n, u), c in channels.items()}
    out = {}
    air_data(out, basis, m)
    m["gs"] = m.get("gs")
    motion(out, basis, m, start)
    m["gs"] = m["gs"] or out.get("Ground Speed [kt]")
    power(out, basis, {k: v for k, v in m.items() if v is not None})
    for name_of, formula in formulas:
        out[name_of] = formula(m, out, logs)
    channels = measured | {"calc." + n: c for n, c in out.items() if len(c.t) and n not in without}
    ends = [c for group in logs.values() for c in group.values()]
    first, last = min(c.t[0] for c in ends), max(c.t[-1] for c in ends)
    moments = [round(n * every, 9) for n in range(math.ceil(first / every), math.floor(last / every) + 1)]
    digits = lambda column: 7 if re.search("tude .deg", column) else 5
    table = {"session_s": [f"{t:.6f}" for t in moments]}
    for column, c in channels.items():
        at = [c.at(t, fresh=False) for t in moments]
        table[column] = ["" if v is None else f"{v:.{digits(column)}f}" for v in at]
    pd.DataFrame(table).to_csv(HERE / "expected" / f"{name}.csv", index=False)
    print(name, len(moments), "moments,", len(channels), "channels")


def flight(file):
    data = tomllib.loads(Path(file).read_text())
    basis = data.get("conditions", {})
    return data, basis


def main(demo):
    (HERE / "expected").mkdir(exist_ok=True)
    data, basis = flight(demo / "flight.toml")
    air, start = table(demo / "air.csv", utc_clock)
    engine, _ = table(demo / "engine.csv", ms_clock)
    a, b = by_marks([(mark["air"], mark["engine"]) for mark in data["clock"]["mark"]])
    red = ("EGT to Red Line [K]", lambda m, out, logs: made(lambda egt: 720 - egt, logs["engine"]["EGT", "degC"]))
    write("demo", 0.83, basis, {"air": air, "engine": shifted(engine, a, b)}, start, [red])

    for name in ("pressures", "pilots_dials"):
        _, basis = flight(HERE / f"{name}.toml")
        log, start = table(HERE / f"{name}.csv", utc_clock)
        write(name, 2.3, basis, {"log": log}, start)

    real = HERE.parent / "real/logs"
    data, basis = flight(HERE / "engine_single.toml")
    log, _ = table(real / "engine_monitor_single_Flt186.csv", local_clock, skip=[1], units=data["log"][0]["units"])
    log = {k: c for k, c in log.items() if k[0] in ("FF", "RPM", "BAT", "OILT", "E1", "OAT")}
    write("engine_single", 37.7, basis, {"log": log}, None)
    for name, reader, file, every in (("igc", igc, "igc/olsztyn.igc", 211.3), ("nmea", nmea, "nmea/nmea-fuzzy-cases.log", 0.5), ("gpx", gpx, "gpx/korita-zbevnica.gpx", 101.9)):
        log, start = reader(real / file)
        # A second before and after is, in the receiver's log, just where a window begins: the last place of a float decides.
        write(name, every, {}, {"log": log}, start, without={"Turn Rate [deg/s]"} if name == "nmea" else ())


if __name__ == "__main__":
    main(Path(sys.argv[1]))
