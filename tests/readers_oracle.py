"""An independent look at the real NMEA, GPX and IGC files, in plain Python: counts, first and last values.

Run from the project's folder: python3 tests/readers_oracle.py > tests/readers_oracle.txt
It decides nothing about clocks; it counts records that keep to their layout and gives what they say.
"""
import glob, re
import xml.etree.ElementTree as xml
from functools import reduce

READ = {"RMC", "GGA", "VTG", "GLL", "GSA", "ZDA", "HDG", "HDT", "HDM", "VHW", "MWV"}


def degrees(text, letter, n):
    if not text:
        return None
    value = int(text[:n]) + float(text[n:]) / 60
    return -value if letter in "SW" else value


for name in sorted(glob.glob("tests/real/logs/nmea/*")):
    good = bad = other = no_sum = noise = comments = 0
    places = []
    for line in open(name, "rb").read().split(b"\n"):
        line = line.strip().decode("latin-1")
        if line.startswith("#"):
            comments += 1
            continue
        for piece in (p.strip() for p in re.split(r"(?=[$!])", line)):
            if not piece:
                continue
            if not re.match(r"[$!][A-Za-z0-9]{3,10}(,|\*|$)", piece):
                noise += 1
                continue
            body, star, given = piece[1:].partition("*")
            kind = body.split(",")[0]
            kind = kind if kind.startswith("P") else kind[-3:]
            if star and (not re.fullmatch("[0-9A-Fa-f]{2}", given) or int(given, 16) != reduce(lambda a, c: a ^ ord(c), body, 0)):
                bad += 1
            elif kind not in READ:
                other += 1
            elif not star:
                no_sum += 1
            else:
                good += 1
                f = body.split(",")
                if kind == "RMC" and f[2] == "A" and re.fullmatch(r"\d{6}", f[9]):
                    places.append((f[9], f[1], degrees(f[3], f[4], 2), degrees(f[5], f[6], 3)))
    print("nmea", name.split("/")[-1], good, bad, other, no_sum, noise, comments, len(places))
    for place in places[:1] + places[-1:]:
        print("  ", place[0], place[1], f"{place[2]:.9f} {place[3]:.9f}")

for name in sorted(glob.glob("tests/real/logs/gpx/*")):
    root = xml.parse(name).getroot()
    local = lambda e: e.tag.split("}")[-1]
    points = [p for p in root.iter() if local(p) == "trkpt"]
    timed = [p for p in points if any(local(c) == "time" for c in p)]
    plans = [sum(local(e) == kind for e in root.iter()) for kind in ("wpt", "rtept")]
    print("gpx", name.split("/")[-1], len(points), len(timed), *plans)
    for p in timed[:1] + timed[-1:]:
        print("  ", next(c.text for c in p if local(c) == "time"), p.get("lat"), p.get("lon"), next(c.text for c in p if local(c) == "ele"))

for name in sorted(glob.glob("tests/real/logs/igc/*")):
    fixes, broken, letters, repeated, k = [], 0, {}, 0, 0
    for line in open(name, encoding="latin-1", newline=""):
        line = line.strip()
        if not line:
            continue
        if line[0] == "I":
            at = [(int(a), int(b)) for a, b in re.findall(r"(\d\d)(\d\d)[A-Z]{3}", line[3:])]
        m = re.match(r"B(\d{6})(\d\d)(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])(-\d{4}|\d{5})(-\d{4}|\d{5})", line)
        if line[0] == "B":
            # Blank-free extensions of digits and a sign only.
            if m and re.fullmatch(r"[-0-9 ]*", line[35:]):
                lat = int(m[2]) + int(m[3]) / 60000
                lon = int(m[5]) + int(m[6]) / 60000
                if fixes and fixes[-1][0] == m[1]:
                    repeated += 1
                    continue
                fixes.append((m[1], -lat if m[4] == "S" else lat, -lon if m[7] == "W" else lon, int(m[9]), int(m[10])))
            else:
                broken += 1
        elif line[0] == "K":
            k += 1
        else:
            letters[line[0]] = letters.get(line[0], 0) + 1
    print("igc", name.split("/")[-1], len(fixes), broken, repeated, k, sum(letters.values()))
    for f in fixes[:1] + fixes[-1:]:
        print("  ", f[0], f"{f[1]:.9f} {f[2]:.9f}", f[3], f[4])
