#!/usr/bin/env python3
"""Writes the first 50 points of the demo survey in the dialects that are read.

Eastings and northings come from PROJ (cs2cs, EPSG:4326 to EPSG:32627).
"""
import csv, pathlib, subprocess

here = pathlib.Path(__file__).parent
rows = list(csv.DictReader(open(here / "../../../../cmd/hemrow/demo/kestrel-rise-heights.csv")))[:50]
text = "".join(f"{r['lat']} {r['lon']}\n" for r in rows)
out = subprocess.run(["cs2cs", "-f", "%.3f", "EPSG:4326", "EPSG:32627"], input=text, capture_output=True, text=True, check=True).stdout
grid = [line.split()[:2] for line in out.splitlines()]


def dms(value, letters):
    v = abs(float(value))
    d = int(v)
    m = int((v - d) * 60)
    s = ((v - d) * 60 - m) * 60
    return f"{d}°{m:02d}'{s:08.5f}\"{letters[float(value) < 0]}"


def dm(value, width, letters):
    v = abs(float(value))
    d = int(v)
    return f"{d:0{width}d}{(v - d) * 60:010.7f}{letters[float(value) < 0]}"


def write(name, encoding, lines):
    (here / name).write_bytes("".join(l + "\r\n" for l in lines).encode(encoding))


def comma(s):
    return s.replace(".", ",")


z = [r["height_m"] for r in rows]
names = [r["name"] for r in rows]
each = list(zip(names, grid, z, rows))
write("degrees.csv", "utf-8", ["name,lon,lat,height_m"] + [f"{n},{r['lon']},{r['lat']},{h}" for n, g, h, r in each])
write("grid.csv", "ascii", ["E,N,Z"] + [f"{g[0]},{g[1]},{h}" for n, g, h, r in each])
write("grid.xyz", "ascii", [f"{g[0]:>12} {g[1]:>14}  {h}" for n, g, h, r in each])
write("pnezd.txt", "ascii", [f"{n},{g[1]},{g[0]},{h},GND" for n, g, h, r in each])
semicolon = ["Punkt;Rechtswert;Hochwert;Höhe;Code"] + [f"{n};{comma(g[0])};{comma(g[1])};{comma(h)};GND" for n, g, h, r in each]
write("semicolon.csv", "utf-8-sig", semicolon)
write("semicolon-windows.csv", "cp1252", semicolon)
write("tab-utf16.txt", "utf-16", [l.replace(";", "\t") for l in semicolon])
write("angles.csv", "cp1252", ["Latitude;Longitude;Altitude (m)"] + [f"{dms(r['lat'], 'NS')};{dms(r['lon'], 'EW')};{h}" for n, g, h, r in each])
write("receiver.csv", "ascii", [f"{n},{dm(r['lat'], 2, 'NS')},{dm(r['lon'], 3, 'EW')},{h}" for n, g, h, r in each])
