"""The words of angles in many languages, from a data file: sides, units, labels, signs."""

import json
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, Literal, TypeAlias

__all__ = ["SIDES", "Axis", "Role", "Side", "lexicon", "longest_phrase"]

Axis: TypeAlias = Literal["lat", "lon"]
Side: TypeAlias = tuple[Axis, int]
# What a word can be in an angle: ("side", sides), ("unit", place), ("label", axis), ("sign", "-"),
# ("and", ""), ("is", "").
Role: TypeAlias = tuple[str, Any]

_FILE: Final = Path(__file__).resolve().parent / "data" / "words.json"
SIDES: Final[Mapping[str, Side]] = MappingProxyType(
    {"N": ("lat", 1), "S": ("lat", -1), "E": ("lon", 1), "W": ("lon", -1)}
)
longest_phrase: Final = 3
"""Words of the longest phrase."""


@cache
def lexicon() -> Mapping[tuple[str, ...], tuple[Role, ...]]:
    """Roles of each word or phrase, by its words in small letters."""
    table: dict[str, Any] = json.loads(_FILE.read_text(encoding="utf-8"))
    found: dict[tuple[str, ...], tuple[Role, ...]] = {}
    for phrase, role in _entries(table):
        key = tuple(phrase.casefold().split())
        roles = found.get(key, ())
        if role not in roles:
            found[key] = (*roles, role)
    return MappingProxyType(found)


def _entries(table: dict[str, Any]) -> Iterator[tuple[str, Role]]:
    for side, words in table["sides"].items():
        for word in words:
            yield word, ("side", (SIDES[side],))
    for word, sides in table["sides_of_two_meanings"].items():
        yield word, ("side", tuple(SIDES[side] for side in sides))
    for place, words in table["units"].items():
        for word in words:
            yield word, ("unit", int(place))
    for axis, words in table["labels"].items():
        for word in words:
            yield word, ("label", axis)
    for sign, words in table["signs"].items():
        for word in words:
            yield word, ("sign", sign)
    for name in ("and", "is"):
        for word in table[name]:
            yield word, (name, "")
