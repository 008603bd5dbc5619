"""Writes core/src/place/usual_systems.txt: the projected systems that an office's files are mostly in, and where each is meant for.

Made with pyproj 3.7.2 from the EPSG register that it carries. Each line: EPSG number, then west, south, east, north in degrees,
then, after tabs, the name that the register gives the system and the name that `.prj` files give it (where they have one).
Families stand in the order in which they are offered when two of them put a file at the same place to the metre. Below an empty
line stand systems that are known by their names but offered to nobody: they differ from others by a metre or two.
"""
import os
import pyproj
from pyproj.database import query_crs_info
from pyproj.enums import PJType

FAMILIES = ["NAD83 / ", "NAD83(2011) / ", "WGS 84 / UTM", "ETRS89 / UTM", "RGF93 v1 / Lambert-93", "OSGB36 / British", "Amersfoort / RD New",
            "BD72 / Belgian Lambert 72", "GDA94 / MGA", "GDA2020 / MGA", "NZGD2000 / New Zealand Transverse", "SIRGAS 2000 / UTM",
            "TWD97 / TM2", "S-JTSK / Krovak East North", "NAD27 / "]
KNOWN = ["NAD83(HARN) / ", "NAD83(NSRS2007) / ", "NAD83(CSRS) / UTM"]


def prj_name(number):
    try:
        return pyproj.CRS.from_epsg(number).to_wkt("WKT1_ESRI").split('"')[1]
    except (pyproj.exceptions.CRSError, AttributeError):
        return ""


every = [s for s in query_crs_info(auth_name="EPSG", pj_types=[PJType.PROJECTED_CRS]) if not s.deprecated and s.area_of_use]


def lines(families):
    for family in families:
        for s in every:
            a = s.area_of_use
            odd = any(word in s.name for word in (" + ", "(N-E)", "(E-N)", "Albers", "zone N", "CS63", "3TM", "MTM"))
            if s.name.startswith(family) and not odd and a.west < a.east:
                yield f"{s.code} {a.west:g} {a.south:g} {a.east:g} {a.north:g}\t{s.name}\t{prj_name(s.code)}"


with open(os.path.join(os.path.dirname(__file__), "../src/place/usual_systems.txt"), "w", encoding="utf-8") as f:
    f.write("\n".join([*lines(FAMILIES), "", *lines(KNOWN)]) + "\n")
