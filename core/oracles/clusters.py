"""Makes clusters.tsv: Moran's I, local I, Gi* and smoothed rates of three open data sets, by esda and libpysal.

Run: python clusters.py > clusters.tsv   (esda 2.9.0, libpysal 4.14.1, geopandas 1.2.0)
Columbus crime (Anselin 1988), St Louis homicides (Messner et al. 2000) and sudden infant deaths in North Carolina (Cressie 1991)
come with libpysal. Each unit is one line: data set, name of the value, value, base (rates), neighbours, expected results.
"""
import geopandas as gpd, numpy as np, libpysal, esda
from libpysal.weights import Queen, full2W
from libpysal.examples import get_path

def lists(w, order):
    at = {k: i for i, k in enumerate(order)}
    return [sorted(at[j] for j in w.neighbors[k]) for k in order]

def show(name, column, y, base, w):
    order = list(w.id_order)
    n = lists(w, order)
    w.transform = "r"
    m = esda.Moran(y if base is None else y / base, w, permutations=0)
    local = esda.Moran_Local(y if base is None else y / base, w, permutations=0)
    w.transform = "b"
    g = esda.G_Local(y if base is None else y / base, w, transform="B", star=True, permutations=0)
    eb = [""] * len(y) if base is None else [repr(float(v[0])) for v in esda.smoothing.Empirical_Bayes(y, base).r]
    rate = None
    if base is not None:
        w.transform = "r"
        rate = esda.Moran_Rate(y, base, w, permutations=0)
    print(f"# {name} {column}: I {float(m.I)!r} z_norm {float(m.z_norm)!r} z_rand {float(m.z_rand)!r}" + (f" rate_I {float(rate.I)!r} rate_z_norm {float(rate.z_norm)!r}" if rate is not None else ""))
    for i in range(len(y)):
        b = "" if base is None else repr(float(base[i]))
        print("\t".join([name, str(i), repr(float(y[i])), b, " ".join(map(str, n[i])), repr(float(local.Is[i])), repr(float(g.Zs[i])), eb[i]]))

print("data\tunit\tvalue\tbase\tneighbours\tlocal_i\tgi_star\tsmoothed")
c = gpd.read_file(get_path("columbus.shp")); show("columbus", "CRIME", c.CRIME.values, None, Queen.from_dataframe(c, use_index=False))
s = gpd.read_file(get_path("stl_hom.shp"))
w = libpysal.io.open(get_path("stl.gal")).read()
show("stlouis", "HR8893", np.array(s.HR8893, float), None, w)
d = gpd.read_file(get_path("sids2.shp")); w = libpysal.io.open(get_path("sids2.gal")).read()
show("sids", "SID79/BIR79", np.array(d.SID79, float), np.array(d.BIR79, float), w)
