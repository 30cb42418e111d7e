"""A map that the page draws from map layers: what fits a budget, the most useful kinds first."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from plotter.board.data import json_for_script
from plotter.errors import BoardError
from plotter.tiles.grid import Box

__all__ = ["DEFAULT_DRAWN_BUDGET_BYTES", "DrawnMap", "drawn_map"]

DEFAULT_DRAWN_BUDGET_BYTES: Final = 1_500_000
# What helps to find one's way is taken first; houses are many and come last.
_FIRST: Final = (
    "land", "sea", "coast", "water", "motorway", "major road", "secondary road", "river", "city",
    "town", "village", "hospital", "fire station", "police", "helipad", "shelter", "rail",
    "tertiary road", "road", "station", "island", "suburb", "summit", "lighthouse", "bridge",
    "mast", "landing place", "ford", "track", "wood", "built", "hamlet", "stream", "path",
    "service road", "wetland", "shore", "cliff", "drinking water", "filling station", "school",
    "place of worship", "park", "open", "square", "yard", "tunnel", "tram", "siding",
    "index contour", "contour", "building",
)  # fmt: skip
# The world's side is so many units: one is 0.15 m at the equator.
_UNITS: Final = float(1 << 28)
# Shapes are moved by no more than this to save points, about 3 and 12 m at the equator.
_TOLERANCES: Final = (20.0 / _UNITS, 80.0 / _UNITS)


@dataclass(frozen=True, slots=True)
class DrawnMap:
    """Map features ready to stand in the page.

    Parameters
    ----------
    data : dict
        JSON values; `assets/drawn_map.js` reads them.
    packed_bytes : int
        What they add to the page.
    left_out : tuple of str
        Kinds that did not fit, with how many features each.
    credit : str
        Whom to credit.
    """

    data: dict[str, Any]
    packed_bytes: int
    left_out: tuple[str, ...]
    credit: str

    def in_words(self) -> str:
        """Say what is on board and what is not."""
        count = sum(len(kind["shapes"]) for kind in self.data["kinds"])
        words = f"Drawn map: {count} features, {self.packed_bytes / 1e6:.2f} MB"
        if self.left_out:
            words += "; left out for size: " + ", ".join(self.left_out)
        return words + "."


def drawn_map(
    paths: Sequence[Path], area: Box, *, budget_bytes: int = DEFAULT_DRAWN_BUDGET_BYTES
) -> DrawnMap:
    """Take the features of an area from map layers, kind by kind, until the budget is used up.

    Parameters
    ----------
    paths : sequence of Path
        OpenStreetMap extracts, GeoPackage, GeoJSON or Shapefile, as for `plotter tiles build`.
    area : Box
        The ground; features are cut at its edge.
    budget_bytes : int
        Most that they may add to the page. A kind that does not fit is taken with fewer points,
        and left out as a whole where it still does not: half of the roads would mislead.

    Returns
    -------
    DrawnMap
        The features, and what was left out.

    Raises
    ------
    BoardError
        If not one kind fits the budget.
    TileError
        If a file cannot be read, or holds nothing of the area.
    """
    from plotter.tiles.build.layers import read_layers
    from plotter.tiles.build.places import to_world
    from plotter.tiles.build.style import LABELS, STYLES

    found = read_layers(paths, area)
    corners = to_world(np.array([[area.west_deg, area.south_deg], [area.east_deg, area.north_deg]]))
    (west, south), (east, north) = np.sort(corners, axis=0)
    kinds: list[dict[str, Any]] = []
    left_out, used = [], 0
    every = np.array(found.kinds)
    for kind in sorted(set(found.kinds), key=_FIRST.index):
        numbers = np.flatnonzero(every == kind)
        names = [found.names[number] for number in numbers]
        for tolerance in _TOLERANCES:
            shapes = _packed(
                found.geometries[numbers], names, (west, south, east, north), tolerance,
                named=kind in LABELS,
            )  # fmt: skip
            look = asdict(LABELS[kind] if kind in LABELS else STYLES[kind])
            part = {"kind": kind, "look": look, "shapes": shapes}
            size = len(json_for_script(part))
            if used + size <= budget_bytes:
                break
        else:
            left_out.append(f"{kind} ({len(numbers)})")
            continue
        if shapes:
            kinds.append(part)
            used += size
    if not kinds:
        raise BoardError(
            f"no kind of feature fits into {budget_bytes} bytes: allow more, or give no layers"
        )
    return DrawnMap({"units": _UNITS, "kinds": kinds}, used, tuple(left_out), found.credit)


def _packed(
    geometries: Any,  # noqa: ANN401 - an array of shapely shapes, which has no type of its own
    names: Sequence[str],
    edge: tuple[float, float, float, float],
    tolerance: float,
    *,
    named: bool,
) -> list[list[Any]]:
    """Each shape as [1 where it is an area, its paths as steps, its name where that is written]."""
    import shapely

    shapes = []
    simple = shapely.simplify(geometries, tolerance)
    for shape, name in zip(shapely.clip_by_rect(simple, *edge), names, strict=True):
        for part in shapely.get_parts(shape):
            if part.is_empty:
                continue
            area = part.geom_type == "Polygon"
            rings = [part.exterior, *part.interiors] if area else [part]
            paths = [_steps(shapely.get_coordinates(ring)) for ring in rings]
            least = 2 if named else 6 if area else 4
            if len(paths[0]) >= least:
                shapes.append([int(area), paths, name] if named else [int(area), paths])
    return shapes


def _steps(points: Any) -> list[int]:  # noqa: ANN401 - an array
    whole = np.rint(points * _UNITS).astype(np.int64)
    steps = np.diff(whole, axis=0, prepend=0)
    kept = np.any(steps != 0, axis=1)
    found: list[int] = steps[kept].ravel().tolist()
    return found
