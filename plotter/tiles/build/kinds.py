"""What the tags of a map feature make it: the kinds it is drawn as."""

import re
from collections.abc import Mapping
from typing import Final

__all__ = [
    "AREA_KINDS", "KEYS", "KINDS", "LINE_KINDS", "MARK_KINDS", "MARK_TAGS", "ROADS",
    "kind_of", "kinds_of", "kinds_of_row", "number_of", "tags_of", "told",
]  # fmt: skip

ROADS: Final = (
    "motorway", "major road", "secondary road", "tertiary road", "road", "service road", "track",
    "path",
)  # fmt: skip
"""Ways that somebody drives or walks on, the most important first."""

LINE_KINDS: Final = frozenset({
    *ROADS, "tunnel", "rail", "siding", "tram", "river", "stream", "coast", "shore", "cliff",
    "contour", "index contour",
})  # fmt: skip
AREA_KINDS: Final = frozenset({
    "land", "sea", "water", "wetland", "wood", "built", "open", "park", "square", "yard",
    "building",
})  # fmt: skip
MARK_KINDS: Final = frozenset({
    "city", "town", "village", "suburb", "hamlet", "island", "summit", "shelter", "hospital",
    "fire station", "police", "station", "bridge", "ford", "mast", "helipad", "landing place",
    "drinking water", "filling station", "school", "place of worship", "lighthouse",
})  # fmt: skip
KINDS: Final = LINE_KINDS | AREA_KINDS | MARK_KINDS
"""Every kind that has a look in `plotter.tiles.build.style`."""

# Key and values of OpenStreetMap (its own wiki's main tags), first match first; "*" is any value.
_AREAS: Final = (
    ("natural", "water bay strait", "water"),
    ("waterway", "riverbank dock", "water"),
    ("landuse", "reservoir basin", "water"),
    ("natural", "wetland mud", "wetland"),
    ("natural", "wood scrub", "wood"),
    ("landuse", "forest orchard vineyard", "wood"),
    ("leisure", "park garden", "park"),
    ("landuse", "village_green cemetery", "park"),
    ("leisure", "pitch golf_course common", "open"),
    ("landuse", "grass meadow recreation_ground farmland", "open"),
    ("natural", "grassland heath beach sand bare_rock scree", "open"),
    ("landuse", "railway", "yard"),
    ("amenity", "parking", "yard"),
    ("building", "*", "building"),
    ("landuse", "residential commercial industrial retail construction military", "built"),
    ("place", "square", "square"),
)
# Ways that only count as areas when they say so.
_PAVED: Final = (("highway", "pedestrian footway", "square"), ("highway", "service", "yard"))
_LINES: Final = (
    ("highway", "motorway motorway_link", "motorway"),
    ("highway", "trunk trunk_link primary primary_link", "major road"),
    ("highway", "secondary secondary_link", "secondary road"),
    ("highway", "tertiary tertiary_link", "tertiary road"),
    ("highway", "unclassified residential living_street road pedestrian", "road"),
    ("highway", "service", "service road"),
    ("highway", "track", "track"),
    ("highway", "path footway bridleway steps cycleway", "path"),
    ("railway", "rail light_rail narrow_gauge", "rail"),
    ("railway", "tram", "tram"),
    ("waterway", "river canal", "river"),
    ("waterway", "stream ditch drain", "stream"),
    ("natural", "coastline", "coast"),
    ("natural", "cliff", "cliff"),
)
_MARKS: Final = (
    ("amenity", "hospital", "hospital"),
    ("amenity", "fire_station", "fire station"),
    ("amenity", "police", "police"),
    ("emergency", "landing_site", "helipad"),
    ("aeroway", "helipad heliport", "helipad"),
    ("amenity", "shelter", "shelter"),
    ("tourism", "alpine_hut wilderness_hut camp_site", "shelter"),
    ("railway", "station halt", "station"),
    ("amenity", "ferry_terminal bus_station", "station"),
    ("leisure", "slipway", "landing place"),
    ("man_made", "pier", "landing place"),
    ("man_made", "lighthouse", "lighthouse"),
    ("man_made", "mast communications_tower", "mast"),
    ("man_made", "bridge", "bridge"),
    ("ford", "*", "ford"),
    ("amenity", "drinking_water", "drinking water"),
    ("amenity", "fuel", "filling station"),
    ("amenity", "school", "school"),
    ("amenity", "place_of_worship", "place of worship"),
    ("natural", "peak volcano", "summit"),
    ("place", "city", "city"),
    ("place", "town", "town"),
    ("place", "village", "village"),
    ("place", "suburb quarter neighbourhood", "suburb"),
    ("place", "hamlet isolated_dwelling locality farm", "hamlet"),
    ("place", "island islet", "island"),
)
_OTHER_TAGS: Final = re.compile(r'"((?:[^"\\]|\\.)*)"=>"((?:[^"\\]|\\.)*)"')
_UNDER_GROUND: Final = frozenset({"yes", "building_passage", "covered", "culvert", "flooded"})
_MINOR_RAIL: Final = frozenset({"yard", "spur", "siding", "crossover"})


def _table(rows: tuple[tuple[str, str, str], ...]) -> dict[str, dict[str, tuple[int, str]]]:
    found: dict[str, dict[str, tuple[int, str]]] = {}
    for order, (key, values, kind) in enumerate(rows):
        for value in values.split():
            found.setdefault(key, {}).setdefault(value, (order, kind))
    return found


_AREA_TABLE: Final = _table(_AREAS)
_PAVED_TABLE: Final = _table(_PAVED)
_LINE_TABLE: Final = _table(_LINES)
_MARK_TABLE: Final = _table(_MARKS)
_ANY_TABLE: Final = _table((*_AREAS, *_LINES, *_MARKS))
KEYS: Final = tuple(sorted({*_ANY_TABLE, *_PAVED_TABLE}))
"""Keys of which one at least stands at every feature that has a look."""
_FORDS: Final = ("yes", "stepping_stones", "boat")
MARK_TAGS: Final = tuple(
    (key, value)
    for key, values, _ in _MARKS
    for value in (_FORDS if values == "*" else values.split())
)
"""Keys and values of which one at least stands at every point that has a look."""


def kinds_of(tags: Mapping[str, str], dimension: int) -> tuple[str, ...]:
    """Kinds of a feature by its tags and its shape: of an area its ground, and the mark on it.

    Parameters
    ----------
    tags : mapping of str to str
        As the extract has them.
    dimension : int
        0 for a point, 1 for a line, 2 for an area.

    Returns
    -------
    tuple of str
        Some of `KINDS`; empty for what is not drawn.

    Examples
    --------
    >>> kinds_of({"building": "yes", "amenity": "hospital"}, 2), kinds_of({"highway": "steps"}, 1)
    (('building', 'hospital'), ('path',))
    >>> kinds_of({"railway": "rail", "service": "yard"}, 1), kinds_of({"highway": "steps"}, 0)
    (('siding',), ())
    """
    if dimension == 1:
        kind = _first(tags, _LINE_TABLE)
        return () if kind is None else (_line(kind, tags),)
    found = [_first(tags, _MARK_TABLE)]
    if dimension == 2:
        ground = _first(tags, _AREA_TABLE)
        if ground is None and tags.get("area") == "yes":
            ground = _first(tags, _PAVED_TABLE)
        found.insert(0, ground)
    return tuple(kind for kind in found if kind is not None)


def _line(kind: str, tags: Mapping[str, str]) -> str:
    under = tags.get("tunnel") in _UNDER_GROUND or tags.get("covered") == "yes"
    if under and kind in {*ROADS, "rail", "tram", "river", "stream"}:
        return "tunnel"
    if kind == "rail" and tags.get("service") in _MINOR_RAIL:
        return "siding"
    return kind


def kind_of(tags: Mapping[str, object]) -> str | None:
    """Kind of a feature by its columns alone.

    Parameters
    ----------
    tags : mapping of str to object
        Columns of a layer. A column ``kind`` names it outright; GDAL's ``other_tags`` of an
        OpenStreetMap extract is taken apart.

    Returns
    -------
    str or None
        One of `KINDS`; None for what is not drawn.

    Examples
    --------
    >>> kind_of({"highway": "track"}), kind_of({"other_tags": '"natural"=>"peak"'})
    ('track', 'summit')
    """
    said = tags_of(tags)
    named = said.get("kind", "").lower()
    if named in KINDS:
        return named
    kind = _first(said, _ANY_TABLE)
    return None if kind is None else _line(kind, said)


def tags_of(columns: Mapping[str, object]) -> dict[str, str]:
    """Tags of a feature whose columns they are, with what GDAL packs into ``other_tags``."""
    said = {key: str(value).strip() for key, value in columns.items() if told(value)}
    for key, value in _OTHER_TAGS.findall(said.get("other_tags", "")):
        said.setdefault(key, value)
    return said


def kinds_of_row(columns: Mapping[str, object], dimension: int) -> tuple[str, ...]:
    """Kinds of a feature by its columns and its shape: as `kinds_of`, with a column ``kind``."""
    said = tags_of(columns)
    if said.get("kind", "").lower() in KINDS:
        return (said["kind"].lower(),)
    kinds = kinds_of(said, dimension)
    other = None if kinds else kind_of(said)
    return kinds if other is None else (other,)


def number_of(tags: Mapping[str, str], kind: str) -> str:
    """What is written beside or instead of a name: a road's number, a summit's height."""
    if kind in ROADS:
        return tags.get("ref", "").split(";")[0].strip()
    if kind == "summit":
        return tags.get("ele", "").strip()
    return ""


def told(value: object) -> bool:
    """Whether a column says anything: neither empty, nor NaN, nor "no"."""
    return value is not None and value == value and str(value).strip() not in ("", "no")  # noqa: PLR0124 - NaN is not itself


def _first(
    tags: Mapping[str, str], table: Mapping[str, Mapping[str, tuple[int, str]]]
) -> str | None:
    best: tuple[int, str] | None = None
    for key, value in tags.items():  # fewer than the keys of the table
        values = table.get(key)
        if values is None or value in {"no", ""}:
            continue
        found = values.get(value) or values.get("*")
        if found is not None and (best is None or found < best):
            best = found
    return None if best is None else best[1]
