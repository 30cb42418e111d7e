"""Latitude and longitude as a format: read by the grammar of `degrees`, written in three styles."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.formats.degrees.grammar import parses
from plotter.formats.degrees.languages import doubted
from plotter.formats.degrees.meaning import readings_of_pairs
from plotter.formats.degrees.stated import stated_reading
from plotter.formats.degrees.tokens import Token, tokenisations
from plotter.formats.protocol import Format, Texts, squares_one_by_one
from plotter.formats.result import Reading
from plotter.formats.squares import metres_per_degree
from plotter.geodesy.angle import AngleStyle, format_angle
from plotter.geodesy.position import Area, Position

__all__ = ["FORMAT", "FORMATS", "SLACK", "format_latlon", "readings_of_tokens"]

# A fifth over the wished size is accepted: five decimals (1.11 m) stand for a metre. A billionth
# more, so that a size of just that much (a twelfth of a degree) is no matter of rounding.
SLACK: Final = math.log10(1.2) + 1e-9


def format_latlon(position: Position, style: AngleStyle = "dd", decimals: int = 5) -> str:
    """Write a place as latitude and longitude with their letters, rounded to the last figure.

    Parameters
    ----------
    position : Position
        The place.
    style : {"dd", "ddm", "dms"}
        Decimal degrees, degrees and minutes, or degrees, minutes and seconds.
    decimals : int
        Decimals of the last part.

    Examples
    --------
    >>> format_latlon(Position(48.8582, 2.2945), "ddm", 3)
    "48°51.492'N 002°17.670'E"
    """
    lat = format_angle(position.lat_deg, "NS", style, decimals)
    lon = format_angle(position.lon_deg, "EW", style, decimals)
    return f"{lat} {lon}"


def _readings(text: str, area: Area | None) -> list[Reading]:
    plain_text = text.strip()
    if (stated := stated_reading(plain_text)) is not None:
        return [stated]
    wrong: FormatError | None = None
    found: dict[Reading, None] = {}
    for tokens in tokenisations(plain_text):
        if not _may_be_angles(tokens):
            continue
        try:
            found |= dict.fromkeys(_of_tokens(doubted(tokens), plain_text, area))
        except FormatError as error:
            wrong = wrong or error
    if not found and wrong is not None:
        raise wrong
    return list(found)


def readings_of_tokens(tokens: Sequence[Token], text: str, area: Area | None) -> list[Reading]:
    """Every place that the tokens of two angles name.

    Raises
    ------
    FormatError
        If they make no place: the first token that fits nowhere, or what is wrong.
    """
    return _of_tokens(doubted(tuple(tokens)), text, area)


def _of_tokens(tokens: tuple[Token, ...], text: str, area: Area | None) -> list[Reading]:
    found = parses(tokens)
    if found.pairs:
        return readings_of_pairs(found.pairs, text, area)
    if found.one_angle or found.stuck is None:
        raise FormatError(
            f"{text!r} does not make one latitude and one longitude: expected two angles, as in "
            "48.8582N 2.2945E or 48 51 29N 2 17 40E",
            text,
        )
    raise FormatError(_what_is_wrong(tokens, found.stuck, text), text)


def _what_is_wrong(tokens: tuple[Token, ...], stuck: Token, text: str) -> str:
    """Why tokens make no pair of angles."""
    for one, point, two, after in zip(tokens, tokens[1:], tokens[2:], tokens[3:], strict=False):
        decimals = (
            point.value("point") is not None and two.glued and two.value("figures") is not None
        )
        if decimals and after.value("figures") is not None:
            return (
                f"{one.text}.{two.text} in {text!r} has decimals, and {after.text!r} follows: only "
                "the last part of an angle can have decimals; ask again"
            )
    if stuck.value("unit") is not None and stuck.value("side") is None:
        return (
            f"{text!r} carries the wrong mark {stuck.text!r}: expected degrees, then minutes, then "
            "seconds"
        )
    return (
        f"cannot tell what {stuck.text!r} stands for in {text!r}: expected two angles, as in "
        "48.8582N 2.2945E; say latitude and longitude apart"
    )


def _may_be_angles(tokens: tuple[Token, ...]) -> bool:
    """Whether the tokens are those of angles: all have a part, and there are numbers."""
    figures = sum(token.value("figures") is not None for token in tokens)
    named = any(
        token.value(name) is not None for token in tokens for name in ("side", "unit", "label")
    )
    return (figures >= 2 or (figures == 1 and named)) and all(token.roles for token in tokens)


def _decimals(size_m: float, lat_deg: float) -> int:
    """Fewest decimals of a degree whose cell is no larger than a size, 0 to 9."""
    per_degree = max(metres_per_degree(lat_deg))
    return min(max(math.ceil(math.log10(per_degree / size_m) - SLACK), 0), 9)


def _write(position: Position, size_m: float) -> str:
    return format_latlon(position, "dd", _decimals(size_m, position.lat_deg))


def _write_array(lat_deg: ArrayLike, lon_deg: ArrayLike, size_m: float) -> Texts:
    lat, lon = np.broadcast_arrays(
        np.asarray(lat_deg, dtype=float).ravel(), np.asarray(lon_deg, dtype=float).ravel()
    )
    decimals = _decimals(size_m, 0.0)
    return np.array(
        [
            f"{format_angle(a, 'NS', 'dd', decimals)} {format_angle(o, 'EW', 'dd', decimals)}"
            for a, o in zip(lat.tolist(), lon.tolist(), strict=True)
        ],
        dtype=np.str_,
    )


FORMAT: Final = Format(
    name="latlon",
    example="48.8582N 2.2945E",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=_write_array,
)

FORMATS: Final = (FORMAT,)
