"""Texts that say more about a thing looked for: how far, heard or not, which ground, how it moves.

::

    distance <length> [± <length> | guessed] [from <where>]
    heard [within <length>] [antenna <length>] [its antenna <length>] [duty <n> %] [from <where>]
    not heard ...                            the same
    ruled out <ground>
    searched <ground> <n> %                  the chance that it would have been found there
    likely <ground> <n> times                so much likelier than ground elsewhere
    moving walker|drift|vehicle, or moving <n> m/s|km/h|knots

    <ground> is <length> around <where>, or inside <where>; <where>; <where> ...
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

from plotter.errors import FormatError
from plotter.reports.names import is_own_place
from plotter.reports.quantities import (
    length_at,
    length_error_at,
    origin_at,
    percent_at,
    radius_at,
    refuse_unknown_unit,
    share_at_end,
    skip_pause,
    speed_at,
)

__all__ = [
    "DistanceWords",
    "EvidenceWords",
    "GroundWords",
    "MotionWords",
    "WatchWords",
    "evidence_words",
]

_DISTANCE: Final = re.compile(
    r"\s*distance(?:\s+to\s+(?:it|the\s+(?:signal|station|target)))?(?:\s+(?:is|of))?\s*[:,]?\s*",
    re.IGNORECASE,
)
_GUESSED: Final = re.compile(r"(?:guessed|by\s+signal)\b", re.IGNORECASE)
_WATCH: Final = re.compile(r"\s*(?P<heard>not\s+heard|heard)\b", re.IGNORECASE)
_WATCH_HEADS: Final = (
    (
        "range",
        re.compile(r"(?:with)?in\s+(?:a\s+range\s+of\s+)?|range(?:\s+of)?\s+", re.IGNORECASE),
    ),
    (
        "its antenna",
        re.compile(r"its\s+antenna(?:\s+height)?(?:\s+(?:at|of|is))?\s+", re.IGNORECASE),
    ),
    ("antenna", re.compile(r"antenna(?:\s+height)?(?:\s+(?:at|of|is))?\s+", re.IGNORECASE)),
    ("duty", re.compile(r"duty(?:\s+(?:of|is))?\s+", re.IGNORECASE)),
)
_GROUND: Final = re.compile(r"\s*(?P<what>ruled\s+out|searched|likely)\b\s*:?\s*", re.IGNORECASE)
_INSIDE: Final = re.compile(r"(?:inside|within)\s+(?=\S)", re.IGNORECASE)
_MOTION: Final = re.compile(
    r"\s*moving[,:]?\s+(?:(?P<kind>walker|drift|vehicle)\s*$|(?:at\s+)?)", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class DistanceWords:
    """A distance to the subject; `sigma_m` is None where it was guessed."""

    distance_m: float
    sigma_m: float | None
    where: str | None


@dataclass(frozen=True, slots=True)
class WatchWords:
    """Somebody listened for the subject; what was not said is None."""

    heard: bool
    range_m: float | None
    antenna_m: float | None
    target_antenna_m: float | None
    p_transmitting: float | None
    where: str | None


@dataclass(frozen=True, slots=True)
class GroundWords:
    """Ground about one place, or between several, and how likely it is beside other ground."""

    what: str
    weight: float
    radius_m: float
    where: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MotionWords:
    """How the subject moves: a kind, or one standard deviation of its speed along each axis."""

    kind: str
    sigma_mps: float


EvidenceWords: TypeAlias = DistanceWords | WatchWords | GroundWords | MotionWords


def evidence_words(text: str) -> EvidenceWords | None:
    """Take such a text apart.

    Returns
    -------
    EvidenceWords or None
        None for a text of another kind.

    Raises
    ------
    FormatError
        If it begins like one of them but cannot be one.

    Examples
    --------
    >>> evidence_words("not heard within 8 km from the chapel").heard
    False
    >>> evidence_words("searched 500 m around the bridge 70 %").weight
    0.3
    """
    head = re.match(r"\s*(not\s+heard|ruled\s+out|[a-z]+)", text, re.IGNORECASE)
    reader = _READERS.get(" ".join(head[1].lower().split())) if head else None
    return reader(text) if reader else None


def _distance(text: str) -> DistanceWords:
    head = _DISTANCE.match(text)
    found = length_at(text, head.end()) if head else None
    wrong = FormatError(
        f"cannot read {text!r} as a distance: expected 'distance 2.4 km ± 200 m' or 'distance "
        "2.4 km guessed', and 'from' a place where it is not the sender's own",
        text,
    )
    if found is None:
        raise wrong
    length, at = found
    at = skip_pause(text, at)
    sigma_m: float | None = None
    if error := length_error_at(text, at):
        sigma_m, at = error[0].metres, skip_pause(text, error[1])
    elif guessed := _GUESSED.match(text, at):
        at = skip_pause(text, guessed.end())
    where = origin_at(text, at)
    if where is None and text[at:].strip(" .;,"):
        raise wrong
    if not length.metres > 0 or sigma_m == 0:
        raise FormatError(f"{text!r}: a distance and its error must be above zero", text)
    return DistanceWords(length.metres, sigma_m, _other(where))


def _watch(text: str) -> WatchWords:
    head = _WATCH.match(text)
    assert head is not None  # noqa: S101 - the reader is chosen by these words
    parts: dict[str, float] = {}
    at = skip_pause(text, head.end())
    while clause := _watch_clause(text, at):
        name, value, at = clause
        if name in parts:
            raise FormatError(f"{text!r} says its {name} twice: ask which one holds", text)
        parts[name] = value
        at = skip_pause(text, at)
    where = origin_at(text, at)
    if where is None and text[at:].strip(" .;,"):
        raise FormatError(
            f"cannot read {text!r} as a listening watch: expected 'heard' or 'not heard', and if "
            "known 'within 8 km', 'antenna 6 m', 'its antenna 2 m', 'duty 50 %', 'from' a place",
            text,
        )
    duty = parts.get("duty")
    if duty is not None and not 0 < duty <= 1:
        raise FormatError(f"{text!r}: a duty must be above 0 and at most 100 %", text)
    return WatchWords(
        heard=not head["heard"].lower().startswith("not"),
        range_m=parts.get("range"),
        antenna_m=parts.get("antenna"),
        target_antenna_m=parts.get("its antenna"),
        p_transmitting=duty,
        where=_other(where),
    )


def _watch_clause(text: str, at: int) -> tuple[str, float, int] | None:
    """Name, value and end of what is said of a watch here."""
    for name, head in _WATCH_HEADS:
        match = head.match(text, at)
        if match is None:
            continue
        if name == "duty":
            share = percent_at(text, match.end())
            return (name, *share) if share else None
        length = length_at(text, match.end())
        return (name, length[0].metres, length[1]) if length else None
    return None


def _ground(text: str) -> GroundWords:
    head = _GROUND.match(text)
    assert head is not None  # noqa: S101 - the reader is chosen by these words
    what = " ".join(head["what"].lower().split())
    rest, figure, unit = share_at_end(text[head.end() :])
    radius = radius_at(rest, 0)
    inside = _INSIDE.match(rest) if radius is None else None
    wanted = {"searched": "%", "likely": "times"}.get(what, "")
    if radius is None and inside is None:
        refuse_unknown_unit(rest, 0, text)
    if (radius is None and inside is None) or unit != wanted:
        raise FormatError(
            f"cannot read {text!r} as ground: expected 'ruled out 2 km around' a place, 'searched "
            "500 m around' a place '70 %', or 'likely inside' three or more places '3 times', the "
            "places apart by semicolons",
            text,
        )
    if what == "searched" and not 0 < figure < 1:
        raise FormatError(f"{text!r}: no search finds with certainty; say less than 100 %", text)
    weight = {"searched": 1.0 - figure, "likely": figure}.get(what, 0.0)
    if radius is not None:
        radius_m, at = radius
        if not radius_m > 0:
            raise FormatError(f"{text!r}: ground needs a radius above zero", text)
        return GroundWords(what, weight, radius_m, (rest[at:].strip(),))
    assert inside is not None  # noqa: S101 - one of the two is there
    places = tuple(part.strip() for part in rest[inside.end() :].split(";") if part.strip())
    if len(places) < 3:
        raise FormatError(
            f"{text!r} names {len(places)} places: ground between places needs three or more, "
            "apart by semicolons",
            text,
        )
    return GroundWords(what, weight, 0.0, places)


def _motion(text: str) -> MotionWords:
    head = _MOTION.match(text)
    speed = speed_at(text, head.end()) if head and not head["kind"] else None
    if head is None or (not head["kind"] and (speed is None or text[speed[1] :].strip(" .;,"))):
        raise FormatError(
            f"cannot read {text!r} as a motion: expected 'moving walker', 'moving drift', 'moving "
            "vehicle', or a speed as in 'moving 1.2 m/s'",
            text,
        )
    if speed is None:
        return MotionWords(head["kind"].lower(), 0.0)
    if not speed[0] > 0:
        raise FormatError(f"{text!r}: what moves has a speed above zero", text)
    return MotionWords("", speed[0])


def _other(where: str | None) -> str | None:
    """Where somebody else is; None for the sender's own place."""
    return None if where is None or is_own_place(where) else where


_READERS: Final[dict[str, Callable[[str], EvidenceWords]]] = {
    "distance": _distance,
    "heard": _watch,
    "not heard": _watch,
    "ruled out": _ground,
    "searched": _ground,
    "likely": _ground,
    "moving": _motion,
}
