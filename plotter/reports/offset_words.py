"""A place said from another one: a length and a direction from it, or the middle between two."""

import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.reports.numbers import number_at
from plotter.reports.quantities import (
    Direction,
    Length,
    angle_error_at,
    direction_at,
    length_at,
    length_error_at,
    origin_at,
    point_at,
    skip_pause,
    unknown_unit,
)

__all__ = ["HalfwayWords", "OffsetWords", "halfway_words", "offset_words"]

# Nothing is looked for in a text without one of these: most positions have none.
_MAY_BE: Final = re.compile(r"\b(?:from|of|on|at|bearing)\b", re.IGNORECASE)
_START: Final = re.compile(r"(?<![^\s,;:(])(?=[\w.,½¼¾])")
_MINUS: Final = re.compile(r"(?:minus|negative)\s+$", re.IGNORECASE)
_ON: Final = re.compile(
    r"(?:on\s+a\s+bearing\s+of|on\s+bearing|bearing|on|at)\s+(?=\S)", re.IGNORECASE
)
_UNIT_LIKE: Final = re.compile(r"\s*[a-z]+(?:\s+miles?)?\s+((?:on|bearing)\s+)?", re.IGNORECASE)
# "2 or 3 km north of", "2 km north and 1 km east of": more than one way.
_MORE: Final = re.compile(r"\b(?:or|to|and|then|plus|by)\W*$", re.IGNORECASE)
_HALFWAY: Final = re.compile(
    r"\b(?:half[\s-]*way|midway)\s+between\s+(?P<ends>.+)", re.IGNORECASE | re.DOTALL
)


@dataclass(frozen=True, slots=True)
class OffsetWords:
    """A length and a direction from somewhere.

    Parameters
    ----------
    distance_m : float
        The length.
    unit_m : float
        One unit of its last figure; with a point of the compass, of its last figure but zeros.
    direction : Direction
        The direction; a point of the compass has the spacing of such points as its unit.
    where : str
        From where.
    point : str
        The point of the compass as said, empty for figures.
    before : str
        What was said before it.
    sigma_m, sigma_deg : float
        Errors that were said, one standard deviation each; 0 where none was.
    """

    distance_m: float
    unit_m: float
    direction: Direction
    where: str
    point: str = ""
    before: str = ""
    sigma_m: float = 0.0
    sigma_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class HalfwayWords:
    """In the middle between two places: `ends` holds both and the word between them, as said."""

    ends: str
    before: str = ""


def halfway_words(text: str) -> HalfwayWords | None:
    """The middle between two places, with what was said before it; None for another text."""
    match = _HALFWAY.search(text)
    return HalfwayWords(match["ends"].strip(), text[: match.start()].strip()) if match else None


def offset_words(text: str, whole: str) -> OffsetWords | None:
    """Find a length and a direction from somewhere in a text.

    Parameters
    ----------
    text : str
        A report without its head.
    whole : str
        The report, for messages.

    Returns
    -------
    OffsetWords or None
        None for a text of another kind.

    Raises
    ------
    FormatError
        If it has a length and a direction but does not say from where, or cannot be.
    """
    if not _MAY_BE.search(text):
        return None
    for start in (match.start() for match in _START.finditer(text)):
        if _MINUS.search(text, 0, start):
            continue
        found = _offset_at(text, start, whole)
        if found is not None:
            _refuse_more(found, whole)
            return found
    return None


def _refuse_more(found: OffsetWords, whole: str) -> None:
    """Reject a way that is only the last part of what was said, or one of several."""
    joint = _MORE.search(found.before)
    if joint is None:
        return
    head = found.before[: joint.start()].strip()
    ends = [number_at(head, match.start()) for match in re.finditer(r"(?<!\S)\S", head)]
    number = any(each is not None and each[1] == len(head) for each in ends)
    way = any(length_at(head, match.start()) for match in re.finditer(r"(?<!\S)\S", head))
    if number or way:
        raise FormatError(
            f"{whole!r} says more than one length: ask for one distance and one direction",
            whole,
        )


def _offset_at(text: str, start: int, whole: str) -> OffsetWords | None:
    found = length_at(text, start)
    if found is None:
        _refuse_unknown_unit(text, start, whole)
        return None
    length, at = found
    at = skip_pause(text, at)
    sigma_m = 0.0
    if error := length_error_at(text, at):
        sigma_m, at = error[0].metres, skip_pause(text, error[1])
    before = text[:start].strip()
    if point := point_at(text, at):
        direction, said, at = point
        where = origin_at(text, skip_pause(text, at))
        if where is None:
            return None
        return OffsetWords(
            length.metres, length.rough_unit_m, direction, where, said, before, sigma_m
        )
    on = _ON.match(text, at)
    figures = direction_at(text, on.end()) if on else None
    if figures is None:
        return None
    return _in_figures(text, whole, before, length, sigma_m, figures)


def _in_figures(
    text: str,
    whole: str,
    before: str,
    length: Length,
    sigma_m: float,
    figures: tuple[Direction, int],
) -> OffsetWords | None:
    """With a direction in figures; None where these are the figures of something else."""
    direction, end = figures
    at = skip_pause(text, end)
    sigma_deg = 0.0
    if spread := angle_error_at(text, at):
        sigma_deg, at = spread[0], skip_pause(text, spread[1])
    where = origin_at(text, at)
    if where is not None:
        return OffsetWords(
            length.metres, length.unit_m, direction, where, "", before, sigma_m, sigma_deg
        )
    if text[at:].strip(" .,;"):
        if direction.north is None and not sigma_deg:
            return None
        raise FormatError(
            f"cannot read {text[at:].strip()!r} in {whole!r}: expected an error like ± 5, or "
            "'from' and a place or a position",
            whole,
        )
    raise FormatError(
        f"{whole!r} does not say from where: expected 'from' and a place or a position", whole
    )


def _refuse_unknown_unit(text: str, start: int, whole: str) -> None:
    """Say so where a number has all that an offset needs but a unit that is known."""
    number = number_at(text, start, grouped=True)
    unit = _UNIT_LIKE.match(text, number[1]) if number else None
    if unit is None:
        return
    if point := point_at(text, unit.end()):
        meant = origin_at(text, skip_pause(text, point[2])) is not None
    else:
        figures = direction_at(text, unit.end()) if unit[1] else None
        meant = figures is not None and (
            figures[0].north is not None
            or origin_at(text, skip_pause(text, figures[1])) is not None
        )
    if meant:
        raise unknown_unit(unit[0].split()[0], whole)
