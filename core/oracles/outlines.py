"""Makes outlines.tsv and buffers.tsv: distances, fences and ring areas of real lots by GEOS, for the tests of place and reach.

Run with shapely 2 and pyogrio from the workspace root; the lots lie beside the workspace, in ../shared/data.
Coordinates are the file's US survey feet times 1200/3937, taken as plain metres.
"""
import sys
import numpy as np, shapely, pyogrio
from shapely import STRtree

LOTS = "../shared/data/parcels/cambridge_ma_fy2014_epsg2249_ft.shp"
FOOT = 1200 / 3937


def lots():
    g = np.array(pyogrio.read_dataframe(LOTS).geometry.values, dtype=object)
    return shapely.transform(g, lambda xy: xy * FOOT)


def fence(a, b):
    """yes: at least 3.6 m of a's edge within 0.2 m of b; no: more than 1 m apart; open: anything between."""
    if shapely.distance(a, b) > 1:
        return "no"
    along = shapely.length(shapely.intersection(shapely.boundary(a), shapely.buffer(b, 0.2)))
    flat = shapely.area(shapely.intersection(a, b)) < 0.5
    return "yes" if along >= 3.6 and flat else "open"


def main(folder):
    g = lots()
    good = np.flatnonzero(~shapely.is_missing(g) & shapely.is_valid(g) & ~shapely.is_empty(g))
    tree = STRtree(g[good])
    made = f"# shapely {shapely.__version__}, GEOS {shapely.geos_version_string}\n"
    with open(f"{folder}/outlines.tsv", "w") as out:
        out.write(made + "lot\tother\tmetres\tfence\n")
        for a in good[:: max(1, len(good) // 60)]:
            near = good[np.sort(tree.query(g[a], predicate="dwithin", distance=160))]
            near = near[near != a]
            by_distance = near[np.argsort(shapely.distance(g[a], g[near]), kind="stable")]
            for b in [*by_distance[:4], *by_distance[4::25]]:
                out.write(f"{a}\t{b}\t{shapely.distance(g[a], g[b]):.9f}\t{fence(g[a], g[b])}\n")
    with open(f"{folder}/buffers.tsv", "w") as out:
        left_out = np.setdiff1d(np.arange(len(g)), good)
        out.write(made + "# left out, for no outline or a broken one: " + " ".join(map(str, left_out)) + "\nlots\tradius\tarea\tparts\n")
        for step, radius in [(200, 150.0), (37, 60.0), (11, 25.0), (3, 137.16)]:
            rings = shapely.union_all(shapely.buffer(g[good[::step]], radius, quad_segs=256))
            out.write(f"every {step}\t{radius}\t{shapely.area(rings):.3f}\t{shapely.get_num_geometries(rings)}\n")
        single = good[np.argsort(-shapely.get_num_coordinates(g[good]), kind="stable")[:5]]
        for lot in single:
            out.write(f"one {lot}\t40.0\t{shapely.area(shapely.buffer(g[lot], 40.0, quad_segs=256)):.3f}\t1\n")


main(sys.argv[1])
