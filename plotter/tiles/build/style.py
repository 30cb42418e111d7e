"""How each kind of feature looks: our own style, legible in sunlight and when printed in grey.

Lightness alone tells them apart: land is palest, ground cover a little darker, water flat and
outlined, ways dark. Colour only helps.
"""

from dataclasses import dataclass
from typing import Final

__all__ = ["LABELS", "LAND", "STYLES", "Label", "Look", "width_px"]

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
    "wood": Look(2, 9, fill="#d5dfc3"),
    "built": Look(3, 10, fill="#e2dcd2"),
    "wetland": Look(4, 11, fill="#dde5e0", line="#8fa6ad", width=0.8, dash=(4, 4)),
    "water": Look(5, 6, fill="#bcd3e2", line="#5f87a3", width=1.0),
    "contour": Look(6, 11, line="#b59a78", width=0.7),
    "index contour": Look(6, 9, line="#a07d55", width=1.4),
    "coast": Look(6, 4, line="#44586a", width=1.6),
    "stream": Look(7, 13, line="#6d93ae", width=1.0),
    "river": Look(8, 8, line="#4f7fa3", width=2.2),
    "cliff": Look(9, 13, line="#6b5f50", width=1.4, dash=(2, 2)),
    "building": Look(10, 14, fill="#a79c8e", line="#6f655a", width=0.6),
    "path": Look(11, 13, line="#6a4a2c", width=1.2, dash=(3, 3)),
    "track": Look(12, 12, line="#6a4a2c", width=1.6, dash=(8, 3)),
    "rail": Look(13, 9, line="#2f2f2f", width=1.1, dash=(10, 2)),
    "road": Look(14, 11, line="#6e6a64", width=3.4, core="#ffffff"),
    "major road": Look(15, 7, line="#45413c", width=5.0, core="#f2d79b"),
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
        ``dot``, ``triangle`` or ``square``: what stands at the place.
    """

    from_zoom: int
    size: int
    mark: str


LABELS: Final[dict[str, Label]] = {
    "town": Label(7, 17, "square"),
    "village": Label(11, 14, "dot"),
    "hamlet": Label(13, 12, "dot"),
    "summit": Label(11, 12, "triangle"),
    "shelter": Label(14, 12, "square"),
}


def width_px(look: Look, zoom: int) -> float:
    """Width of a line at a level: it grows slower than the ground.

    Examples
    --------
    >>> width_px(STYLES["road"], 14), round(width_px(STYLES["road"], 12), 2)
    (3.4, 1.91)
    """
    return float(max(look.width * 0.75 ** (14 - zoom), 0.5))
