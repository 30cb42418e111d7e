"""A bearing as said: its figures and north, its error, how it was taken, and from where."""

import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.reports.names import is_own_place
from plotter.reports.quantities import (
    Direction,
    angle_error_at,
    direction_at,
    origin_at,
    skip_pause,
    usable_angle,
)

__all__ = ["BearingWords", "bearing_words", "begins_as_bearing"]

_METHODS: Final = {
    "class a": "class A",
    "class b": "class B",
    "class c": "class C",
    "loop": "null or loop",
    "null": "null or loop",
}
_HEAD: Final = re.compile(
    r"\s*bearing\b(?:\s+(?:to|on|of)\s+(?:it|them|him|her|the\s+(?:signal|station|target)))?"
    r"(?:\s+(?:is|of|reads))?\s*[:,=]?\s*",
    re.IGNORECASE,
)
_METHOD: Final = re.compile(r"(?:by\s+)?(class\s+[abc]|compass|loop|null)\b", re.IGNORECASE)
_SENSE: Final = re.compile(r"sense\s+(?:is\s+)?confirmed\b", re.IGNORECASE)
_EXACT: Final = re.compile(r"exact(?:ly)?\b", re.IGNORECASE)
_SHARED: Final = re.compile(r"shared\s+error(?:\s+of)?\s+", re.IGNORECASE)
_SHARED_BY: Final = re.compile(
    r"\s+(?:by|of|in)\s+(?P<name>.+?)(?=\s*[,;]|\s+from\s|\s*$)", re.IGNORECASE | re.DOTALL
)


@dataclass(frozen=True, slots=True)
class BearingWords:
    """A bearing; `where` is None for the sender's own place, `sigma_deg` where none was given."""

    direction: Direction
    sigma_deg: float | None
    method: str
    compass: bool
    where: str | None
    sense_confirmed: bool = False
    shared_name: str = ""
    shared_deg: float = 0.0
    exact: bool = False


def begins_as_bearing(text: str) -> bool:
    """Whether a report is one of a bearing, readable or not."""
    return re.match(r"\s*bearing\b", text, re.IGNORECASE) is not None


def bearing_words(text: str) -> BearingWords:
    """Take a bearing apart.

    Raises
    ------
    FormatError
        If a part is missing, said twice, or cannot be; what cannot be read is quoted.

    Examples
    --------
    >>> found = bearing_words("bearing two four five true give or take five from hut two")
    >>> found.direction.degrees, found.sigma_deg, found.where
    (245.0, 5.0, 'hut two')
    """
    head = _HEAD.match(text)
    found = direction_at(text, head.end()) if head else None
    if found is None:
        raise FormatError(
            f"cannot read {text!r} as a bearing: expected figures and a north, as in 'bearing 245 "
            "magnetic'",
            text,
        )
    direction, at = found
    parts: dict[str, object] = {}
    while (at := skip_pause(text, at)) < len(text):
        clause = _clause(text, at)
        if clause is None:
            break
        name, value, at = clause
        if name in parts:
            raise FormatError(f"{text!r} says its {name} twice: ask which one holds", text)
        parts[name] = value
    where = None
    if text[at:].strip(" .;,"):
        where = origin_at(text, at)
        if where is None:
            raise FormatError(
                f"cannot read {text[at:].strip()!r} in {text!r}: expected true, magnetic or grid, "
                "an error like ± 5, 'exact', 'sense confirmed', 'shared error 5 by' its name, or "
                "'from' and a place",
                text,
            )
    method = str(parts.get("method", ""))
    sigma = parts.get("error")
    shared = parts.get("shared error", ("", 0.0))
    assert isinstance(shared, tuple)  # noqa: S101 - as _clause makes it
    if "exact" in parts and not isinstance(sigma, float):
        raise FormatError(f"{text!r} is said to be exact: ask within how many degrees", text)
    return BearingWords(
        direction,
        sigma if isinstance(sigma, float) else None,
        _METHODS.get(method, "hand-held directional"),
        direction.north == "magnetic" or method == "compass",
        None if where is None or is_own_place(where) else where,
        "sense" in parts,
        str(shared[0]),
        float(shared[1]),
        "exact" in parts,
    )


def _clause(text: str, at: int) -> tuple[str, object, int] | None:
    """Name, value and end of the clause that begins here; None where none of them does."""
    if spread := angle_error_at(text, at):
        return "error", *spread
    if match := _METHOD.match(text, at):
        return "method", " ".join(match[1].lower().split()), match.end()
    if match := _SENSE.match(text, at):
        return "sense", True, match.end()
    if match := _EXACT.match(text, at):
        return "exact", True, match.end()
    head = _SHARED.match(text, at)
    angle = usable_angle(text, head.end(), "a shared error") if head else None
    by = _SHARED_BY.match(text, angle[1]) if angle else None
    if angle and by:
        return "shared error", (by["name"].strip(), angle[0]), by.end()
    return None
