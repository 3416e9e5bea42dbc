#!/usr/bin/env python3
"""Reference texts and datum-shifted positions from PROJ's command line.

Needs Debian's proj-bin and proj-data. Run in this folder after make_epsg.py:
python3 make_datum.py. Writes

  ../wkt/ogc.tsv, ../wkt/esri.tsv   code and well-known text (projinfo)
  ../datum.csv    projected positions and WGS 84, by cs2cs to the system's own
                  longitude and latitude and by cct with the operation that the
                  table of this package has chosen
  ../near.csv     positions and WGS 84 by cs2cs alone, which chooses the
                  operation for the place
  ../rivals.csv   what several published sets, by cct, make of one position
  ../likely.csv   how far positions move from datums on one figure to WGS 84
                  by the sets that the table has chosen: the median and the
                  most over the datums

Grid files are hidden from PROJ, so that it takes seven-parameter sets only.
"""
import math
import os
import re
import statistics
import subprocess
import tempfile
import zlib

folder = tempfile.mkdtemp()
for name in ("proj.db", "proj.ini"):
    os.symlink(f"/usr/share/proj/{name}", f"{folder}/{name}")
env = dict(os.environ, PROJ_LIB=folder, PROJ_DATA=folder, PROJ_NETWORK="OFF")


def run(cmd, lines=()):
    p = subprocess.run(cmd, input="".join(line + "\n" for line in lines), capture_output=True, text=True, env=env)
    return p.stdout


version = re.search(r"Rel\. (\S+),", subprocess.run(["projinfo"], capture_output=True, text=True).stderr
                    + subprocess.run(["projinfo"], capture_output=True, text=True).stdout).group(1)

text = zlib.decompress(open("../../epsg.bin", "rb").read(), -15).decode().split("\n")
shifts = [t.split("\t") for t in text if t.startswith("S\t")]
geographic = {int(t.split("\t")[1]): t.split("\t") for t in text if t.startswith("G\t")}
projected = {int(t.split("\t")[1]): t.split("\t") for t in text if t.startswith("P\t")}

# --- texts ---

TEXTS = [4326, 4258, 4269, 4277, 4283, 4289, 4314, 4807, 7844, 9702,
         32632, 32610, 32720, 25832, 25833, 2154, 3945, 27572, 27700, 28992, 2193, 7855, 2229, 2263, 3435, 26918, 2180,
         3006, 31467, 31466, 3067, 2056, 21781, 5514, 5513, 2065, 3857, 31287, 31256, 3035, 2157, 29902, 29903, 3763, 3812,
         31983, 22185, 3347, 6677, 31370, 3358, 23700, 2039, 3031, 3995, 3413, 3375, 29873, 26931, 3577, 5070, 3395, 2326,
         24047, 27200, 30161, 2048, 29371, 2314, 3078, 32661, 5041, 28348, 23030, 26591, 3003, 28403, 3844, 2100, 3765, 3301,
         2169, 5650, 4647, 6870, 2462, 3112, 2046, 20137, 21037, 26986, 31300, 3994, 3832, 31600, 2953, 2036, 6316, 31468]
os.makedirs("../wkt", exist_ok=True)
for dialect, file in (("WKT1_GDAL", "ogc"), ("WKT1_ESRI", "esri")):
    with open(f"../wkt/{file}.tsv", "w") as f:
        f.write(f"# projinfo {version} -o {dialect} --single-line\n")
        for code in TEXTS:
            wkt = run(["projinfo", "-q", "-o", dialect, "--single-line", f"EPSG:{code}"]).strip()
            if wkt:
                f.write(f"{code}\t{wkt}\n")

# --- positions ---

SYSTEMS = [27700, 28992, 31467, 31466, 31468, 31469, 2056, 21781, 5514, 31287, 31256, 31254, 31370, 29902, 29903, 2169,
           27572, 27561, 23030, 23031, 26591, 3003, 3004, 28403, 3844, 31700, 3907, 6316, 3329, 3333, 2180, 2100, 3301, 23700,
           5514, 2462, 25832, 2154, 3006, 2193, 7855, 28355, 20255, 20355, 27200, 2326, 2039, 3375, 29873, 30161, 2451, 24047,
           3414, 2048, 22275, 29371, 20137, 21037, 26331, 22991, 22185, 31983, 29193, 24879, 22523, 3116, 26917, 26717, 26943,
           2229, 3347, 32632, 32720, 5880, 5179, 2096, 3826, 3395, 4647, 2157, 3763, 20790, 27429, 3812, 8857,
           31251, 31252, 31253, 31281, 31282, 31283, 31288, 31289, 31290, 31291, 31292, 31293]


def inside(box):
    w, s, e, n = box
    if e < w:
        e += 360
    s, n = max(s, -75), min(n, 75)
    for fx, fy in ((0.5, 0.5), (0.25, 0.6), (0.7, 0.35)):
        yield math.remainder(w + fx * (e - w), 360), s + fy * (n - s)


def to(code, lines, target):
    return [r.split()[:2] for r in run(["cs2cs", "-f", "%.12f", f"EPSG:{code}", f"EPSG:{target}"], lines).splitlines()]


def box_of(t):
    return [float(x) for x in t.split(",")]


def greenwich(s):
    """The geographic system that counts from Greenwich of the datum that a set is from."""
    for code, h in geographic.items():
        if s[1] in h[11].split(",") and not h[6] and "d" not in h[8] and "lon-lat" not in h[2]:
            return code


def files_order(code, a, b):
    """Easting first."""
    return (b, a) if "n" in (projected[code][7] if code in projected else geographic[code][8]) else (a, b)


with open("../datum.csv", "w") as f:
    f.write(f"# PROJ {version}, grids hidden; proj_default_m is how far cs2cs goes with the operation of its own choice\n")
    f.write("code,operation,x,y,lon_deg,lat_deg,proj_default_m\n")
    for code in dict.fromkeys(SYSTEMS):
        if code not in projected:
            continue
        p = projected[code]
        g = geographic[int(p[3])]
        if not p[9] and not g[10]:
            print(code, p[2], "has no shift")
            continue
        s = shifts[int(p[9] or g[10])]
        # one that is taken for WGS 84 has no datum in its line
        base = greenwich(s if s[1] else ["", g[11]])
        xy = to(base, [f"{lat:.7f} {lon:.7f}" for lon, lat in inside(box_of(p[8]))], code)
        xy = [("%.4f" % float(a), "%.4f" % float(b)) for a, b in xy if "*" not in a]
        own = to(code, [" ".join(q) for q in xy], base)
        if s[2] == "0":  # taken for WGS 84 as it is
            source, there = "null", own
        else:
            source = s[3]
            out = run(["cct", "-d", "12", "urn:ogc:def:coordinateOperation:EPSG::" + source[5:]],
                      [f"{a} {b} 0 0" for a, b in own])
            there = [r.split()[:2] for r in out.splitlines()]
            if len(there) != len(own):
                raise SystemExit(f"{code}: {source} gave {out!r}")
        default = to(code, [" ".join(q) for q in xy], 4326)
        for q, a, d in zip(xy, there, default):
            lat, lon = float(a[0]), float(a[1])
            off = math.hypot((float(d[0]) - lat) * 111e3, (float(d[1]) - lon) * 111e3 * math.cos(math.radians(lat)))
            x, y = files_order(code, *q)
            f.write(f"{code},{source},{x},{y},{lon:.12f},{lat:.12f},{off:.4f}\n")

NEAR = [(5514, 17.1, 48.3), (5514, 19.6, 48.7), (5514, 14.4, 50.1), (5514, 16.6, 49.2), (31467, 9.1, 48.8), (31468, 11.5, 51.1),
        (31468, 11.6, 48.1), (23030, -3.7, 40.4), (23030, -1.6, 42.8), (23032, 10.5, 55.5), (23033, 15.0, 37.5), (3334, 19.0, 52.0),
        (31700, 25.0, 45.9), (26717, -81.0, 28.2), (26711, -119.0, 36.5), (26714, -100.0, 31.0), (26718, -74.0, 45.5),
        (29193, -46.6, -23.5), (20137, 38.7, 8.9), (21037, 37.0, -1.2), (24879, -70.0, -15.0), (27700, -3.2, 51.9),
        (3907, 15.9, 45.8), (2100, 22.0, 39.0), (28992, 5.6, 52.1), (31370, 4.5, 50.6), (26591, 9.2, 45.4), (26331, 5.0, 7.0),
        (31281, 10.9, 47.2), (31282, 13.3, 47.8), (31282, 14.3, 46.6), (31283, 16.3, 48.2), (31288, 10.2, 47.1), (31290, 15.4, 47.0),
        (4805, 16.3, 48.2), (5132, 127.0, 37.5)]
with open("../near.csv", "w") as f:
    f.write(f"# cs2cs of PROJ {version} to EPSG:4326, grids hidden\n")
    f.write("code,x,y,lon_deg,lat_deg\n")
    for code, lon, lat in NEAR:
        a, b = to(4326, [f"{lat} {lon}"], code)[0]
        d = 4 if code in projected else 10
        a, b = f"{float(a):.{d}f}", f"{float(b):.{d}f}"
        r = to(code, [f"{a} {b}"], 4326)[0]
        x, y = files_order(code, a, b)
        f.write(f"{code},{x},{y},{float(r[1]):.12f},{float(r[0]):.12f}\n")


# --- several sets ---


def by_set(s, lon, lat):
    """A position counted from Greenwich on WGS 84, by a set."""
    out = run(["cct", "-d", "12", f"urn:ogc:def:coordinateOperation:EPSG::{s[3][5:]}"], [f"{lat} {lon} 0 0"])
    there = out.split()[:2]
    if len(there) != 2:
        raise SystemExit(f"{s[3]} gave {out!r}")
    return float(there[1]), float(there[0])


RIVALS = [(4156, 17.25, 49.6), (3906, 15.97, 45.8), (4277, -3.2, 51.9), (4214, 75.8, 39.0), (4314, 4.0, 54.0)]
with open("../rivals.csv", "w") as f:
    f.write(f"# cct of PROJ {version}; accuracy as the dataset states it; here is 1 where the set's area holds the place\n")
    f.write("code,base_lon_deg,base_lat_deg,operation,accuracy_m,here,lon_deg,lat_deg\n")
    for code, lon, lat in RIVALS:
        for s in shifts:
            if s[1] == geographic[code][11]:
                (a, b), (w, so, e, n) = by_set(s, lon, lat), box_of(s[6])
                f.write(f"{code},{lon},{lat},{s[3]},{s[4]},{int(w <= a <= e and so <= b <= n)},{a:.12f},{b:.12f}\n")


def moved(s, a, rf, lon, lat):
    """A position on an ellipsoid on WGS 84, without PROJ, which takes a tenth of a second for each set."""
    tx, ty, tz, rx, ry, rz, ppm = ([float(v or 0) for v in s[5].split(",")] + [0] * 7)[:7]
    rx, ry, rz = (math.radians(v / 3600) for v in (rx, ry, rz))
    lam, phi, e2, m = math.radians(lon), math.radians(lat), (2 - 1 / rf) / rf, 1 + ppm / 1e6
    nu = a / math.sqrt(1 - e2 * math.sin(phi) ** 2)
    x, y, z = nu * math.cos(phi) * math.cos(lam), nu * math.cos(phi) * math.sin(lam), nu * (1 - e2) * math.sin(phi)
    x, y, z = m * (x - rz * y + ry * z) + tx, m * (rz * x + y - rx * z) + ty, m * (-ry * x + rx * y + z) + tz
    a, e2, phi = 6378137, (2 - 1 / 298.257223563) / 298.257223563, 0
    for _ in range(20):
        phi = math.atan2(z + e2 * a / math.sqrt(1 - e2 * math.sin(phi) ** 2) * math.sin(phi), math.hypot(x, y))
    return math.degrees(math.atan2(y, x)), math.degrees(phi)


FIGURES = [("Airy 1830", 6377563.396, 1), ("Airy modified 1849", 6377340.189, 1), ("Bessel 1841", 6377397.155, 10),
           ("Everest", 6377290, 20), ("Clarke 1866", 6378206.4, 1), ("Clarke 1880", 6378249.2, 0.2),
           ("International 1924", 6378388, 1), ("Krassowsky 1940", 6378245, 0.5), ("GRS 1967 and Australian National", 6378160, 2),
           ("made for the whole earth", 6378137, 2)]
with open("../likely.csv", "w") as f:
    f.write(f"# the sets of epsg.bin by EPSG method 9606, at the middle of the area of each\n")
    f.write("figure,semi_major_m,within_m,datums,median_m,most_m\n")
    for name, a, within in FIGURES:
        sets = {}
        for g in geographic.values():
            if g[10] and abs(float(g[4]) - a) <= within and shifts[int(g[10])][2] != "0":
                s = shifts[int(g[10])]
                if s[5].count(",") < 7:  # not one that turns longitudes first
                    sets.setdefault(s[1], (g, s))
        moves = []
        for g, s in sets.values():
            w, so, e, n = box_of(s[6])
            e += 360 if e < w else 0
            lon, lat = (w + e) / 2 - (360 if (w + e) / 2 > 180 else 0), (so + n) / 2
            x, y = moved(s, float(g[4]), float(g[5]), lon, lat)
            moves.append(6371e3 * math.radians(math.hypot(math.remainder(x - lon, 360) * math.cos(math.radians(lat)), y - lat)))
        f.write(f"{name},{a},{within},{len(moves)},{statistics.median(moves):.1f},{max(moves):.1f}\n")
