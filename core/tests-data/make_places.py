"""Writes places.tsv: coordinates in many systems, their degrees on WGS 84, and a district frame's metres.

Made with pyproj 3.7.2 on PROJ 9.5.1. Each line: system (an EPSG number, or ESRI well-known text as a .prj file holds it),
x, y, longitude, latitude, the frame's centre (longitude, latitude, 4 decimals), x and y by PROJ's tmerc on WGS 84, scale 1.
"""
import random
import pyproj

random.seed(7)
SYSTEMS = [  # number, longitude and latitude somewhere in its area of use
    (2248, -76.6, 39.3), (2249, -71.1, 42.4), (2223, -112.1, 33.4), (2222, -110.9, 33.6), (2236, -80.3, 25.8), (2263, -73.9, 40.7),
    (2278, -98.5, 29.4), (3452, -90.1, 30.0), (2227, -121.9, 37.4), (26915, -90.1, 30.0), (32617, -81.4, 28.5), (2154, 6.0, 47.2),
    (31370, 4.4, 50.8), (3826, 120.2, 23.0), (3857, -43.2, -22.9), (4269, -95.4, 29.8), (28356, 151.2, -33.8), (25833, 14.4, 50.1),
]

lines = []
for number, lon, lat in SYSTEMS:
    crs = pyproj.CRS.from_epsg(number)
    back = pyproj.Transformer.from_crs(crs, 4326, always_xy=True)
    there = pyproj.Transformer.from_crs(4326, crs, always_xy=True)
    centre = round(lon + 0.1234, 4), round(lat - 0.0567, 4)
    frame = pyproj.Proj(f"+proj=tmerc +lat_0={centre[1]} +lon_0={centre[0]} +k=1 +x_0=0 +y_0=0 +ellps=WGS84")
    for k in range(4):
        x, y = there.transform(lon + random.uniform(-0.3, 0.3), lat + random.uniform(-0.3, 0.3))
        x, y = round(x, 6), round(y, 6)
        a, b = back.transform(x, y)
        u, v = frame(a, b)
        name = f"EPSG:{number}" if k % 2 == 0 or number == 31370 else crs.to_wkt("WKT1_ESRI")
        lines.append(f"{name}\t{x!r}\t{y!r}\t{a!r}\t{b!r}\t{centre[0]!r}\t{centre[1]!r}\t{u!r}\t{v!r}")
with open(__file__.replace("make_places.py", "places.tsv"), "w") as f:
    f.write("\n".join(lines) + "\n")
print(len(lines))
