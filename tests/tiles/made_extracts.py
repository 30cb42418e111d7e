"""Small extracts made in a test: nodes, ways and relations, with what a cut leaves out."""

from itertools import count

import osmium
from osmium.osm.mutable import Node, Relation, Way


class Maker:
    """Collects objects and writes them; `drop` leaves nodes out of the file."""

    def __init__(self):
        self.numbers = count(1)
        self.nodes, self.ways, self.relations = [], [], []
        self.dropped = set()
        self.box = None

    def node(self, lon, lat, **tags):
        number = next(self.numbers)
        self.nodes.append((number, lon, lat, tags))
        return number

    def way(self, places, ring=False, **tags):
        """A way through places; its number."""
        nodes = [self.node(*place) for place in places]
        return self.way_of([*nodes, nodes[0]] if ring else nodes, **tags)

    def way_of(self, nodes, **tags):
        number = next(self.numbers)
        self.ways.append((number, nodes, tags))
        return number

    def relation(self, members, **tags):
        """Members: (way's number, role)."""
        number = next(self.numbers)
        rows = [("w", way, role) for way, role in members]
        self.relations.append((number, rows, {"type": "multipolygon"} | tags))
        return number

    def drop(self, nodes):
        self.dropped |= set(nodes)

    def write(self, path, *, in_order=True):
        path.unlink(missing_ok=True)
        header = osmium.io.Header()
        if self.box is not None:
            west, south, east, north = self.box
            header.add_box(
                osmium.osm.Box(osmium.osm.Location(west, south), osmium.osm.Location(east, north))
            )
        with osmium.SimpleWriter(str(path), header=header) as writer:
            ways = [Way(id=n, nodes=nodes, tags=tags) for n, nodes, tags in self.ways]
            if not in_order:
                for way in reversed(ways):
                    writer.add_way(way)
            for number, lon, lat, tags in self.nodes:
                if number not in self.dropped:
                    writer.add_node(Node(id=number, location=(lon, lat), tags=tags))
            for way in ways if in_order else ():
                writer.add_way(way)
            for number, members, tags in self.relations:
                writer.add_relation(Relation(id=number, members=members, tags=tags))
        return path


def square(west, south, size):
    return [
        (west, south),
        (west + size, south),
        (west + size, south + size),
        (west, south + size),
    ]
