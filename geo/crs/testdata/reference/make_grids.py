#!/usr/bin/env python3
"""Small NTv2 grids, and positions shifted by them with PROJ's command line.

Needs Debian's proj-bin and proj-data. Run in this folder: python3
make_grids.py. Writes into ../grid:

  ntf.gsb     13 by 11 nodes about Bourges, cut from ntf_r93.gsb (IGN France, as in Debian
              proj-data)
  nzgd.gsb    9 by 9 nodes about Napier, cut from nzgd2kgrid0005.gsb (Land
              Information New Zealand), in big-endian order
  nested.gsb  made up: three grids inside each other
  shifted.csv
"""
import math
import os
import random
import re
import struct
import subprocess

random.seed(4)
out = "../grid"
os.makedirs(out, exist_ok=True)


def rec(key, value, end):
    if isinstance(value, int):
        body = struct.pack(end + "ii", value, 0)
    elif isinstance(value, float):
        body = struct.pack(end + "d", value)
    else:
        body = value.encode().ljust(8)
    return key.encode().ljust(8) + body


def write(name, end, unit, systems, subs):
    b = [rec("NUM_OREC", 11, end), rec("NUM_SREC", 11, end), rec("NUM_FILE", len(subs), end), rec("GS_TYPE", unit, end),
         rec("VERSION", "NTv2.0", end), rec("SYSTEM_F", systems[0], end), rec("SYSTEM_T", systems[1], end),
         rec("MAJOR_F", 6378137.0, end), rec("MINOR_F", 6356752.0, end), rec("MAJOR_T", 6378137.0, end),
         rec("MINOR_T", 6356752.0, end)]
    for s in subs:
        b += [rec("SUB_NAME", s["name"], end), rec("PARENT", s["parent"], end), rec("CREATED", "", end), rec("UPDATED", "", end),
              rec("S_LAT", s["s"], end), rec("N_LAT", s["n"], end), rec("E_LONG", s["e"], end), rec("W_LONG", s["w"], end),
              rec("LAT_INC", s["dlat"], end), rec("LONG_INC", s["dlon"], end), rec("GS_COUNT", len(s["nodes"]), end)]
        b += [struct.pack(end + "4f", *v) for v in s["nodes"]]
    b.append(rec("END", 0.0, end))
    open(f"{out}/{name}", "wb").write(b"".join(b))


def cut(source, name, end, systems, s, n, e, w):
    """Keeps the nodes inside; e and w count west, all in seconds."""
    raw = open(f"/usr/share/proj/{source}", "rb").read()
    # Headers: the eleven records of the file, then those of its first grid.
    order = "<" if struct.unpack("<i", raw[8:12])[0] == 11 else ">"
    h = [raw[16 * i:16 * i + 16] for i in range(22)]
    field = lambda i: struct.unpack(order + "d", h[i][8:])[0]
    south, north, east, west, dlat, dlon = (field(i) for i in range(15, 21))
    cols = round((west - east) / dlon) + 1
    r0, r1 = round((s - south) / dlat), round((n - south) / dlat)
    c0, c1 = round((e - east) / dlon), round((w - east) / dlon)
    nodes = [struct.unpack_from(order + "4f", raw, 16 * (22 + r * cols + c)) for r in range(r0, r1 + 1) for c in range(c0, c1 + 1)]
    write(name, end, "SECONDS", systems, [dict(
        name="CUT", parent="NONE", s=south + r0 * dlat, n=south + r1 * dlat, e=east + c0 * dlon, w=east + c1 * dlon,
        dlat=dlat, dlon=dlon, nodes=nodes)])


cut("ntf_r93.gsb", "ntf.gsb", "<", ("NTF", "RGF93"), 46.5 * 3600, 47.5 * 3600, -3.0 * 3600, -1.8 * 3600)
cut("nzgd2kgrid0005.gsb", "nzgd.gsb", ">", ("NZGD49", "NZGD2000"), -40.0 * 3600, -39.2 * 3600, -177.0 * 3600, -176.2 * 3600)


def made_up(name, parent, s, n, e, w, d, size):
    rows, cols = round((n - s) / d) + 1, round((w - e) / d) + 1
    nodes = [(size + random.random(), -size + random.random(), 0, 0) for _ in range(rows * cols)]
    return dict(name=name, parent=parent, s=s, n=n, e=e, w=w, dlat=d, dlon=d, nodes=nodes)


# 8 to 11 degrees east
write("nested.gsb", "<", "SECONDS", ("OLD", "NEW"), [
    made_up("OUTER", "NONE", 162000.0, 172800.0, -39600.0, -28800.0, 1800.0, 3),
    made_up("MIDDLE", "OUTER", 165600.0, 169200.0, -36000.0, -32400.0, 600.0, 3.6),
    made_up("INNER", "MIDDLE", 166800.0, 168000.0, -34800.0, -33600.0, 300.0, 4.2)])

version = re.search(r"Rel\. (\S+),", "".join(subprocess.run(["cct", "--version"], capture_output=True, text=True).__dict__[k]
                                              for k in ("stdout", "stderr"))).group(1)
AREAS = {"ntf.gsb": (1.8, 3.0, 46.5, 47.5), "nzgd.gsb": (176.2, 177.0, -40.0, -39.2), "nested.gsb": (8.0, 11.0, 45.0, 48.0)}
with open(f"{out}/shifted.csv", "w") as f:
    f.write(f"# PROJ {version}, cct +proj=hgridshift; back is its inverse of the first position\n")
    f.write("grid,lon,lat,there_lon,there_lat,back_lon,back_lat\n")
    for name, (w, e, s, n) in AREAS.items():
        pts = [(w + (e - w) * random.uniform(0.01, 0.99), s + (n - s) * random.uniform(0.01, 0.99)) for _ in range(40)]
        lines = "".join(f"{lon:.9f} {lat:.9f} 0 0\n" for lon, lat in pts)
        pipe = ["+proj=pipeline", "+step", "+proj=unitconvert", "+xy_in=deg", "+xy_out=rad", "+step", "+proj=hgridshift",
                f"+grids={os.path.abspath(out)}/{name}", "+step", "+proj=unitconvert", "+xy_in=rad", "+xy_out=deg"]
        back = [p if p != "+proj=hgridshift" else "+inv +proj=hgridshift" for p in pipe]
        there = subprocess.run(["cct", "-d", "14"] + pipe, input=lines, capture_output=True, text=True, check=True).stdout
        away = subprocess.run(["cct", "-d", "14"] + " ".join(back).split(), input=lines, capture_output=True, text=True, check=True).stdout
        for (lon, lat), a, b in zip(pts, there.splitlines(), away.splitlines()):
            a, b = a.split(), b.split()
            f.write(f"{name},{lon:.9f},{lat:.9f},{a[0]},{a[1]},{b[0]},{b[1]}\n")
