"""How each kind of feature looks: our own style, legible in sunlight and when printed in grey.

Lightness alone tells them apart: land is palest, ground cover a little darker, water flat and
outlined, ways dark. Colour only helps.
"""

from dataclasses import dataclass
from typing import Final

__all__ = ["AREA_NAMES", "LABELS", "LAND", "STYLES", "Label", "Look", "from_zoom", "width_px"]

LAND: Final = "#f6f3ea"


@dataclass(frozen=True, slots=True)
class Look:
    """One kind's look.

    Parameters
    ----------
    order : int
        Lower is drawn first.
    from_zoom : int
        Coarsest level at which it is drawn.
    fill : str
        Of an area; empty for none.
    line : str
        Of a line, or of an area's edge; empty for none.
    width : float
        Of the line at level 14, pixels.
    core : str
        Of a second, narrower line over the first: roads have a pale middle.
    dash : tuple of float
        On and off, pixels at level 14; empty for a whole line.
    """

    order: int
    from_zoom: int
    fill: str = ""
    line: str = ""
    width: float = 1.0
    core: str = ""
    dash: tuple[float, ...] = ()


STYLES: Final[dict[str, Look]] = {
    "land": Look(0, 0, fill=LAND, line="#5c6a75", width=1.2),
    "sea": Look(0, 0, fill="#bcd3e2"),
    "open": Look(1, 11, fill="#ecebd3"),
    "wood": Look(2, 8, fill="#d5dfc3"),
    "built": Look(3, 9, fill="#e9e3d8"),
    "park": Look(4, 12, fill="#e0e6cc"),
    "yard": Look(4, 13, fill="#e3dfd8"),
    "square": Look(4, 14, fill="#efe9dc", line="#8f887c", width=0.6),
    "wetland": Look(5, 11, fill="#dde5e0", line="#8fa6ad", width=0.8, dash=(4, 4)),
    "water": Look(6, 6, fill="#bcd3e2", line="#5f87a3", width=1.0),
    "contour": Look(7, 11, line="#b59a78", width=0.7),
    "index contour": Look(7, 9, line="#a07d55", width=1.4),
    "shore": Look(7, 11, line="#5f87a3", width=1.0, dash=(6, 3)),
    "coast": Look(7, 4, line="#44586a", width=1.6),
    "stream": Look(8, 13, line="#6d93ae", width=1.0),
    "river": Look(9, 8, line="#4f7fa3", width=2.2),
    "cliff": Look(10, 13, line="#6b5f50", width=1.4, dash=(2, 2)),
    "building": Look(11, 14, fill="#d6cec1", line="#a2988a", width=0.6),
    "tunnel": Look(12, 15, line="#9a948b", width=1.0, dash=(2, 4)),
    "path": Look(13, 14, line="#7a5f45", width=0.8, dash=(3, 2.5)),
    "siding": Look(14, 15, line="#7c7c7c", width=0.7),
    "track": Look(14, 12, line="#6a4a2c", width=1.5, dash=(8, 3)),
    "service road": Look(15, 14, line="#98938a", width=2.0, core="#ffffff"),
    "road": Look(16, 12, line="#807b73", width=3.4, core="#ffffff"),
    "tertiary road": Look(17, 11, line="#6b665f", width=4.1, core="#fffdf4"),
    "secondary road": Look(18, 10, line="#57534d", width=4.7, core="#f8ecc6"),
    "major road": Look(19, 8, line="#45413c", width=5.4, core="#eccb84"),
    "motorway": Look(20, 6, line="#33302c", width=6.4, core="#b8a687"),
    "tram": Look(21, 15, line="#5a564f", width=0.7),
    "rail": Look(22, 9, line="#6a655e", width=0.8, dash=(9, 2)),
}


@dataclass(frozen=True, slots=True)
class Label:
    """How a named point is written.

    Parameters
    ----------
    from_zoom : int
        Coarsest level at which it is written.
    size : int
        Of the letters, pixels.
    mark : str
        What stands at the place: a name of `plotter.tiles.build.marks.MARKS`; empty for nothing.
    to_zoom : int
        Finest level at which it is written: within a town its streets need the room.
    """

    from_zoom: int
    size: int
    mark: str
    to_zoom: int = 30


# The order is that of importance: the first is written first, and the others keep off it.
LABELS: Final[dict[str, Label]] = {
    "city": Label(5, 19, "square", 13),
    "town": Label(7, 17, "square", 15),
    "hospital": Label(13, 12, "hospital"),
    "fire station": Label(14, 12, "fire station"),
    "police": Label(14, 12, "police"),
    "helipad": Label(14, 12, "helipad"),
    "village": Label(11, 14, "dot"),
    "island": Label(11, 13, ""),
    "station": Label(15, 11, "station"),
    "bridge": Label(15, 11, "bridge"),
    "shelter": Label(14, 12, "shelter"),
    "suburb": Label(13, 13, "", 16),
    "summit": Label(11, 12, "triangle"),
    "lighthouse": Label(11, 12, "lighthouse"),
    "mast": Label(13, 11, "mast"),
    "landing place": Label(15, 11, "landing place"),
    "ford": Label(14, 11, "ford"),
    "hamlet": Label(13, 12, "dot"),
    "drinking water": Label(16, 11, "drinking water"),
    "filling station": Label(15, 11, "filling station"),
    "school": Label(16, 11, "school"),
    "place of worship": Label(16, 11, "place of worship"),
}
AREA_NAMES: Final[dict[str, Label]] = {
    "water": Label(8, 12, ""),
    "park": Label(13, 11, ""),
    "wood": Label(11, 11, ""),
    "square": Label(15, 11, ""),
    "wetland": Label(12, 11, ""),
}
"""Areas whose name is written in them, as soon as it fits."""


def from_zoom(kind: str) -> int:
    """Coarsest level at which a kind shows.

    Examples
    --------
    >>> from_zoom("building"), from_zoom("town")
    (14, 7)
    """
    return STYLES[kind].from_zoom if kind in STYLES else LABELS[kind].from_zoom


def width_px(look: Look, zoom: int) -> float:
    """Width of a line at a level: it grows slower than the ground.

    Examples
    --------
    >>> width_px(STYLES["road"], 14), round(width_px(STYLES["road"], 12), 2)
    (3.4, 1.91)
    """
    return float(max(look.width * 0.75 ** (14 - zoom), 0.5))
