"""Which language the sides of two angles are of: S is south, and north in Czech.

A letter means what it means in the languages that have the other angle's side too. Where these
differ, all of their meanings are offered; where no language has both, the sides are asked for.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

from plotter.errors import FormatError
from plotter.formats.degrees.grammar import Angle, Pair
from plotter.formats.degrees.lexicon import SIDES, Side
from plotter.formats.degrees.tokens import Token

__all__ = ["doubted", "in_languages"]

_FILE: Final = Path(__file__).resolve().parent / "data" / "side_letters.json"
_ENGLISH: Final = frozenset({"north", "south", "degrees", "degree", "minutes", "seconds"})


class _Language(NamedTuple):
    letters: Mapping[str, Side]
    words: frozenset[str]


@cache
def _languages() -> tuple[_Language, ...]:
    table = json.loads(_FILE.read_text(encoding="utf-8"))
    return tuple(
        _Language(
            {letter: SIDES[side] for side in SIDES for letter in row[side]},
            frozenset(row["words"]),
        )
        for row in table.values()
    )


@cache
def _letters() -> frozenset[str]:
    return frozenset(letter for each in _languages() for letter in each.letters)


def in_languages(pairs: Sequence[Pair], text: str) -> tuple[Pair, ...]:
    """The pairs with what their side letters mean, a pair for each meaning.

    Raises
    ------
    FormatError
        If every pair has two letters that no language has both of.

    Examples
    --------
    >>> from plotter.formats import reading
    >>> [str(r.square.centre) for r in reading("49.5 S 17.2 V")]
    ['49.50000S 17.20000W', '49.50000N 17.20000E', '49.50000S 17.20000E']
    """
    found: dict[Pair, None] = {}
    strange: Pair | None = None
    for pair in pairs:
        meanings = list(_meanings(pair))
        strange = strange or (None if meanings else pair)
        found |= dict.fromkeys(meanings)
    if not found and strange is not None:
        one, two = strange.first.side_text, strange.second.side_text
        raise FormatError(
            f"no language here has both letters {one!r} and {two!r} of {text!r} for its sides: ask "
            "for each side as a word",
            text,
        )
    return tuple(found)


def _meanings(pair: Pair) -> Iterator[Pair]:
    first, second = pair.first, pair.second
    sides = [each.side_text.casefold() for each in (first, second)]
    lettered = [side in _letters() for side in sides]
    if not (first.sides and second.sides and any(lettered)):
        yield pair
        return
    both = [each for each in _languages() if all(_has(each, side) for side in sides)]
    if not both:
        if all(lettered):
            return
        # A letter beside a word of yet another language means all that it can.
        letter = sides[lettered.index(True)]
        both = [each for each in _languages() if letter in each.letters]
    said = dict.fromkeys(tuple(each.letters.get(side) for side in sides) for each in both)
    usual = tuple(_languages()[0].letters.get(side) for side in sides)
    for meant in said:
        one, two = (
            _meaning(angle, meant[i], sure=all(each[i] == usual[i] for each in said))
            for i, angle in enumerate((first, second))
        )
        yield replace(pair, first=one, second=two)


def _has(language: _Language, side: str) -> bool:
    return side in language.letters or side in language.words


def _meaning(angle: Angle, side: Side | None, *, sure: bool) -> Angle:
    return angle if side is None else replace(angle, sides=(side,), side_open=not sure)


def doubted(tokens: tuple[Token, ...]) -> tuple[Token, ...]:
    """Beside English words "est" may be a west that lost its first letter: both are offered."""
    words = {token.text.lower().rstrip(".") for token in tokens}
    if "est" not in words or not words & _ENGLISH:
        return tokens
    both = (("side", (("lon", 1), ("lon", -1))),)
    return tuple(
        replace(token, roles=both) if token.text.lower().rstrip(".") == "est" else token
        for token in tokens
    )
