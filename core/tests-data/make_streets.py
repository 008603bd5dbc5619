"""Walking times between doors on a small street network, worked out with SciPy; prints streets.tsv.

    python3 core/tests-data/make_streets.py > core/tests-data/streets.tsv

The model is the one of `yardring_core::walks::StreetNetwork`, built here in another way: every door is a node of its own on
its side of the street with a twin on the other side, and SciPy's Dijkstra runs over the whole graph. Invented streets.
"""

import math
import random
import sys

import numpy as np
import scipy
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

SPEED = 1.2
CROSS = {"path": 0.0, "minor": 10.0, "major": 45.0}
rng = random.Random(11)

# A bent grid of five by four junctions; some stretches are missing, one column is a major street, some are paths.
at = {(i, j): (round(110 * i + rng.uniform(-15, 15), 2), round(90 * j + rng.uniform(-12, 12), 2)) for i in range(5) for j in range(4)}
stretches = []
for (i, j), a in at.items():
    for di, dj in ((1, 0), (0, 1)):
        b = at.get((i + di, j + dj))
        if b is None or rng.random() < 0.12:
            continue
        kind = "major" if di == 0 and i == 2 else "path" if rng.random() < 0.1 else "minor"
        bend = (round((a[0] + b[0]) / 2 + rng.uniform(-6, 6), 2), round((a[1] + b[1]) / 2 + rng.uniform(-6, 6), 2))
        stretches.append((kind, [a, bend, b]))
# A dead end, and a loop street that comes back to its own junction.
stretches.append(("minor", [at[4, 3], (520.0, 330.0)]))
x, y = at[0, 0]
stretches.append(("minor", [(x, y), (x - 60, y + 15), (x - 75, y - 40), (x - 10, y - 45), (x, y)]))


def length(line):
    return sum(math.dist(p, q) for p, q in zip(line, line[1:]))


def point(line, along):
    for p, q in zip(line, line[1:]):
        d = math.dist(p, q)
        if along <= d:
            t = along / d
            return (p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t), (-(q[1] - p[1]) / d, (q[0] - p[0]) / d)
        along -= d
    raise ValueError(along)


doors = []
for k in range(26):
    s = len(stretches) - 1 if k == 3 else len(stretches) - 2 if k == 4 else rng.randrange(len(stretches))
    kind, line = stretches[s]
    along = rng.uniform(0.25, 0.75) * length(line)
    # Not at a bend, where the foot of the door would lie elsewhere.
    edges = [0.0]
    for p, q in zip(line, line[1:]):
        edges.append(edges[-1] + math.dist(p, q))
    along = min((along + d for d in range(0, 40) if all(abs(along + d - e) > 8 for e in edges)), default=along)
    (px, py), (nx, ny) = point(line, along)
    left = rng.random() < 0.5
    off = (5.0 if left else -5.0)
    doors.append((s, left, along, (px + nx * off, py + ny * off)))

# Corners: round each junction the ends of stretches sorted by direction, one corner between every two.
ends = {}
for s, (_, line) in enumerate(stretches):
    for which, (p, q) in enumerate(((line[0], line[1]), (line[-1], line[-2]))):
        ends.setdefault(p, []).append((math.atan2(q[1] - p[1], q[0] - p[0]), s, which))
nodes, edges = {}, []


def node(key):
    return nodes.setdefault(key, len(nodes))


def join(a, b, w):
    edges.append((node(a), node(b), w))


for place, around in ends.items():
    around.sort()
    n = len(around)
    for k, (_, s, which) in enumerate(around):
        # The corner after end k is to its left, seen from the junction; the stretch's own left is the other at its last place.
        after, before = ("corner", place, k), ("corner", place, (k - 1) % n)
        left, right = (after, before) if which == 0 else (before, after)
        join(("side", s, "left", which), left, 0.0)
        join(("side", s, "right", which), right, 0.0)
        if n > 1:
            join(after, before, CROSS[stretches[s][0]])
for s, (kind, line) in enumerate(stretches):
    here = sorted((along, k) for k, (ds, _, along, _) in enumerate(doors) if ds == s)
    for side in ("left", "right"):
        stops = [(0.0, ("side", s, side, 0))] + [(a, ("door", k, side)) for a, k in here] + [(length(line), ("side", s, side, 1))]
        for (a, p), (b, q) in zip(stops, stops[1:]):
            join(p, q, (b - a) / SPEED)
    for _, k in here:
        if kind != "major":
            join(("door", k, "left"), ("door", k, "right"), CROSS[kind])

# SciPy drops weights of nothing, so they are raised by less than anything that is checked.
rows = [e[0] for e in edges] + [e[1] for e in edges]
columns = [e[1] for e in edges] + [e[0] for e in edges]
weights = [max(e[2], 1e-13) for e in edges] * 2
least = {}
for r, c, w in zip(rows, columns, weights):
    least[r, c] = min(w, least.get((r, c), math.inf))
n = len(nodes)
graph = csr_matrix((list(least.values()), ([k[0] for k in least], [k[1] for k in least])), shape=(n, n))
own = [node(("door", k, "left" if left else "right")) for k, (_, left, _, _) in enumerate(doors)]
seconds = dijkstra(graph, indices=own)[:, own]

print(f"# Walking times on a small street network; made by make_streets.py with SciPy {scipy.__version__}, NumPy {np.__version__}")
print("kind\tfirst\tsecond\tvalues")
for kind, line in stretches:
    print("street", kind, "", " ".join(f"{v!r}" for p in line for v in p), sep="\t")
for _, _, _, (px, py) in doors:
    print("door", "", "", f"{px!r} {py!r}", sep="\t")
for a in range(len(doors)):
    for b in range(a + 1, len(doors)):
        print("seconds", a, b, f"{seconds[a, b]:.9f}", sep="\t")
print(len(doors), "doors,", len(stretches), "stretches", file=sys.stderr)
