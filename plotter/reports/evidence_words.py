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
from plotter.units import METRES_PER_NAUTICAL_MILE, length_m

__all__ = [
    "DistanceWords",
    "EvidenceWords",
    "GroundWords",
    "MotionWords",
    "WatchWords",
    "evidence_words",
]

_FIGURE: Final = r"\d+(?:\.\d+)?"
_LENGTH: Final = rf"(?P<{{0}}>{_FIGURE})\s*(?P<{{0}}_unit>[a-z]+(?:\s+miles?)?)"
_OWN_PLACE: Final = ("own place", "own position", "here", "me", "us")
_DISTANCE: Final = re.compile(
    rf"\s*distance\s+(?:is\s+)?{_LENGTH.format('length')}"
    rf"(?:[,\s]*(?:(?:±|\+\s*/?\s*-|give\s+or\s+take|sigma)\s*{_LENGTH.format('sigma')}"
    r"|(?P<guessed>guessed|by\s+signal)))?"
    r"(?:[,\s]+from\s+(?P<where>.+))?\s*",
    re.IGNORECASE | re.DOTALL,
)
_WATCH: Final = re.compile(
    r"\s*(?P<heard>not\s+heard|heard)\b(?P<rest>.*?)(?:[,\s]+from\s+(?P<where>.+))?\s*",
    re.IGNORECASE | re.DOTALL,
)
_WATCH_PARTS: Final = (
    ("range_m", re.compile(rf"within\s+{_LENGTH.format('v')}", re.IGNORECASE)),
    ("target_antenna_m", re.compile(rf"its\s+antenna\s+{_LENGTH.format('v')}", re.IGNORECASE)),
    ("antenna_m", re.compile(rf"antenna\s+{_LENGTH.format('v')}", re.IGNORECASE)),
    ("duty", re.compile(rf"duty\s+(?P<v>{_FIGURE})\s*(?:%|per\s*cent)", re.IGNORECASE)),
)
_GROUND: Final = re.compile(
    r"\s*(?P<what>ruled\s+out|searched|likely)\s*:?\s+"
    rf"(?:{_LENGTH.format('radius')}\s+(?:around|about|of|from)\s+(?P<around>.+?)"
    r"|(?:inside|within)\s+(?P<inside>.+?))"
    rf"(?:[,\s]+(?P<figure>{_FIGURE})\s*(?P<unit>%|per\s*cent|times))?\s*",
    re.IGNORECASE | re.DOTALL,
)
_MOTION: Final = re.compile(
    rf"\s*moving[,:]?\s+(?:(?P<kind>walker|drift|vehicle)|(?:at\s+)?(?P<speed>{_FIGURE})\s*"
    r"(?P<unit>m/s|km/h|kmh|kn|knots?))\s*",
    re.IGNORECASE,
)
_SPEED_UNITS: Final = {
    "m/s": 1.0, "km/h": 1 / 3.6, "kmh": 1 / 3.6,
    "kn": METRES_PER_NAUTICAL_MILE / 3600.0, "knot": METRES_PER_NAUTICAL_MILE / 3600.0,
    "knots": METRES_PER_NAUTICAL_MILE / 3600.0,
}  # fmt: skip


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
    match = _DISTANCE.fullmatch(text)
    if match is None:
        raise FormatError(
            f"cannot read {text!r} as a distance: expected 'distance 2.4 km ± 200 m' or 'distance "
            "2.4 km guessed', and 'from' a place where it is not the sender's own",
            text,
        )
    sigma_m = length_m(float(match["sigma"]), match["sigma_unit"]) if match["sigma"] else None
    distance_m = length_m(float(match["length"]), match["length_unit"])
    if not distance_m > 0 or sigma_m == 0:
        raise FormatError(f"{text!r}: a distance and its error must be above zero", text)
    return DistanceWords(distance_m, sigma_m, _where(match["where"]))


def _watch(text: str) -> WatchWords:
    match = _WATCH.fullmatch(text)
    parts: dict[str, float | None] = {name: None for name, _ in _WATCH_PARTS}
    rest = match["rest"] if match else text
    for name, part in _WATCH_PARTS:
        found = part.search(rest)
        if found is not None:
            value = float(found["v"])
            parts[name] = value / 100.0 if name == "duty" else length_m(value, found["v_unit"])
            rest = rest[: found.start()] + rest[found.end() :]
    if match is None or rest.strip(" ,;"):
        raise FormatError(
            f"cannot read {text!r} as a listening watch: expected 'heard' or 'not heard', and if "
            "known 'within 8 km', 'antenna 6 m', 'its antenna 2 m', 'duty 50 %', 'from' a place",
            text,
        )
    duty = parts["duty"]
    if duty is not None and not 0 < duty <= 1:
        raise FormatError(f"{text!r}: a duty must be above 0 and at most 100 %", text)
    return WatchWords(
        heard=not match["heard"].lower().startswith("not"),
        range_m=parts["range_m"],
        antenna_m=parts["antenna_m"],
        target_antenna_m=parts["target_antenna_m"],
        p_transmitting=duty,
        where=_where(match["where"]),
    )


def _ground(text: str) -> GroundWords:
    match = _GROUND.fullmatch(text)
    what = " ".join(match["what"].lower().split()) if match else ""
    wanted = {"searched": ("%", "per cent", "percent"), "likely": ("times",)}.get(what, ())
    unit = " ".join((match["unit"] or "").lower().split()) if match else ""
    if match is None or bool(wanted) != bool(unit) or (unit and unit not in wanted):
        raise FormatError(
            f"cannot read {text!r} as ground: expected 'ruled out 2 km around' a place, 'searched "
            "500 m around' a place '70 %', or 'likely inside' three or more places '3 times', the "
            "places apart by semicolons",
            text,
        )
    figure = float(match["figure"] or 0.0)
    if what == "searched" and not 0 < figure < 100:
        raise FormatError(f"{text!r}: no search finds with certainty; say less than 100 %", text)
    weight = {"searched": 1.0 - figure / 100.0, "likely": figure}.get(what, 0.0)
    if match["around"]:
        radius_m = length_m(float(match["radius"]), match["radius_unit"])
        if not radius_m > 0:
            raise FormatError(f"{text!r}: ground needs a radius above zero", text)
        return GroundWords(what, weight, radius_m, (match["around"].strip(),))
    places = tuple(part.strip() for part in match["inside"].split(";") if part.strip())
    if len(places) < 3:
        raise FormatError(
            f"{text!r} names {len(places)} places: ground between places needs three or more, "
            "apart by semicolons",
            text,
        )
    return GroundWords(what, weight, 0.0, places)


def _motion(text: str) -> MotionWords:
    match = _MOTION.fullmatch(text)
    if match is None:
        raise FormatError(
            f"cannot read {text!r} as a motion: expected 'moving walker', 'moving drift', 'moving "
            "vehicle', or a speed as in 'moving 1.2 m/s'",
            text,
        )
    if match["kind"]:
        return MotionWords(match["kind"].lower(), 0.0)
    speed = float(match["speed"]) * _SPEED_UNITS[match["unit"].lower()]
    if not speed > 0:
        raise FormatError(f"{text!r}: what moves has a speed above zero", text)
    return MotionWords("", speed)


def _where(said: str | None) -> str | None:
    where = said.strip() if said else None
    return None if where is None or where.lower() in _OWN_PLACE else where


_READERS: Final[dict[str, Callable[[str], EvidenceWords]]] = {
    "distance": _distance,
    "heard": _watch,
    "not heard": _watch,
    "ruled out": _ground,
    "searched": _ground,
    "likely": _ground,
    "moving": _motion,
}
