"""Texts of one shape: the grammar decides once, and the figures are put in for all of them.

Two texts have one shape where they differ in nothing but their figures. What the grammar makes of
a text depends on its shape, and on its figures in few ways (a minute of 60, a latitude of 95, a
value of nothing): rows where one of these may matter are left to the reader of single texts.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.errors import FormatError
from plotter.formats.degrees.angles import FINEST_DEG, is_bare, parts_of
from plotter.formats.degrees.characters import plain
from plotter.formats.degrees.grammar import Angle, parses
from plotter.formats.degrees.languages import doubted, in_languages
from plotter.formats.degrees.lexicon import Axis
from plotter.formats.degrees.meaning import first_axis, readings_of_pairs
from plotter.formats.degrees.stated import stated_angles
from plotter.formats.degrees.tokens import tokenisations
from plotter.geodesy.arrays import FloatArray, IntArray

__all__ = ["Shape", "shape_of"]

# So many figures and their point are below 2**53.
_MOST_FIGURES: Final = 15
_SIGN: Final = {"+": 1, "-": -1}


@dataclass(frozen=True, slots=True)
class _Angle:
    """Where the numbers of an angle stand, as slices with their decimals, and what its side is."""

    parts: tuple[slice, ...]
    negative: bool
    stated: bool
    unit_deg: float
    points: tuple[int, ...]
    foreign: bool = False

    def value_deg(self, text: str) -> float:
        """Signed degrees; NaN where the reader of single texts must decide."""
        parts = self.parts
        value = float(text[parts[0]])
        if len(parts) > 1:
            minutes = float(text[parts[1]])
            seconds = float(text[parts[2]]) if len(parts) > 2 else 0.0
            if minutes >= 60.0 or seconds >= 60.0:
                return math.nan
            value += minutes / 60.0
            if seconds:
                value += seconds / 3600.0
        if not value:
            # Nothing has no side; and −0.0 is 0.0.
            return 0.0 if self.stated else math.nan
        return -value if self.negative else value

    def values_deg(self, figures: IntArray) -> FloatArray:
        """The same of many texts of one shape, from their characters as figures, shape (k, length).

        The figures of a part make a whole number below 2**53, and a power of ten to divide it by is
        exact: the quotient is the nearest float, as it is of the text.
        """
        values: FloatArray | None = None
        wrong = np.zeros(len(figures), dtype=np.bool_)
        for place, part in enumerate(self.parts):
            value = _number(figures[:, part], self.points[place])
            if place:
                wrong |= value >= 60.0
                value /= 60.0**place
            values = value if values is None else values + value
        assert values is not None  # noqa: S101 - an angle has a part
        wrong |= (values == 0.0) & (not self.stated)
        if self.negative:
            values = -values + 0.0  # no −0.0
        values[wrong] = np.nan
        return values


def _number(figures: IntArray, decimals: int) -> FloatArray:
    """Numbers from their characters as figures, with so many of them behind a point."""
    columns = [*range(figures.shape[1])]
    if decimals:
        columns.remove(figures.shape[1] - decimals - 1)
    whole = np.zeros(len(figures), dtype=np.int64)
    for column in columns:
        whole = whole * 10 + figures[:, column]
    number: FloatArray = whole / 10.0**decimals
    return number


@dataclass(frozen=True, slots=True)
class Shape:
    """What texts of one shape mean.

    Parameters
    ----------
    lat, lon : _Angle
        Where each stands.
    assumed : str
        What the reading of each of them rests on, parts joined with a semicolon.
    foreign : bool
        Whether its figures or decimal marks are not plain ones.
    sure : bool
        Whether the texts state their sides and their order, so that no area can settle them.
    """

    lat: _Angle
    lon: _Angle
    assumed: str
    foreign: bool = False
    sure: bool = True

    def place(self, text: str) -> tuple[float, float] | None:
        """Latitude and longitude of a text of this shape, degrees.

        None where the reader of single texts must decide: a part of 60 and more, a latitude beyond
        90, a longitude of 180, which has two sides, and beyond.
        """
        if self.foreign:
            text = _written(text)
        lat, lon = self.lat.value_deg(text), self.lon.value_deg(text)
        return (lat, lon) if -90.0 <= lat <= 90.0 and -180.0 < lon < 180.0 else None

    @property
    def is_plain(self) -> bool:
        """Whether `places` can read its texts: plain figures, and numbers that a float holds."""
        return not self.foreign and all(
            part.stop - part.start <= _MOST_FIGURES
            for angle in (self.lat, self.lon)
            for part in angle.parts
        )

    def places(self, texts: Sequence[str]) -> tuple[FloatArray, FloatArray]:
        """Latitudes and longitudes of texts of this shape, degrees, NaN where `place` has none.

        Parameters
        ----------
        texts : sequence of str, length k
            All of one length, as one shape has it; `is_plain`.
        """
        length = len(texts[0])
        codes = np.array(texts, dtype=f"U{length}").view(np.uint32).reshape(len(texts), length)
        figures = codes.astype(np.int64) - ord("0")
        lat, lon = self.lat.values_deg(figures), self.lon.values_deg(figures)
        out = ~((lat >= -90.0) & (lat <= 90.0) & (lon > -180.0) & (lon < 180.0))
        lat[out] = lon[out] = np.nan
        return lat, lon


def shape_of(text: str) -> Shape | None:
    """The shape of a text, where every text of it with sound figures has one meaning.

    Parameters
    ----------
    text : str
        A text with nothing before the position.
    """
    bare = text.rstrip().rstrip(".;,")
    if text[:1].isspace():
        return None
    try:
        stated = stated_angles(bare)
        if stated is not None:
            if stated.assumed or stated.good_m:
                return None
            return _shape(text, (stated.lat, stated.lon), "lat", (), sure=True)
        ways = list(tokenisations(bare))
        if len(ways) != 1 or not all(token.roles for token in ways[0]):
            return None
        pairs = in_languages(parses(doubted(ways[0])).pairs, bare)
        if len(pairs) != 1:
            return None
        readings = readings_of_pairs(pairs, bare, None)
        axis = first_axis(pairs[0], bare)
        if len(readings) != 1 or axis is None or readings[0].asks:
            return None
        angles = (pairs[0].first, pairs[0].second)
        return _shape(text, angles, axis, readings[0].assumed, sure=not readings[0].unstated)
    except FormatError:
        return None


def _shape(
    text: str, angles: tuple[Angle, Angle], axis: Axis, assumed: tuple[str, ...], *, sure: bool
) -> Shape | None:
    # What is assumed must not hang on the figures, nor say them.
    if any(character.isdigit() for why in assumed for character in why):
        return None
    other: Axis = "lon" if axis == "lat" else "lat"
    one = _plan(angles[0], angles[1], axis, text)
    two = _plan(angles[1], angles[0], other, text)
    if one is None or two is None:
        return None
    lat, lon = (one, two) if axis == "lat" else (two, one)
    return Shape(lat, lon, "; ".join(assumed), lat.foreign or lon.foreign, sure)


def _plan(angle: Angle, other: Angle, axis: Axis, text: str) -> _Angle | None:
    numbers, why = parts_of(angle, other, axis, text)
    signs = {sign for _, sign in angle.sides} | ({_SIGN[angle.sign]} if angle.sign else set())
    if why or is_bare(angle, numbers) or len(signs) > 1:
        return None
    if len(numbers) == 1 and numbers[0].is_whole and not (angle.sides or angle.units or angle.sign):
        return None
    parts = []
    foreign = False
    written_text = _written(text)
    for number in numbers:
        written = number.whole + (f".{number.decimals}" if number.decimals else "")
        here = slice(number.at, number.at + len(written))
        if written_text[here] != written or number.fraction or number.exponent:
            return None
        foreign |= text[here] != written
        parts.append(here)
    unit = 10.0 ** -len(numbers[-1].decimals) / 60.0 ** (len(numbers) - 1)
    points = tuple(len(number.decimals) for number in numbers)
    return _Angle(tuple(parts), -1 in signs, bool(signs), max(unit, FINEST_DEG), points, foreign)


def _written(text: str) -> str:
    """The text in plain characters with a point before decimals, of the same length."""
    if not text.isascii():
        found = plain(text).text
        text = found if len(found) == len(text) else text
    return text.replace(",", ".")
