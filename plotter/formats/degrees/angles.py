"""From the numbers of an angle as written to degrees: parts, figures run together, ways to read."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from plotter.errors import FormatError
from plotter.formats.degrees.grammar import Angle, Number
from plotter.formats.degrees.lexicon import Axis

__all__ = ["FINEST_DEG", "NAMES", "Value", "is_bare", "parts_of", "ways_of"]

NAMES: Final = {"lat": "latitude", "lon": "longitude"}
# A tenth of a millimetre; what a calculator prints beyond that, nobody measured.
FINEST_DEG: Final = 1e-9
_PARTS: Final = ("degrees", "minutes", "seconds")
_LIMIT: Final = {"lat": 90.0, "lon": 180.0}
_WHOLE: Final = {"lat": 2, "lon": 3}
_NOT_SAID: Final = "the words were not said"
_WAYS: Final = {
    2: ("degrees and minutes", "degrees with decimals"),
    3: (
        "degrees, minutes and seconds",
        "degrees and minutes with decimals",
        "degrees with decimals",
    ),
}


@dataclass(frozen=True, slots=True)
class Value:
    """An angle in degrees, without its side.

    Parameters
    ----------
    value_deg : float
        Unsigned.
    unit_deg : float
        One unit of its last figure.
    turned : bool
        Whether it is the rest of a circle, the other way round.
    assumed : tuple of str
        What it rests on.
    bare : bool
        Whether nothing says which of its figures are degrees, minutes, seconds or decimals.
    asks : tuple of str
        What in its figures speaks of a slip.
    """

    value_deg: float
    unit_deg: float
    turned: bool = False
    assumed: tuple[str, ...] = ()
    bare: bool = False
    asks: tuple[str, ...] = ()


def ways_of(
    first: tuple[Angle, Axis], second: tuple[Angle, Axis], text: str
) -> Iterator[tuple[Value, Value]]:
    """Values of two angles in every way that their figures leave open, the likeliest first.

    Whole numbers apart by blanks may be degrees, minutes and seconds, or what a listener made of a
    decimal point that was not said.

    Raises
    ------
    FormatError
        If no way can be: what is wrong with the likeliest.
    """
    notes: list[tuple[str, ...]] = []
    numbers: list[tuple[Number, ...]] = []
    for (angle, axis), (other, _) in ((first, second), (second, first)):
        parts, why = parts_of(angle, other, axis, text)
        numbers.append(parts)
        notes.append(why)
    count = len(numbers[0])
    bare = all(
        is_bare(angle, parts) for (angle, _), parts in zip((first, second), numbers, strict=True)
    )
    pointed = all(_is_pointed(angle) for angle, _ in (first, second))
    if not (bare or pointed) or count != len(numbers[1]) or count not in _WAYS:
        one, two = (
            _value(parts, axis, text, why, lettered=bool(angle.sides))
            for parts, (angle, axis), why in zip(numbers, (first, second), notes, strict=True)
        )
        run = any(
            len(parts) > len(angle.numbers)
            for parts, (angle, _) in zip(numbers, (first, second), strict=True)
        )
        if run and count != len(numbers[1]):
            ask = f"the figures of {text!r} run together in one angle only: ask for both in full"
            one = replace(one, asks=(*one.asks, ask))
        yield one, two
        return
    error: FormatError | None = None
    found = 0
    # "47.16.8" is 47°16'08" or 47°16.8', and nothing else.
    for way, name in enumerate(_WAYS[count][:2] if pointed else _WAYS[count]):
        try:
            pair = tuple(
                _value(_joined(parts, count - way), axis, text, why, lettered=bool(angle.sides))
                for parts, (angle, axis), why in zip(numbers, (first, second), notes, strict=True)
            )
        except FormatError as wrong:
            error = error or wrong
            continue
        found += 1
        said = (f"{name}: {_NOT_SAID}",)
        one, two = pair
        # Where the usual way cannot be, a figure may be wrong instead of a point unsaid.
        asks = (*one.asks, *((str(error),) if error else ()))
        yield (
            replace(one, assumed=(*said, *one.assumed), bare=True, asks=asks),
            two,
        )
    if not found and error is not None:
        raise error


def _is_pointed(angle: Angle) -> bool:
    """Whether points join three whole numbers."""
    whole = len(angle.numbers) == 3 and all(each.is_whole for each in angle.numbers)
    return angle.joint == "point" and whole and not angle.marked


def is_bare(angle: Angle, numbers: tuple[Number, ...]) -> bool:
    """Whether nothing but blanks, or nothing that was said, stands between whole numbers."""
    apart = angle.joint == "gap" or (len(angle.numbers) == 1 and angle.numbers[0].spoken)
    return apart and not angle.marked and all(each.is_whole for each in numbers)


def _joined(numbers: tuple[Number, ...], parts: int) -> tuple[Number, ...]:
    """The figures with a point behind the last of so many parts."""
    decimals = "".join(each.whole for each in numbers[parts:])
    last = numbers[parts - 1]
    return (*numbers[: parts - 1], Number(last.whole, decimals, last.at)) if decimals else numbers


def parts_of(
    angle: Angle, other: Angle, axis: Axis, text: str
) -> tuple[tuple[Number, ...], tuple[str, ...]]:
    """Numbers of an angle, those that run together taken apart, and what that assumes.

    Raises
    ------
    FormatError
        If figures that run together are no degrees, minutes and seconds.
    """
    number = angle.numbers[0]
    figures = number.whole
    if len(angle.numbers) > 1 or len(figures) <= 3:
        return angle.numbers, ()
    stated = bool(angle.sides or angle.sign or angle.label)
    both = bool(number.decimals and other.numbers[0].decimals and len(other.numbers[0].whole) > 3)
    whole = _WHOLE[axis]
    short = len(figures) - whole in (1, 3) and axis == "lon"
    if short:
        whole = 2
    fits = len(figures) - whole in (2, 4)
    if (
        angle.marked
        or number.fraction
        or number.exponent
        or not fits
        or not (stated or (both and not short))
    ):
        raise FormatError(
            f"{number.text!r} in {text!r} is neither degrees nor run-together degrees, minutes "
            "and seconds: ask for them apart",
            text,
        )
    why = (f"{number.text} is a longitude without its leading zero",) if short else ()
    ends = [0, whole, whole + 2, whole + 4]
    found = [
        Number(figures[start:end], at=number.at + start)
        for start, end in pairwise(ends)
        if figures[start:end]
    ]
    found[-1] = replace(found[-1], decimals=number.decimals)
    return tuple(found), why


def _value(
    numbers: tuple[Number, ...], axis: Axis, text: str, why: tuple[str, ...], *, lettered: bool
) -> Value:
    value, unit, per = 0.0, 0.0, 1.0
    asks: tuple[str, ...] = ()
    for place, number in enumerate(numbers):
        part, unit = _amount(number)
        if place and part >= 60.0:
            last = place == len(numbers) - 1
            if not (part == 60.0 and last and number.decimals):
                raise FormatError(
                    f"{_PARTS[place]} {number.text!r} in {text!r} must be below 60: ask again",
                    text,
                )
            why = (*why, f"{number.text} {_PARTS[place]} carried over")
        per = 60.0**place
        value += part / per
    unit = max(unit / per, FINEST_DEG)
    limit = _LIMIT[axis]
    turned = axis == "lon" and 180.0 < value <= 360.0
    if turned:
        written = " ".join(number.text for number in numbers)
        why = (*why, f"{written} degrees of longitude, counted all the way round")
        value = 360.0 - value
        # Tables count so, in one number and without a letter.
        if lettered or len(numbers) > 1:
            asks = (f"longitude {written!r} in {text!r} is beyond 180 degrees: ask again for it",)
    elif value > limit:
        written = " ".join(number.text for number in numbers)
        raise FormatError(
            f"{NAMES[axis]} {written!r} in {text!r} is beyond {limit:g} degrees: ask again for it",
            text,
        )
    return Value(value, unit, turned, why, asks=asks)


def _amount(number: Number) -> tuple[float, float]:
    """Value of one number, and one unit of its last figure."""
    if number.fraction is not None:
        top, below = number.fraction
        return int(number.whole) + top / below, 1.0 / below
    # One conversion of the figures as they stand is the nearest float.
    value = float(f"{number.whole}.{number.decimals or 0}e{number.exponent}")
    return value, 10.0 ** (number.exponent - len(number.decimals))
