"""Writes validity.tsv: small outlines of every kind of wrongness, with the verdict of GEOS and the area that make_valid leaves.

Made with shapely 2.2.0 on GEOS 3.14.1. Each line: 0 or 1 (valid), area after make_valid(method="linework"), area of the faces
of the noded lines that an odd number of rings holds, a ring that is written twice counting once (even-odd; make_valid differs
where lines lie on each other without being the same ring), rings as
"x y x y ..." with '|' between the rings of a part and '/' between parts; first places are not repeated.
"""
import random
import shapely
from shapely.geometry import MultiPolygon, Polygon

random.seed(20)


def ring(n, size, x=0, y=0):
    return [(x + random.randrange(size + 1), y + random.randrange(size + 1)) for _ in range(n)]


def star(n, size, x=0, y=0):
    import math
    angles = sorted(random.random() * 2 * math.pi for _ in range(n))
    return [(round(x + size * (0.3 + random.random()) * math.cos(a), 2), round(y + size * (0.3 + random.random()) * math.sin(a), 2)) for a in angles]


def box(x, y, w, h):
    return [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]


def candidates():
    for _ in range(220):
        yield [[ring(random.randint(3, 7), random.choice([3, 6, 20]))]]
    for _ in range(60):
        yield [[star(random.randint(5, 90), 50)]]
    for _ in range(150):  # one shell with holes that touch, overlap, leave it
        yield [[box(0, 0, 8, 8)] + [ring(random.choice([3, 4]), 4, random.randint(-1, 5), random.randint(-1, 5)) for _ in range(random.randint(1, 3))]]
    for _ in range(150):  # several parts on a small grid
        yield [[box(random.randint(0, 6), random.randint(0, 6), random.randint(1, 5), random.randint(1, 5))] for _ in range(random.randint(2, 3))]
    for _ in range(100):  # parts in the holes of parts
        yield [[box(0, 0, 9, 9), box(2, 2, 5, 5)], [box(random.randint(1, 4), random.randint(1, 4), random.randint(1, 5), random.randint(1, 5))]]
    for _ in range(80):  # holes that touch in corners
        yield [[box(0, 0, 8, 8)] + [[(a, b + 1), (a + 1, b), (a + 2, b + 1), (a + 1, b + 2)] for a, b in [(random.randrange(7), random.randrange(7)) for _ in range(4)]]]
    for _ in range(80):
        yield [[ring(3, 4)], [ring(3, 4)], [ring(3, 4)]]
    for k in range(40):  # parts and holes that are written twice, from another place on and the other way round
        twice = star(random.randint(4, 9), 20)
        again = twice[k % 4:] + twice[:k % 4]
        again = again[::-1] if k % 2 else again
        yield [[twice], [again]] if k % 3 else [[box(-60, -60, 120, 120), twice, again]]


def text(parts):
    return "/".join("|".join(" ".join(f"{v:g}" for p in r for v in p) for r in part) for part in parts)


def written(r):
    """A ring from its least place on, the way round whose second place is the lesser."""
    turns = [t[i:] + t[:i] for t in (r, r[::-1]) for i in range(len(t)) if t[i] == min(t)]
    return tuple(min(turns))


def even_odd(parts):
    rings = list({written(r): r for part in parts for r in part}.values())
    faces = shapely.polygonize([shapely.unary_union([shapely.LineString(r + r[:1]) for r in rings])])

    def crossings(x, y):
        ends = [(a, b) for r in rings for a, b in zip(r, r[1:] + r[:1])]
        return sum((a[1] > y) != (b[1] > y) and x < a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) for a, b in ends)
    return sum(f.area for f in faces.geoms if crossings(*f.representative_point().coords[0]) % 2)


lines, seen = [], set()
for parts in candidates():
    shape = MultiPolygon([Polygon(p[0], p[1:]) for p in parts]) if len(parts) > 1 else Polygon(parts[0][0], parts[0][1:])
    line = text(parts)
    if line in seen:
        continue
    seen.add(line)
    mended = shapely.make_valid(shape, method="linework")
    lines.append(f"{int(shape.is_valid)}\t{mended.area:.9g}\t{even_odd(parts):.9g}\t{line}")
with open(__file__.replace("make_validity.py", "validity.tsv"), "w") as f:
    f.write("\n".join(lines) + "\n")
print(len(lines), sum(l[0] == "1" for l in lines), "valid")
