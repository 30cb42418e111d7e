"""What the tags of a map feature make it: the kind it is drawn as, or nothing."""

import re
from collections.abc import Mapping
from typing import Final

__all__ = ["KINDS", "kind_of", "told"]

KINDS: Final = frozenset({
    "land", "sea", "water", "wetland", "wood", "built", "open", "building",
    "major road", "road", "track", "path", "rail", "river", "stream", "coast", "cliff",
    "town", "village", "hamlet", "summit", "shelter", "contour", "index contour",
})  # fmt: skip
"""Every kind that has a look in `plotter.tiles.build.style`."""

# Key and value of OpenStreetMap (its own wiki's main tags), first match first.
_TAGS: Final[tuple[tuple[str, str, str], ...]] = (
    ("natural", "water|bay|strait", "water"),
    ("waterway", "riverbank|dock", "water"),
    ("landuse", "reservoir|basin", "water"),
    ("natural", "wetland|mud", "wetland"),
    ("natural", "wood|scrub", "wood"),
    ("landuse", "forest|orchard|vineyard", "wood"),
    ("landuse", "residential|commercial|industrial|retail|construction|military", "built"),
    ("leisure", "park|pitch|golf_course|garden|common", "open"),
    ("landuse", "grass|meadow|recreation_ground|village_green|cemetery", "open"),
    ("natural", "grassland|heath|beach|sand|bare_rock|scree", "open"),
    ("building", ".+", "building"),
    ("highway", "(motorway|trunk|primary|secondary)(_link)?", "major road"),
    ("highway", "(tertiary|unclassified|residential|living_street|service|road)(_link)?", "road"),
    ("highway", "track", "track"),
    ("highway", "path|footway|bridleway|steps|cycleway|pedestrian", "path"),
    ("railway", "rail|light_rail|narrow_gauge|tram", "rail"),
    ("waterway", "river|canal", "river"),
    ("waterway", "stream|ditch|drain", "stream"),
    ("natural", "coastline", "coast"),
    ("natural", "cliff", "cliff"),
    ("place", "city|town", "town"),
    ("place", "village|suburb", "village"),
    ("place", "hamlet|isolated_dwelling|locality|farm", "hamlet"),
    ("natural", "peak|volcano", "summit"),
    ("tourism", "alpine_hut|wilderness_hut|camp_site", "shelter"),
    ("amenity", "shelter", "shelter"),
)
_OTHER_TAGS: Final = re.compile(r'"((?:[^"\\]|\\.)*)"=>"((?:[^"\\]|\\.)*)"')


def kind_of(tags: Mapping[str, object]) -> str | None:
    """Kind of a feature by its tags.

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
    said = {key: str(value).strip() for key, value in tags.items() if told(value)}
    for key, value in _OTHER_TAGS.findall(said.get("other_tags", "")):
        said.setdefault(key, value)
    named = said.get("kind", "").lower()
    if named in KINDS:
        return named
    for key, values, kind in _TAGS:
        if key in said and re.fullmatch(values, said[key]):
            return kind
    return None


def told(value: object) -> bool:
    """Whether a column says anything: neither empty, nor NaN, nor "no"."""
    return value is not None and value == value and str(value).strip() not in ("", "no")  # noqa: PLR0124 - NaN is not itself
