#!/usr/bin/env python3
"""Reference distances and projections from GeographicLib's command line.

Needs Debian's geographiclib-tools (GeodSolve, TransverseMercatorProj). Run in
this folder: python3 make_geodesics.py. Writes geodesics.csv and
projections.csv, which the tests of package geo read.
"""
import math
import random
import subprocess

random.seed(20261125)
version = subprocess.run(["GeodSolve", "--version"], capture_output=True, text=True).stdout.strip().split()[-1]

origins = [(-78.5, -0.2), (36.9, 0.0), (17.5, 48.2), (-3.1, 60.1), (25.0, 69.5),
           (176.83, -39.84), (-60.3, -34.0), (147.0, -43.0), (179.99, -16.5), (-71.0, -53.2)]


def run(cmd, lines):
    p = subprocess.run(cmd, input="\n".join(lines) + "\n", capture_output=True, text=True, check=True)
    return p.stdout.strip().split("\n")


seg = []
for lon0, lat0 in origins:
    for half_km in (0.2, 1, 5, 20, 50):
        for az in (0, 33, 61, 90, 144):
            # a point half_km away from the origin, then a row of 50 m to 1 km
            d = half_km * 1000 * (0.3 + 0.7 * random.random())
            o = run(["GeodSolve", "-p", "7"], [f"{lat0} {lon0} {random.uniform(0, 360):.6f} {d:.3f}"])[0].split()
            length = random.uniform(50, 1000)
            e = run(["GeodSolve", "-p", "7"], [f"{o[0]} {o[1]} {az} {length:.6f}"])[0].split()
            seg.append((lon0, lat0, float(o[1]), float(o[0]), float(e[1]), float(e[0])))

inv = run(["GeodSolve", "-i", "-p", "7"],
          [f"{a[3]:.12f} {a[2]:.12f} {a[5]:.12f} {a[4]:.12f}" for a in seg])
with open("geodesics.csv", "w") as f:
    f.write(f"# GeographicLib {version} GeodSolve -i, WGS84; azimuth is at the first point\n")
    f.write("origin_lon,origin_lat,lon1,lat1,lon2,lat2,azimuth1_deg,distance_m\n")
    for a, r in zip(seg, inv):
        azi1, _, s = r.split()
        f.write("%.4f,%.4f,%.12f,%.12f,%.12f,%.12f,%s,%s\n" % (*a, azi1, s))

with open("projections.csv", "w") as f:
    f.write(f"# GeographicLib {version} TransverseMercatorProj -k 1, WGS84, extended precision series\n")
    f.write("central_lon,lon,lat,x_m,y_m,convergence_deg,scale\n")
    for lon0, lat0 in origins:
        pts = [(lon0 + random.uniform(-3, 3), max(-85, min(85, lat0 + random.uniform(-3, 3)))) for _ in range(6)]
        out = run(["TransverseMercatorProj", "-l", str(lon0), "-k", "1", "-p", "9"],
                  [f"{lat:.9f} {lon:.9f}" for lon, lat in pts])
        for (lon, lat), r in zip(pts, out):
            x, y, g, k = r.split()
            f.write(f"{lon0},{lon:.9f},{lat:.9f},{x},{y},{g},{k}\n")
