"""What a feature of a vector tile is drawn as: by its own tags, else by its layer and class.

The names of layers and classes are those of the open schemas that such tiles are commonly made in
(from memory, no source at hand): where a file uses other names, its features are left out.
"""

import re
from collections.abc import Mapping
from typing import Final

from plotter.tiles.build.kinds import kind_of, told

__all__ = ["kind_in_layer"]

# Layer, class and the kind it is drawn as; first match first.
_CLASSES: Final[tuple[tuple[str, str, str], ...]] = (
    ("water|water_polygons|ocean", ".*", "water"),
    ("waterway|water_lines", "river|canal", "river"),
    ("waterway|water_lines", ".*", "stream"),
    ("landcover|landuse|land", "wetland|swamp|marsh|bog|mud", "wetland"),
    ("landcover|landuse|land", "wood|forest|scrub|orchard|vineyard", "wood"),
    ("landcover|landuse|land", "residential|commercial|industrial|retail|suburb", "built"),
    ("landcover|landuse|land|park", "grass|meadow|park|cemetery|pitch|sand|beach|rock", "open"),
    ("building|buildings", ".*", "building"),
    ("transportation|streets|roads", "(motorway|trunk|primary|secondary)(_link)?", "major road"),
    ("transportation|streets|roads", "track", "track"),
    ("transportation|streets|roads", "path|footway|cycleway|steps|bridleway|pedestrian", "path"),
    ("transportation|streets|roads", "rail|light_rail|narrow_gauge|tram|transit", "rail"),
    (
        "transportation|streets|roads",
        "(tertiary|unclassified|residential|living_street|service|minor|road)(_link)?",
        "road",
    ),
    ("place|place_labels|places", "city|town", "town"),
    ("place|place_labels|places", "village|suburb", "village"),
    ("place|place_labels|places", "hamlet|isolated_dwelling|locality|farm", "hamlet"),
    ("mountain_peak", ".*", "summit"),
)
_COLUMNS: Final = ("class", "kind", "subclass", "type")


def kind_in_layer(layer: str, tags: Mapping[str, object]) -> str | None:
    """Kind of a feature of a vector tile.

    Parameters
    ----------
    layer : str
        The layer's name.
    tags : mapping of str to object
        The feature's columns.

    Returns
    -------
    str or None
        One of `plotter.tiles.build.kinds.KINDS`; None for what is not drawn.

    Examples
    --------
    >>> kind_in_layer("transportation", {"class": "minor"}), kind_in_layer("poi", {"class": "bank"})
    ('road', None)
    """
    tagged = kind_of(tags)
    if tagged is not None:
        return tagged
    said = next((str(tags[name]) for name in _COLUMNS if told(tags.get(name))), "")
    for layers, classes, kind in _CLASSES:
        if re.fullmatch(layers, layer) and re.fullmatch(classes, said):
            return kind
    return None
