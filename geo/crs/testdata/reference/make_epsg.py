#!/usr/bin/env python3
"""Makes the table of coordinate systems that package crs embeds.

Needs Debian's proj-data (proj.db). Run in this folder: python3 make_epsg.py.
Writes ../../epsg.bin: lines of text, raw deflate. EPSG.md says what is taken,
and by which rule a datum's shift is chosen.
"""
import math
import sqlite3
import zlib
from collections import defaultdict
from fractions import Fraction as F

db = sqlite3.connect("/usr/share/proj/proj.db")

METHODS = {1024, 1041, 1051, 9801, 9802, 9803, 9804, 9805, 9806, 9807, 9808, 9809,
           9810, 9811, 9812, 9815, 9819, 9820, 9822, 9826, 9829, 9830}
# Places of crs.Params, by EPSG parameter code.
PLACE = {8801: 0, 8811: 0, 8821: 0, 8802: 1, 8812: 1, 8822: 1, 8833: 1, 8823: 2, 8832: 2, 8818: 2,
         8824: 3, 8805: 4, 8815: 4, 8819: 4, 1038: 4, 8806: 5, 8816: 5, 8826: 5, 8807: 6, 8817: 6, 8827: 6,
         8813: 7, 1036: 7, 8814: 8}
WGS84 = 6326
GEOCENTRIC = {7019, 7030, 1024}  # GRS 1980, WGS 84, CGCS2000

units = {int(c): (t, f) for c, t, f in
         db.execute("select code,type,conv_factor from unit_of_measure where auth_name='EPSG'")}


def exact(x):
    return F(repr(x)) if isinstance(x, float) else F(str(x))


def degrees(value, uom):
    uom = int(uom)
    if uom == 9110:  # sexagesimal DDD.MMSSsss
        sign, v = (-1 if value < 0 else 1), abs(exact(value))
        d = math.floor(v)
        m = math.floor((v - d) * 100)
        s = ((v - d) * 100 - m) * 100
        return sign * (d + F(m, 60) + s / 3600)
    if uom in (9102, 9122):
        return exact(value)
    if uom == 9105:
        return exact(value) * F(9, 10)
    if uom == 9104:
        return exact(value) / 3600
    if uom == 9101:
        return F(value * 180 / math.pi)
    raise SystemExit(f"unit of angle {uom}")


def metres(value, uom):
    return exact(value) * length(uom)


def length(uom):
    uom = int(uom)
    if uom == 9003:
        return F(1200, 3937)
    kind, factor = units[uom]
    assert kind == "length", uom
    return exact(factor)


def num(x):
    x = float(x)
    return "" if x == 0 else repr(x).removesuffix(".0")


def list_of(xs):
    return ",".join(num(x) for x in xs).rstrip(",")


# --- areas ---

def boxes(table, kind="EPSG"):
    out = defaultdict(list)
    q = """select u.object_code,e.west_lon,e.south_lat,e.east_lon,e.north_lat from usage u
           join extent e on e.auth_name=u.extent_auth_name and e.code=u.extent_code
           where u.object_table_name=? and u.object_auth_name=? order by u.object_code,e.code"""
    for code, *box in db.execute(q, (table, kind)):
        if None not in box:
            out[int(code)].append(tuple(box))
    return out


def largest(bs):
    """The largest of several boxes."""
    return max(bs, key=size) if bs else None


def pieces(b):
    w, s, e, n = b
    return [(w, s, e, n)] if w <= e else [(w, s, 180, n), (-180, s, e, n)]


def strip(w, s, e, n):
    return max(0, e - w) * max(0, math.sin(math.radians(n)) - math.sin(math.radians(s))) if n > s else 0


def size(b):
    return sum(strip(*p) for p in pieces(b))


def common(a, b):
    return sum(strip(max(p[0], q[0]), max(p[1], q[1]), min(p[2], q[2]), min(p[3], q[3]))
               for p in pieces(a) for q in pieces(b))


def bounds(box):
    return ",".join(repr(float(x)).removesuffix(".0") for x in box) if box else ""


# --- geographic systems ---

crs_box, proj_box = boxes("geodetic_crs"), boxes("projected_crs")
axes = defaultdict(list)
for cs, order, name, orient, uom in db.execute(
        """select coordinate_system_code,coordinate_system_order,name,orientation,uom_code from axis
           where coordinate_system_auth_name='EPSG' order by 1,2"""):
    axes[int(cs)].append((name, orient, int(uom or 0)))

geographic, datum_of, meridian = {}, {}, {}
q = """select g.code,g.name,g.type,g.coordinate_system_code,g.deprecated,d.code,d.name,e.code,e.semi_major_axis,
              e.uom_code,e.inv_flattening,e.semi_minor_axis,p.longitude,p.uom_code
       from geodetic_crs g join geodetic_datum d on d.auth_name=g.datum_auth_name and d.code=g.datum_code
       join ellipsoid e on e.auth_name=d.ellipsoid_auth_name and e.code=d.ellipsoid_code
       join prime_meridian p on p.auth_name=d.prime_meridian_auth_name and p.code=d.prime_meridian_code
       where g.auth_name='EPSG' and e.celestial_body_code='EARTH' order by cast(g.code as int)"""
for (code, name, kind, cs, gone, dcode, dname, ecode, a, auom, rf, b, lon, luom) in db.execute(q):
    code, dcode = int(code), int(dcode)
    datum_of[code], meridian[dcode] = dcode, degrees(lon, luom)
    if kind != "geographic 2D":
        continue
    am = metres(a, auom)
    if rf is None:
        bm = metres(b, auom)
        rf = 0 if am == bm else am / (am - bm)
    else:
        rf = exact(rf)
    angle = F(9, 10) if axes[int(cs)][0][2] == 9105 else F(1)
    geographic[code] = dict(code=code, name=name, gone=gone, datum=dcode, dname=dname, ell=int(ecode), a=am, rf=rf,
                            pm=degrees(lon, luom), angle=angle, box=largest(crs_box[code]),
                            north=axes[int(cs)][0][1] == "north")

# Other names of a system and its datum, by which texts without codes are known.
plain = lambda name: "".join(c for c in name.lower() if c.isalnum() or c == "+")
aliases = defaultdict(set)
for table, code, alt in db.execute("""select table_name,code,alt_name from alias_name
        where table_name in ('geodetic_crs','geodetic_datum') and auth_name='EPSG'"""):
    aliases[table, int(code)].add(alt)


def alias_list(code, g):
    own = {plain(g["name"]), plain(g["dname"])}
    out = {plain(a.removeprefix("D_").removeprefix("GCS_")) for key in (
        ("geodetic_crs", code), *(("geodetic_datum", d) for d in [g["datum"], *homes(g["datum"])]))
        for a in aliases[key]}
    return ",".join(sorted(out - own - {""}))


# --- shifts ---

# A datum counted from another meridian shares the shifts of those it was made
# of: positions reach a shift counted from Greenwich. Some are reached with
# another value than that of the meridian itself (Ferro is 17 40' 00" west for
# MGI and 17 39' 46.02" for MGI 1901); the difference turns the longitudes first.
kin = defaultdict(dict)  # datum: {datum it was made of: seconds to turn by, accuracy of that}
for src, dst, value, uom, acc in db.execute(
        """select source_crs_code,target_crs_code,param1_value,param1_uom_code,accuracy from other_transformation
           where auth_name='EPSG' and method_code=9601 and deprecated=0 order by cast(code as int)"""):
    src, dst = datum_of.get(int(src)), datum_of.get(int(dst))
    if None not in (src, dst) and src != dst:
        # of several values for one datum the first, which the dataset prefers
        kin[src].setdefault(dst, ((degrees(value, uom) - meridian[src] + meridian[dst]) * 3600, acc or 0))


def homes(datum):
    """The datums whose sets hold for the positions of a datum as they are."""
    return [d for d, (turn, _) in kin[datum].items() if turn == 0] if datum in kin else [datum]


def keys(datum):
    """The datums under which the table has the sets of a datum: turned ones are its own."""
    return homes(datum) + ([datum] if datum in kin and any(turn for turn, _ in kin[datum].values()) else [])


replaced = {int(a): int(b) for a, b in db.execute(
    """select superseded_code,replacement_code from supersession where superseded_table_name='helmert_transformation'
       and replacement_table_name='helmert_transformation' and superseded_auth_name='EPSG' order by 1,2""")}
op_box = boxes("helmert_transformation")
op_area = dict(db.execute("""select cast(u.object_code as int),e.name from usage u
    join extent e on e.auth_name=u.extent_auth_name and e.code=u.extent_code
    where u.object_table_name='helmert_transformation' and u.object_auth_name='EPSG' order by u.object_code,e.code"""))
# Methods by the sign of their rotations; the last five turn about a point.
KEPT = {9603: 1, 9606: 1, 9607: -1, 1031: 1, 1033: 1, 1032: -1, 1037: 1, 1038: -1,
        9636: -1, 1034: -1, 1039: -1, 1061: 1, 1063: 1}


def seconds(x, uom):
    if x is None:
        return F(0)
    uom = int(uom)
    if uom == 9104:
        return exact(x)
    if uom == 9109:
        return F(x * 1e-6 * 180 / math.pi * 3600)
    if uom == 9101:
        return F(x * 180 / math.pi * 3600)
    if uom == 9113:
        return exact(x) * F(9, 10) * F(3600, 10000)
    if uom == 1031:
        return exact(x) / 1000
    raise SystemExit(f"unit of rotation {uom}")


def ppm(x, uom):
    if x is None:
        return F(0)
    return exact(x) * {9202: F(1), 9201: F(10 ** 6), 1028: F(1, 1000)}[int(uom)]


def about_centre(t, r, scale, p):
    """Translations that do the same with a turn about the centre of the earth."""
    x, y, z = (F(float(a) * math.pi / 180 / 3600) for a in r)
    m = 1 + scale / 10 ** 6
    turned = (p[0] - z * p[1] + y * p[2], z * p[0] + p[1] - x * p[2], -y * p[0] + x * p[1] + p[2])
    return [a + b - m * c for a, b, c in zip(t, p, turned)]


def sets():
    q = """select code,name,method_code,source_crs_code,target_crs_code,accuracy,tx,ty,tz,translation_uom_code,rx,ry,rz,
                  rotation_uom_code,scale_difference,scale_difference_uom_code,px,py,pz
           from helmert_transformation_table where auth_name='EPSG' and deprecated=0
           and source_crs_auth_name='EPSG' and target_crs_auth_name='EPSG' order by cast(code as int)"""
    for (code, name, method, src, dst, acc, tx, ty, tz, tu, rx, ry, rz, ru, ds, du, *pivot) in db.execute(q):
        code, method, src, dst = int(code), int(method), int(src), int(dst)
        if method not in KEPT or src not in datum_of or dst not in datum_of:
            continue
        if int(tu) == 1025:  # millimetre
            t = [exact(x) / 1000 for x in (tx, ty, tz)]
        else:
            t = [metres(x, tu) for x in (tx, ty, tz)]
        r = [KEPT[method] * seconds(x, ru) for x in (rx, ry, rz)]
        scale = ppm(ds, du)
        if pivot[0] is not None:
            t = about_centre(t, r, scale, [exact(x) for x in pivot])
        area = op_area[code]
        one = dict(code=code, src=datum_of[src], dst=datum_of[dst], acc=acc or 0, source=f"EPSG:{code}",
                   variant=int(name.rsplit("(", 1)[1].rstrip(")")) if name.endswith(")") and name[-2].isdigit() else 0,
                   v=tuple(float(x) for x in t + r + [scale]), box=largest(op_box[code]),
                   sea="offshore" in area.lower() and "onshore" not in area.lower())
        yield one
        if one["src"] == WGS84:  # taken backwards: products of its numbers come to a millimetre
            yield one | dict(src=one["dst"], dst=WGS84, v=tuple(-x for x in one["v"]), source=f"EPSG:{code} reversed")


known = [s for s in sets() if s["box"]]
codes = {s["code"] for s in known}
known = [s for s in known if replaced.get(s["code"]) not in codes]
direct, other = defaultdict(list), defaultdict(list)
for s in known:
    (direct if s["dst"] == WGS84 else other)[s["src"]].append(s)
null_datums = {d for d, ss in direct.items() if any(not any(s["v"]) for s in ss)}


def own_sets(datum):
    """The sets from a datum, those to WGS 84 itself before those to a datum that is taken for it."""
    return direct[datum] or [s for s in other[datum] if s["dst"] in null_datums]


def candidates(datum):
    """The sets of a datum and of those it was made of."""
    cand = [s for d in homes(datum) for s in own_sets(d)]
    for d, (turn, acc) in kin[datum].items() if datum in kin else ():
        if turn != 0:
            cand += [s | dict(src=datum, v=s["v"] + (float(turn),), acc=s["acc"] and s["acc"] + acc) for s in own_sets(d)]
    return [s for s in cand if not s["sea"]] or cand


def merit(s):
    return (s["acc"] or 999, size(s["box"]), -s["variant"], s["code"])


def choose(g, box):
    """The shift of a geographic system for an area: rule in EPSG.md."""
    datum = g["datum"]
    if WGS84 in homes(datum):
        return ("null", "WGS 84 itself", 0, (), None, 0)
    cand = candidates(datum)
    if null_datums.intersection(homes(datum)) and g["ell"] in GEOCENTRIC:
        zero = [s for s in cand if not any(s["v"])]
        best = max(zero, key=lambda s: (common(s["box"], box), -s["acc"], -s["code"]))
        return ("null", best["source"], best["acc"], (), None, 0)
    cand = [s for s in cand if common(s["box"], box) > 0]
    if not cand:
        if g["ell"] in GEOCENTRIC:
            return ("null", "no published set", 0, (), None, 0)
        return None
    most = max(common(s["box"], box) for s in cand)
    return entry(min((s for s in cand if common(s["box"], box) >= 0.95 * most), key=merit))


def entry(s):
    kind = "set" if any(s["v"]) else "null"
    return (kind, s["source"], s["acc"], s["v"] if kind == "set" else (), s["box"], s["src"])


shift_ids, shift_lines = {}, []


def enter(s):
    if s not in shift_ids:
        shift_ids[s] = len(shift_lines)
        kind, source, acc, v, box, datum = s
        shift_lines.append("\t".join(["S", num(datum), "0" if kind == "null" else "", source, num(acc),
                                      list_of(v), bounds(box)]))
    return str(shift_ids[s])


def shift_id(g, box):
    s = choose(g, box) if box else None
    return enter(s) if s else ""


# --- projected systems ---

def projected():
    cols = ",".join(f"c.param{i}_code,c.param{i}_value,c.param{i}_uom_code" for i in range(1, 8))
    q = f"""select p.code,p.name,p.deprecated,p.coordinate_system_code,p.geodetic_crs_code,c.method_code,{cols}
            from projected_crs p join conversion_table c on c.auth_name=p.conversion_auth_name and c.code=p.conversion_code
            where p.auth_name='EPSG' and p.geodetic_crs_auth_name='EPSG' order by cast(p.code as int)"""
    for code, name, gone, cs, base, method, *rest in db.execute(q):
        code, base, method, ax = int(code), int(base), int(method), axes[int(cs)]
        if method not in METHODS or base not in geographic:
            continue
        p = [F(0)] * 9
        for i in range(0, 21, 3):
            pc, value, uom = rest[i:i + 3]
            if pc is None:
                continue
            kind = units[int(uom)][0]
            place = PLACE[int(pc)]
            p[place] = {"angle": degrees, "length": metres, "scale": lambda v, u: exact(v)}[kind](value, uom)
        orient = [a[1] for a in ax]
        flags = "d" if gone else ""
        if ax[0][0] in ("Northing", "Southing"):
            flags += "n"
        if set(orient) == {"south", "west"}:
            flags += "w"
        elif method == 9826:
            pass  # the method itself counts westing
        elif "west" in orient or ("south" in orient and "north" not in orient and "east" in orient):
            continue  # one axis turned: no field of a definition says that
        box = largest(proj_box[code])
        yield code, name, base, method, p, length(ax[0][2]), flags, box


rows = list(projected())
bases = {r[2] for r in rows}
lines = []
for code, g in geographic.items():
    if g["gone"] and code not in bases:
        continue
    g["shift"] = shift_id(g, g["box"])
    for x in sorted(candidates(g["datum"]), key=merit):
        if any(x["v"]) and not g["shift"] == "" and shift_lines[int(g["shift"])].split("\t")[2] == "":
            enter(entry(x))  # for the choice by place
    flags = ("d" if g["gone"] else "") + ("n" if g["north"] else "")
    datum = ",".join(str(d) for d in keys(g["datum"]))
    lines.append("\t".join(["G", str(code), g["name"], g["dname"], num(g["a"]), num(g["rf"]), num(g["pm"]),
                            num(g["angle"]), flags, bounds(g["box"]), g["shift"], datum, alias_list(code, g)]))
# A text without a code fits several systems that differ in the order of their
# axes: these need the other names to be told apart.
twin = defaultdict(list)
for code, name, base, method, p, unit, *_ in rows:
    twin[geographic[base]["datum"], method, tuple(p), unit].append(code)
several = {c for cs in twin.values() if len(cs) > 1 for c in cs}
other_names = defaultdict(set)
for code, alt in db.execute("""select code,alt_name from alias_name where table_name='projected_crs'
        and auth_name='EPSG' and source='ESRI'"""):
    if int(code) in several:
        other_names[int(code)].add(plain(alt))
for code, name, base, method, p, unit, flags, box in rows:
    own = shift_id(geographic[base], box)
    if own == geographic[base]["shift"]:
        own = ""
    lines.append("\t".join(["P", str(code), name, str(base), str(method), list_of(p), num(unit), flags, bounds(box), own,
                            ",".join(sorted(other_names[code]))]))

# Systems with heights, by their horizontal part and the unit of the heights.
horizontal = {r[0] for r in rows} | {c for c in geographic if not geographic[c]["gone"]}
for code, flat, uom in db.execute("""select c.code,c.horiz_crs_code,a.uom_code from compound_crs c
        join vertical_crs v on v.auth_name=c.vertical_crs_auth_name and v.code=c.vertical_crs_code
        join axis a on a.coordinate_system_auth_name=v.coordinate_system_auth_name
            and a.coordinate_system_code=v.coordinate_system_code
        where c.auth_name='EPSG' and c.horiz_crs_auth_name='EPSG' and a.orientation='up' order by cast(c.code as int)"""):
    if int(flat) in horizontal:
        lines.append("\t".join(["C", str(code), str(flat), num(length(uom))]))
flat_of = {}
for code, g in geographic.items():
    if not g["gone"] and "lon-lat" not in g["name"]:
        flat_of.setdefault(g["datum"], code)
for code, datum in db.execute("""select code,datum_code from geodetic_crs where auth_name='EPSG' and deprecated=0
        and type='geographic 3D' order by cast(code as int)"""):
    if int(datum) in flat_of:
        lines.append("\t".join(["C", str(code), str(flat_of[int(datum)]), "1"]))

# What stands in for a record that was withdrawn.
instead = defaultdict(list)
for kind in ("projected_crs", "geodetic_crs"):
    for old, new in db.execute("""select deprecated_code,replacement_code from deprecation where table_name=?
            and deprecated_auth_name='EPSG' and replacement_auth_name='EPSG' order by 1,2""", (kind,)):
        instead[int(old)].append(int(new))


def in_force(code, seen=()):
    """Replacements that are not withdrawn themselves."""
    if code not in instead or code in seen:
        return [code]
    return [c for new in instead[code] for c in in_force(new, (*seen, code))]


for code in sorted({r[0] for r in rows if "d" in r[6]} | {c for c in bases if geographic[c]["gone"]}):
    if code in instead:
        lines.append("\t".join(["W", str(code), ",".join(str(c) for c in dict.fromkeys(in_force(code)))]))

# What a code means that cannot be computed.
have = {r[0] for r in rows}
for code, name, method in db.execute("""select p.code,p.name,m.name from projected_crs p
        join conversion_table c on c.auth_name=p.conversion_auth_name and c.code=p.conversion_code
        join conversion_method m on m.auth_name=c.method_auth_name and m.code=c.method_code
        where p.auth_name='EPSG' order by cast(p.code as int)"""):
    if int(code) not in have and int(code) != 3785:  # read as 3857
        lines.append("\t".join(["U", str(code), name, method]))

meta = dict(db.execute("select key,value from metadata"))
text = "\n".join([f"# EPSG Dataset {meta['EPSG.VERSION']} of {meta['EPSG.DATE']}, IOGP"] + shift_lines + lines) + "\n"
z = zlib.compressobj(9, zlib.DEFLATED, -15, 9)
data = z.compress(text.encode()) + z.flush()
with open("../../epsg.bin", "wb") as f:
    f.write(data)
print(f"{len(rows)} projected, {len(geographic)} geographic, {len(shift_lines)} shifts: "
      f"{len(text)} bytes, {len(data)} deflated")
