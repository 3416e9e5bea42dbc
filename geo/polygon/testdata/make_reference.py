#!/usr/bin/python3
"""Reference figures for the polygon tests: reference.json.

Made with shapely 1.8.5 on GEOS 3.11.1, CPython 3.11 (Debian 12 packages
python3-shapely and libgeos). Run: /usr/bin/python3 make_reference.py
Random outlines with a fixed seed; inset and clearance with 512 chords a
quarter circle.
"""
import json
import math
import random

import shapely
import shapely.geos
from shapely.geometry import LineString, Point, Polygon
from shapely.validation import explain_validity

rng = random.Random(20260101)


def star(n, r0, r1, x, y):
    return [(x + r * math.cos(a), y + r * math.sin(a))
            for a, r in ((2 * math.pi * i / n, rng.uniform(r0, r1)) for i in range(n))]


def coords(poly):
    return [[list(c) for c in poly.exterior.coords]] + [[list(c) for c in h.coords] for h in poly.interiors]


cases = []
while len(cases) < 40:
    n = rng.choice([4, 7, 12, 30, 80])
    outer = star(n, 40, 150, rng.uniform(-400, 400), rng.uniform(-400, 400))
    c = (sum(p[0] for p in outer) / n, sum(p[1] for p in outer) / n)
    holes = [star(rng.choice([3, 5, 9]), 4, 12, *c)] if rng.random() < 0.5 else []
    p = Polygon(outer, holes)
    if not p.is_valid:
        continue
    d = rng.choice([0.5, 3, 6, 20])
    q = Polygon(star(9, 20, 80, c[0] + 60, c[1]))
    line = LineString([(c[0] - 200, c[1] - 30), (c[0], c[1] + 40), (c[0] + 200, c[1] + 20)])
    pts = [(c[0] + rng.uniform(-180, 180), c[1] + rng.uniform(-180, 180)) for _ in range(8)]
    inset = p.buffer(-d, resolution=512)
    cases.append({
        "polygon": coords(p), "area": p.area, "perimeter": p.length,
        "d": d, "inset_area": inset.area, "inset_parts": len(getattr(inset, "geoms", [inset])) if not inset.is_empty else 0,
        "other": coords(q), "difference": p.difference(q).area, "shared": p.intersection(q).area, "union": p.union(q).area,
        "line": [list(v) for v in line.coords], "clear_area": p.difference(line.buffer(d, resolution=512)).area,
        "points": [list(v) for v in pts], "inside": [p.contains(Point(v)) for v in pts],
        "distance": [p.boundary.distance(Point(v)) for v in pts],
    })

segments = []
for _ in range(60):
    s = [rng.uniform(-50, 50) for _ in range(8)]
    if rng.random() < 0.3:
        s = [round(v / 10) * 10 for v in s]
    a, b = LineString([s[0:2], s[2:4]]), LineString([s[4:6], s[6:8]])
    segments.append({"segment": s, "distance": a.distance(b)})

validity = []
for _ in range(600):  # scribbles on a coarse grid: every kind of touch, overlap and crossing
    k = rng.choice([3, 3, 4, 4, 5, 6])
    ring = [(rng.randrange(6) * 10.0, rng.randrange(6) * 10.0) for _ in range(k)]
    ring.append(ring[0])
    hole = [(rng.randrange(6) * 10.0, rng.randrange(6) * 10.0) for _ in range(3)]
    hole.append(hole[0])
    holes = [hole] if rng.random() < 0.5 else []
    p = Polygon(ring, holes)
    validity.append({"polygon": coords(p), "valid": p.is_valid, "why": explain_validity(p)})

with open("reference.json", "w") as f:
    json.dump({"shapely": shapely.__version__, "geos": ".".join(map(str, shapely.geos.geos_version)),
               "cases": cases, "segments": segments, "validity": validity}, f)
    f.write("\n")
