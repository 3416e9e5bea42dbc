#!/usr/bin/env python3
"""Reference coordinates from PROJ's command line.

Needs Debian's proj-bin and proj-data (cs2cs and proj.db). Run in this folder:
python3 make_projections.py. Writes systems.csv, the definitions of the systems
as they stand in proj.db (EPSG dataset, with units resolved), and
projections.csv, points of each that cs2cs turned into the system from its own
base and back: no datum step is taken. The tests of package crs read both.
"""
import csv
import math
import pathlib
import sqlite3
import subprocess

SYSTEMS = """
32632 25832 32720 31983 22185 27700 2193 7855 2180 3006 31467 3067 31256 2157
29902 3763 6677 24047 30161 2326 23700 2048 22235 28992 2326 3003 2039 28191
2154 2229 26943 3347 3812 31370 31287 24200 2062 27572 6201 3034
3857 3395 3001 3832 3994 5641
28992 2036 2172 3844
5041 5042 3031 3995 3413 3976
3375 26931 3168 29873 3078 2056 21781 2057
5514 2065 5513 5221
3577 5070 ESRI:102008 3005
3035 3571 3573 6931 6932
3068 28192 2099 30200 3377
27200
""".split()

# Not here: EPSG methods 9826 and 9830 (PROJ refuses them) and 9803 (PROJ 9.1.1
# leaves its angle out).

folders = subprocess.run(["projinfo", "--searchpaths"], capture_output=True, text=True).stdout.split("\n")
db = sqlite3.connect(next(p for p in (pathlib.Path(f) / "proj.db" for f in folders) if p.is_file()))
version = "PROJ " + subprocess.run(["cs2cs"], capture_output=True, text=True).stderr.split(",")[0].split()[-1]

# EPSG parameter codes to ours
PARAMS = {
    "lat0": (8801, 8811, 8821), "lon0": (8802, 8812, 8822, 8833),
    "sp1": (8823, 8818, 8832), "sp2": (8824,), "k": (8805, 8815, 8819, 1038),
    "fe": (8806, 8816, 8826), "fn": (8807, 8817, 8827),
    "az": (8813, 1036), "skew": (8814,),
}


def one(sql, *args):
    return db.execute(sql, args).fetchone()


def unit(auth, code):
    return one("select conv_factor from unit_of_measure where auth_name=? and code=?", auth, code)[0]


def angle_unit(auth, code):
    # the conversion factors in the database are rounded to 16 digits; an axis
    # "supplier to define" or in sexagesimal degrees is given in degrees here
    exact = {"9102": 1, "9122": 1, "9110": 1, "9107": 1, "9108": 1, "9105": 0.9, "9104": 1 / 3600}
    return exact[str(code)] if str(code) in exact else math.degrees(unit(auth, code))


def degrees(value, auth, code):
    if code in ("9110", 9110):  # DDD.MMSSsss
        text = f"{abs(value):.12f}"
        whole, frac = text.split(".")
        d = int(whole) + int(frac[:2]) / 60 + float(frac[2:4] + "." + frac[4:]) / 3600
        return math.copysign(d, value)
    return value * angle_unit(auth, code)


def axes(auth, code):
    return db.execute("select abbrev, orientation, uom_auth_name, uom_code from axis where coordinate_system_auth_name=? "
                      "and coordinate_system_code=? order by coordinate_system_order", (auth, code)).fetchall()


def area(auth, code):
    return one("""select west_lon, south_lat, east_lon, north_lat from usage u join extent e
        on u.extent_auth_name=e.auth_name and u.extent_code=e.code
        where object_table_name='projected_crs' and object_auth_name=? and object_code=?""", auth, code)


class Base:
    def __init__(self, auth, code):
        self.id = f"{auth}:{code}"
        self.name, cs_auth, cs, d_auth, d = one(
            "select name, coordinate_system_auth_name, coordinate_system_code, datum_auth_name, datum_code "
            "from geodetic_crs where auth_name=? and code=?", auth, code)
        e_auth, e, p_auth, p = one(
            "select ellipsoid_auth_name, ellipsoid_code, prime_meridian_auth_name, prime_meridian_code "
            "from geodetic_datum where auth_name=? and code=?", d_auth, d)
        a, u_auth, u, rf, b = one("select semi_major_axis, uom_auth_name, uom_code, inv_flattening, semi_minor_axis "
                                  "from ellipsoid where auth_name=? and code=?", e_auth, e)
        metre = unit(u_auth, u)
        self.a = a * metre
        self.rf = rf if rf else (0 if b is None or b == a else a / (a - b))
        lon, u_auth, u = one("select longitude, uom_auth_name, uom_code from prime_meridian "
                             "where auth_name=? and code=?", p_auth, p)
        self.meridian = degrees(lon, u_auth, u)
        ax = axes(cs_auth, cs)
        self.lat_first = ax[0][1] == "north"
        self.angle = angle_unit(ax[0][2], ax[0][3])

    # cs2cs takes and gives degrees, also where the system counts grads

    def write(self, lon, lat):
        x = math.remainder(lon - self.meridian, 360)
        return f"{lat!r} {x!r}" if self.lat_first else f"{x!r} {lat!r}"

    def read(self, line):
        u, v = map(float, line.split()[:2])
        lat, lon = (u, v) if self.lat_first else (v, u)
        return math.remainder(lon + self.meridian, 360), lat


def cs2cs(source, target, lines):
    p = subprocess.run(["cs2cs", "-f", "%.13f", source, target], input="\n".join(lines) + "\n",
                       capture_output=True, text=True, check=True)
    return p.stdout.strip().split("\n")


def points(box):
    """A lattice over the middle nine tenths of the area."""
    w, s, e, n = box
    if e < w:
        e += 360
    n, s = min(n, 84.9), max(s, -84.9)
    for i in range(4):
        for j in range(3):
            lon = w + (e - w) * (0.05 + 0.3 * i)
            lat = s + (n - s) * (0.05 + 0.45 * j)
            yield round(math.remainder(lon, 360), 6), round(lat, 6)


def projected(auth, code, w):
    name, cs_auth, cs, b_auth, b, c_auth, c = one(
        "select name, coordinate_system_auth_name, coordinate_system_code, geodetic_crs_auth_name, geodetic_crs_code, "
        "conversion_auth_name, conversion_code from projected_crs where auth_name=? and code=?", auth, code)
    base = Base(b_auth, b)
    conv = db.execute("select * from conversion_table where auth_name=? and code=?", (c_auth, c)).fetchone()
    cols = [d[0] for d in db.execute("select * from conversion_table limit 0").description]
    row = dict(zip(cols, conv))
    got = {}
    for i in range(1, 8):
        pc = row[f"param{i}_code"]
        if pc is None:
            continue
        value, ua, uc = row[f"param{i}_value"], row[f"param{i}_uom_auth_name"], row[f"param{i}_uom_code"]
        key = next(k for k, codes in PARAMS.items() if int(pc) in codes)
        got[key] = value * unit(ua, uc) if key in ("k", "fe", "fn") else degrees(value, ua, uc)
    ax = axes(cs_auth, cs)
    metre = unit(ax[0][2], ax[0][3])
    first = ax[0][0].upper()
    words = [a[1].lower() for a in ax]
    north_first = words[0] in ("north", "south") and words[1] in ("east", "west") or first == "N"
    west_south = "south" in words and "west" in words
    w.writerow([f"{auth}:{code}", name, row["method_code"], base.a, base.rf, base.meridian, base.angle, metre,
                int(west_south), *[repr(got[k]) if k in got else "" for k in PARAMS]])

    me, own = f"{auth}:{code}", base.id
    pts = list(points(area(auth, code)))
    out = cs2cs(own, me, [base.write(*p) for p in pts])
    xy = []
    for line in out:
        u, v = (float(s) for s in line.split()[:2])
        xy.append((v, u) if north_first else (u, v))
    xy = [(round(x, 6), round(y, 6)) for x, y in xy]
    back = cs2cs(me, own, [f"{y!r} {x!r}" if north_first else f"{x!r} {y!r}" for x, y in xy])
    return [(*p, *q, *base.read(r)) for p, q, r in zip(pts, xy, back)]


dataset = one("select value from metadata where key='EPSG.VERSION'")[0]
with open("systems.csv", "w", newline="") as fs, open("projections.csv", "w", newline="") as fp:
    fs.write(f"# {version}; definitions of the EPSG dataset {dataset} in its proj.db, degrees and metres\n")
    fp.write(f"# {version}; cs2cs, base to system (x, y) and back (back_lon, back_lat), base datum, from Greenwich\n")
    ws, wp = csv.writer(fs, lineterminator="\n"), csv.writer(fp, lineterminator="\n")
    ws.writerow(["system", "name", "method", "semi_major_m", "inv_flattening", "meridian_deg", "angle_deg", "unit_m",
                 "west_south", *PARAMS])
    wp.writerow(["system", "lon", "lat", "x", "y", "back_lon", "back_lat"])
    for s in dict.fromkeys(SYSTEMS):
        auth, code = s.split(":") if ":" in s else ("EPSG", s)
        for lon, lat, x, y, bl, bp in projected(auth, code, ws):
            wp.writerow([f"{auth}:{code}", lon, lat, f"{x:.6f}", f"{y:.6f}", f"{bl:.13f}", f"{bp:.13f}"])
