"""From pairs of angles to the places that they name: which is which, and which side."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from plotter.errors import FormatError
from plotter.formats.degrees.angles import NAMES, Value, ways_of
from plotter.formats.degrees.grammar import Angle, Pair
from plotter.formats.degrees.languages import in_languages
from plotter.formats.degrees.lexicon import Axis
from plotter.formats.result import Reading, Unstated
from plotter.formats.squares import graticule_square
from plotter.formats.zones import inside
from plotter.geodesy.position import Area

__all__ = ["first_axis", "readings_of_pairs"]

_SIDE: Final = {("lat", 1): "north", ("lat", -1): "south", ("lon", 1): "east", ("lon", -1): "west"}
_UNSTATED: Final = "no letter and no sign"
_UNLIKE: Final = 8
# A dash that touches the figures on both sides of it, or on neither: "10-20", "12:30 - 13:45".
_SPAN: Final = re.compile(r"\d(?:[-–—−]|\s+[-–—−]\s+)\d")


@dataclass(frozen=True, slots=True)
class _Meaning:
    """What one pair means, and how forced that is: less is better."""

    readings: tuple[Reading, ...]
    strain: int
    pair: Pair


def readings_of_pairs(pairs: Sequence[Pair], text: str, area: Area | None) -> list[Reading]:
    """Every place that a text's pairs name, likeliest first.

    Of pairs that differ in how forced they are (a sign against its letter, angles of unlike parts)
    the least forced are given, and the others are said; of equal ones all are given.

    Raises
    ------
    FormatError
        If no pair can be a place: what is wrong.
    """
    found: list[_Meaning] = []
    wrong: list[FormatError] = []
    for pair in in_languages(pairs, text):
        try:
            readings = _readings(pair, text, area)
        except FormatError as error:
            wrong.append(error)
            continue
        if readings:
            found.append(_Meaning(readings, _strain(pair), pair))
    if not found:
        if wrong:
            raise min(wrong, key=lambda error: "both parts" in str(error))
        return []
    least = min(each.strain for each in found)
    best = _unlike([r for each in found if each.strain == least for r in each.readings])
    if least >= _UNLIKE:
        said = "angles of unlike parts: a number before them may be another thing"
        # Marks say of each number what it is; without them one may belong to the words before.
        marked = all((p.first if len(p.first.numbers) > len(p.second.numbers) else p.second).marked
                     for p in pairs)  # fmt: skip
        best = [
            replace(r, assumed=(*r.assumed, said))
            if marked
            else replace(r, asks=(*r.asks, f"{said}; ask for the position alone"))
            for r in best
        ]
    places = {_key(each) for each in best}
    others = _unlike([r for each in found if each.strain > least for r in each.readings])
    also = tuple(
        dict.fromkeys(f"not taken as {_words(each)}" for each in others if _key(each) not in places)
    )[:2]
    return [replace(each, assumed=each.assumed + also) for each in best]


def _key(found: Reading) -> tuple[float, float, float]:
    centre = found.square.centre
    return centre.lat_deg, centre.lon_deg, found.square.size_m


def _words(found: Reading) -> str:
    centre = found.square.centre
    return f"{centre.lat_deg:.5f}, {centre.lon_deg:.5f}"


def _unlike(found: Sequence[Reading]) -> list[Reading]:
    """One reading a place: the one that assumes least."""
    kept: dict[tuple[float, float, float], Reading] = {}
    for each in found:
        before = kept.get(_key(each))
        if before is None or len(each.assumed) < len(before.assumed):
            kept[_key(each)] = each
    return list(kept.values())


def _strain(pair: Pair) -> int:
    """How forced a pair is."""
    first, second = pair.first, pair.second
    unlike = len(first.numbers) != len(second.numbers)
    joints = {each.joint for each in (first, second) if len(each.numbers) > 1}
    # A dash that both joins and parts, a comma that is both a point and a gap.
    mixed = pair.separator == "dash" and "dash" in joints
    mixed |= pair.separator == "comma" and any(n.comma for a in (first, second) for n in a.numbers)
    marked = first.units != second.units
    return _UNLIKE * unlike + 4 * (len(joints) > 1) + 2 * mixed + marked


def _readings(pair: Pair, text: str, area: Area | None) -> tuple[Reading, ...]:
    found: list[tuple[Reading, bool]] = []
    wrong: FormatError | None = None
    _check_bare(pair, text)
    for first_axis, why in _orders(pair, text):
        second_axis: Axis = "lon" if first_axis == "lat" else "lat"
        try:
            for one, two in ways_of((pair.first, first_axis), (pair.second, second_axis), text):
                lat, lon = (one, two) if first_axis == "lat" else (two, one)
                angles = (pair.first, pair.second)
                lat_angle, lon_angle = angles if first_axis == "lat" else angles[::-1]
                found += _of_values((lat_angle, lat), (lon_angle, lon), why)
        except FormatError as error:
            wrong = wrong or error
    if not found and wrong is not None:
        raise wrong
    return _chosen(found, pair, text, area)


def _check_bare(pair: Pair, text: str) -> None:
    """Reject what may as well be one angle of degrees and minutes, two times, or a number."""
    first, second = pair.first, pair.second
    dashed = second.sign == "-" and second.joint == "dash" and not second.sides
    if (pair.separator == "dash" and "dash" in (first.joint, second.joint)) or (
        dashed and not first.sign and not second.label and not pair.separator
    ):
        raise FormatError(f"{text!r} has a dash inside an angle and between: say them apart", text)
    bare = not any(a.sides or a.sign or a.label or a.units for a in (first, second))
    commas = any(number.comma for a in (first, second) for number in a.numbers)
    if bare and commas and pair.separator == "comma" and " " not in text.strip():
        raise FormatError(
            f"{text!r} has commas in its numbers and between them: ask for latitude and "
            "longitude, each with its side",
            text,
        )
    joints = {a.joint for a in (first, second) if len(a.numbers) > 1}
    if bare and len(joints) > 1:
        raise FormatError(
            f"{text!r} joins its numbers in two ways and may be a date and a time: ask for "
            "latitude and longitude, each with its side",
            text,
        )
    if bare and len(first.numbers) != len(second.numbers):
        raise FormatError(
            f"{text!r} is two numbers of unlike parts and may be a date and a time: ask for "
            "latitude and longitude, each with its side",
            text,
        )
    spanned = not any(a.sides or a.label or a.units for a in (first, second))
    spanned &= all(n.is_whole for a in (first, second) for n in a.numbers) and not first.sign
    spanned &= all(len(a.numbers) == 1 or a.joint == "colon" for a in (first, second))
    dash = second.sign == "-" or pair.separator == "dash"
    if spanned and dash and not pair.order and _SPAN.search(text):
        raise FormatError(
            f"{text!r} may be a span from one number to another, or a minus: ask for latitude and "
            "longitude, each with its side",
            text,
        )
    clock = all(a.joint == "colon" and len(a.numbers) == 2 for a in (first, second))
    if bare and clock and all(n.is_whole for a in (first, second) for n in a.numbers):
        raise FormatError(
            f"{text!r} may be two times: ask for latitude and longitude, each with its side", text
        )
    whole = all(len(a.numbers) == 1 and a.numbers[0].is_whole for a in (first, second))
    if not whole or pair.separator or first.marked or second.marked or pair.order:
        return
    if first.label or second.label or first.sign or second.sign:
        return
    at_end = second.sides and not second.side_first and not first.sides
    at_start = first.sides and first.side_first and not second.sides
    small = len(second.numbers[0].whole) <= 2 and int(second.numbers[0].whole) < 60
    if small and (at_end or at_start):
        raise FormatError(
            f"{text!r} may be one angle of degrees and minutes, or two: ask for latitude and "
            "longitude, each with its side",
            text,
        )


def _axis(angle: Angle, text: str) -> Axis | None:
    axis = angle.sides[0][0] if angle.sides else None
    if axis and angle.label and axis != angle.label:
        raise FormatError(
            f"{text!r} calls an angle with the letter {angle.side_text!r} a "
            f"{NAMES[angle.label]}: ask which",
            text,
        )
    return axis or angle.label


def first_axis(pair: Pair, text: str) -> Axis | None:
    """Which the first angle is, where that hangs on no figures but a latitude of more than 90.

    Raises
    ------
    FormatError
        If its words disagree.
    """
    axis, why = next(iter(_orders(pair, text)))
    return axis if not why or why == ("latitude first",) else None


def _orders(pair: Pair, text: str) -> Iterator[tuple[Axis, tuple[str, ...]]]:
    """Which the first angle is, in every way that is left open; the usual one first."""
    first, second = _axis(pair.first, text), _axis(pair.second, text)
    if first and first == second:
        raise FormatError(
            f"both parts of {text!r} are a {NAMES[first]}: ask for the other one", text
        )
    by_side: Axis | None = first or (("lon" if second == "lat" else "lat") if second else None)
    if pair.order and by_side and pair.order != by_side:
        raise FormatError(
            f"{text!r} calls its first number a {NAMES[pair.order]}, and its letters say that it "
            f"is a {NAMES[by_side]}: ask which",
            text,
        )
    known = pair.order or by_side
    if known and pair.loose:
        angle = pair.first if pair.first.sides else pair.second
        yield known, (f"the letter {angle.side_text} belongs to {angle.numbers[-1].text}",)
        return
    if known:
        yield known, ()
        return
    values = [int(each.numbers[0].whole) for each in (pair.first, pair.second)]
    long = max(len(each.numbers[0].whole) for each in (pair.first, pair.second)) > 3
    if not long and values[0] > 90 >= values[1]:
        yield "lon", (f"longitude first: {pair.first.numbers[0].text} cannot be a latitude",)
        return
    yield "lat", ("latitude first",)
    if values[0] <= 180:
        yield "lon", ("longitude first",)


def _of_values(
    lat: tuple[Angle, Value], lon: tuple[Angle, Value], order: tuple[str, ...]
) -> Iterator[tuple[Reading, bool]]:
    """Readings of two values with every side that they may have; whether all of it was stated."""
    (lat_angle, lat_value), (lon_angle, lon_value) = lat, lon
    choices = (_signs(lat_angle, lat_value, "lat"), _signs(lon_angle, lon_value, "lon"))
    for (lat_sign, lat_why, lat_open), (lon_sign, lon_why, lon_open) in product(*choices):
        turn = -1 if lon_value.turned else 1
        square = graticule_square(
            lat_sign * lat_value.value_deg,
            lon_sign * turn * lon_value.value_deg,
            lat_value.unit_deg,
            lon_value.unit_deg,
        )
        sides = [side for side, is_open in ((lat_why, lat_open), (lon_why, lon_open)) if is_open]
        stated = [
            side for side, is_open in ((lat_why, lat_open), (lon_why, lon_open)) if not is_open
        ]
        open_ones: dict[Unstated, bool] = {
            "lat side": lat_open,
            "lon side": lon_open,
            "order": bool(order),
            "units": lat_value.bare or lon_value.bare,
        }
        unstated = frozenset(name for name, is_open in open_ones.items() if is_open)
        why = (
            *order,
            *lat_value.assumed,
            *lon_value.assumed,
            *(each for each in stated if each),
            *([f"{' and '.join(sides)}: {_UNSTATED}"] if sides else ()),
        )
        reading = Reading(
            "latlon", square, why, unstated=unstated, asks=(*lat_value.asks, *lon_value.asks)
        )
        one_letter = bool(lat_angle.sides) != bool(lon_angle.sides)
        if one_letter and not (lat_angle.label or lon_angle.label):
            other = lon_angle if lat_angle.sides else lat_angle
            letter = lat_angle.side_text or lon_angle.side_text
            said = " ".join(number.text for number in other.numbers)
            ask = f"the letter {letter} stands with one angle, {said!r} has none: ask for both"
            reading = replace(reading, asks=(*reading.asks, ask))
        yield reading, not sides and order != ("longitude first",)


def _signs(angle: Angle, value: Value, axis: Axis) -> list[tuple[int, str, bool]]:
    """Signs that an angle may have, each with its words and whether it is left open."""
    if value.turned:
        # Counted all the way round, it is east of Greenwich by what it says.
        west = any(sign < 0 for _, sign in angle.sides) or angle.sign == "-"
        return [(-1 if west else 1, "", False)]
    by_sign = {"-": -1, "+": 1}.get(angle.sign, 0)
    if angle.sides:
        found = []
        several = len(angle.sides) > 1 or angle.side_open
        for _, sign in angle.sides:
            name = _SIDE[axis, sign]
            why = f"the letter {angle.side_text} taken as {name}" if several else ""
            if by_sign and by_sign != sign:
                why = f"{name} by {angle.side_text!r}, against its sign {angle.sign!r}"
            elif by_sign:
                why = f"the sign {angle.sign} only repeats the letter {angle.side_text}"
            found.append((sign, why, False))
        if by_sign and all(sign != by_sign for _, sign in angle.sides):
            name = _SIDE[axis, by_sign]
            found.insert(0, (by_sign, f"{name} by its sign, against {angle.side_text!r}", False))
        return found
    if by_sign or not value.value_deg:
        return [(by_sign or 1, "", False)]
    plain = (1, _SIDE[axis, 1], True)
    other = (-1, _SIDE[axis, -1], True)
    return [plain, other]


def _chosen(
    found: list[tuple[Reading, bool]], pair: Pair, text: str, area: Area | None
) -> tuple[Reading, ...]:
    """What is stated, else what the area holds, else what is usual: north, east, latitude first."""
    stated = [reading for reading, is_stated in found if is_stated]
    if stated and len(stated) == len(found):
        return tuple(stated)
    if area is not None:
        fitting = [reading for reading, _ in found if inside(reading.square.centre, area)]
        first = [r for r in fitting if "longitude first" not in r.assumed]
        if fitting:
            return tuple(_by_area(each) for each in first or fitting)
    plain = all(
        len(a.numbers) == 1 and a.numbers[0].is_whole and not a.marked
        and not a.sides and not a.sign and not a.label
        for a in (pair.first, pair.second)
    )  # fmt: skip
    if plain and not pair.order:
        raise FormatError(
            f"{text!r} is two whole numbers and may be anything: ask for latitude and longitude, "
            "each with its side",
            text,
        )
    usual = [reading for reading, _ in found if not _southern(reading)]
    first = [reading for reading in usual if "longitude first" not in reading.assumed]
    return tuple(first or usual)


def _southern(found: Reading) -> bool:
    """Whether a side that nobody stated is not the usual one."""
    centre = found.square.centre
    south = "lat side" in found.unstated and centre.lat_deg < 0.0
    return south or ("lon side" in found.unstated and centre.lon_deg < 0.0)


def _by_area(found: Reading) -> Reading:
    """The reading with its unstated side or order owed to the area."""
    assumed = tuple(
        f"{why.removesuffix(': ' + _UNSTATED)}: {_UNSTATED}, fits the area of operations"
        if why.endswith(_UNSTATED)
        else f"{why}: fits the area of operations"
        if why == "longitude first"
        else why
        for why in found.assumed
    )
    return replace(found, assumed=assumed)
