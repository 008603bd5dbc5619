"""Facts about open data files as GDAL and GEOS read them: prints the table facts.tsv that reads.rs compares with.

Usage: facts.py DATA > facts.tsv, where DATA is the folder of shared test data.
"""
import sys

import numpy as np
import pyogrio
import shapely

FILES = [
    ("parcels/cambridge_ma_fy2014_epsg2249_ft.shp", None, "LOC_ID"),
    ("parcels/cambridge_ma_fy2014_wgs84.geojson", None, "LOC_ID"),
    ("parcels/fr_25354_cadastre_epsg2154_m.gpkg", None, "sheet"),
    ("parcels/bubenec_prague_momepy.gpkg", "plots", "ID"),
    ("parcels/bubenec_prague_momepy.gpkg", "streets", None),
    ("streets/cambridge_ma_centerlines_epsg2249_ft.shp", None, None),
    ("streets/cambridge_ma_centerlines_wgs84.geojson", None, "Street_Name"),
    ("streets/apalachicola_fl_streets_wgs84.geojson", None, None),
    ("blocks/cambridge_ma_blocks_wgs84.geojson", None, None),
    ("points/cambridge_ma_intersections_wgs84.geojson", None, "Intersection"),
    ("bad/geometry/CoHI_GCS12.shp", None, None),
    ("bad/derived/base50.gpkg", None, "ML"),
    ("bad/gpkg/polygon-parcel.gpkg", None, None),
    ("bad/gpkg/polygon-invalid.gpkg", None, None),
    ("bad/gpkg/multisurface.gpkg", None, None)
]
print(f"# pyogrio {pyogrio.__version__} with GDAL {pyogrio.__gdal_version__}, shapely {shapely.__version__} with GEOS {shapely.geos_version_string}")
print("# file\tlayer\trows\twithout\tparts\tplaces\tarea\tlength\tsum_x\tsum_y\tcolumn\tletters")
for path, layer, column in FILES:
    meta, _, geom, fields = pyogrio.raw.read(f"{sys.argv[1]}/{path}", layer=layer, force_2d=True)
    g = shapely.from_wkb(geom, on_invalid="ignore")
    none = int(sum(x is None or x.is_empty for x in g))
    g = np.array([x for x in g if x is not None and not x.is_empty])
    parts = shapely.get_parts(g)
    poly = shapely.get_type_id(parts) == 3
    rings = shapely.get_rings(parts[poly])
    pieces = [shapely.get_coordinates(r)[:-1] for r in rings] + [shapely.get_coordinates(p) for p in parts[~poly]]
    xy = np.vstack(pieces)
    letters = ""
    if column:
        values = fields[list(meta["fields"]).index(column)]
        letters = sum(len(str(v)) for v in values if v is not None)
    sums = [shapely.area(parts[poly]).sum(), shapely.length(parts[~poly]).sum(), xy[:, 0].sum(), xy[:, 1].sum()]
    facts = [path, layer or "", len(geom), none, len(parts), len(xy), *(repr(float(v)) for v in sums), column or "", letters]
    print(*facts, sep="\t")
