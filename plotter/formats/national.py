"""National grids of two numbers: Dutch, Swiss, Swedish, Finnish, Irish and New Zealand ones."""

import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.projected import (
    Box,
    finest_unit,
    grid_pair_readings,
    pair_of,
    projected_pair,
    truncated_pair,
)
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position

__all__ = ["FORMATS", "GRIDS", "NationalGrid"]


@dataclass(frozen=True, slots=True)
class NationalGrid:
    """One grid that is known by its name.

    Parameters
    ----------
    name : str
        Name in data.
    title : str
        Name in words.
    prefix : str
        Written before the numbers.
    words : str
        Pattern of the names that a text may begin with.
    epsg : int
        Code of the grid.
    ground : Box
        Ground that the registry gives it.
    example : tuple of float
        Easting and northing of an example.
    """

    name: str
    title: str
    prefix: str
    words: str
    epsg: int
    ground: Box
    example: tuple[int, int]


# Codes and ground: EPSG registry, as carried by PROJ.
GRIDS: Final = (
    NationalGrid(
        "rd", "the Dutch grid RD", "RD", r"rd(?:\s+new)?|rijksdriehoek\w*|dutch\s+grid",
        28992, Box(50.75, 53.7, 3.2, 7.22), (155000, 463000),
    ),
    NationalGrid(
        "lv95", "the Swiss grid LV95", "LV95", r"lv\s*95|ch1903\+|swiss\s+grid\s+lv\s*95",
        2056, Box(45.82, 47.81, 5.96, 10.49), (2600000, 1200000),
    ),
    NationalGrid(
        "lv03", "the Swiss grid LV03", "LV03", r"lv\s*03|ch1903(?!\+)|swiss\s+grid\s+lv\s*03",
        21781, Box(45.82, 47.81, 5.96, 10.49), (600000, 200000),
    ),
    NationalGrid(
        "sweref99tm", "the Swedish grid SWEREF 99 TM", "SWEREF99 TM",
        r"sweref\s*99(?:\s*tm)?|swedish\s+grid",
        3006, Box(54.96, 69.07, 10.03, 24.17), (674032, 6580822),
    ),
    NationalGrid(
        "tm35fin", "the Finnish grid ETRS-TM35FIN", "ETRS-TM35FIN",
        r"etrs[\s-]*tm35fin|tm35fin|finnish\s+grid",
        3067, Box(58.84, 70.09, 19.08, 31.59), (385600, 6672200),
    ),
    NationalGrid(
        "nztm", "the New Zealand grid NZTM", "NZTM",
        r"nztm(?:\s*2000)?|new\s+zealand\s+grid",
        2193, Box(-47.33, -34.1, 166.37, 178.63), (1576041, 6188574),
    ),
    NationalGrid(
        "itm", "the Irish grid ITM", "ITM", r"itm|irish\s+transverse\s+mercator",
        2157, Box(51.39, 55.43, -10.56, -5.34), (715830, 734697),
    ),
)  # fmt: skip


def _format(grid: NationalGrid) -> Format:
    # Compiled at the first text that may need it: most texts are in another format.
    head = rf"(?i:{grid.words})(?![\w+])[\s:,]*"
    prefix = f"{grid.prefix} "

    def readings(text: str, _area: Area | None) -> list[Reading]:
        named = re.match(head, text) if text[:2].isalpha() else None
        if named is None:
            return []
        pair = pair_of(text[named.end() :], text)
        if pair is None:
            raise FormatError(
                f"{text!r} does not give an easting and a northing on {grid.title}: expected two "
                f"numbers of metres, as in {prefix}{grid.example[0]} {grid.example[1]}",
                text,
            )
        return grid_pair_readings(grid.name, grid.title, grid.epsg, pair, text)

    def write(position: Position, size_m: float) -> str:
        if not grid.ground.holds(position):
            raise FormatError(f"{position} lies outside {grid.title}")
        pair = projected_pair(grid.epsg, position)
        return prefix + truncated_pair(pair, finest_unit(size_m))

    return Format(
        name=grid.name,
        example=f"{prefix}{grid.example[0]} {grid.example[1]}",
        readings=readings,
        write=write,
        read_array=lambda texts: squares_one_by_one(texts, readings),
        write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, write),
        covers=grid.ground.holds,
    )


FORMATS: Final = tuple(_format(grid) for grid in GRIDS)
