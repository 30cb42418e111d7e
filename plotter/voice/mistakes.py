"""How often a figure or a letter is taken for another, and the rates of the kinds of slips."""

import json
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from plotter.geodesy.arrays import FloatArray

__all__ = ["CODES", "confusion", "kind_rate", "slip_chance"]

_TABLE: Final = Path(__file__).resolve().parent / "data" / "slips_english.json"
_FIGURES: Final = "0123456789"
_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
# The characters of a position, in the order of the rows of `confusion`.
CODES: Final = _FIGURES + _LETTERS
# How a character comes to be another, as shares: by its sound, by the look of the hand, by the key
# beside it, as the next graduation or letter of a map, or by anything else (memory), where any
# other is as likely. Assumed.
_BY_SOUND, _BY_LOOK, _BY_KEY, _BY_STEP, _ELSE = 0.4, 0.2, 0.15, 0.1, 0.15


def slip_chance(meant: str, heard: str, kind: str) -> float:
    """Chance that one figure or letter, if it is misheard at all, is heard as another."""
    table = _table()[f"{kind}s"]
    alphabet = _FIGURES if kind == "figure" else _LETTERS
    total = sum(_pair(table, meant, other) for other in alphabet if other != meant)
    return _pair(table, meant, heard) / total


@cache
def confusion() -> FloatArray:
    """Chance that a character, if it is taken wrong at all, is taken for another.

    Returns
    -------
    ndarray, shape (36, 36)
        Row: what was meant, column: what was received, both in the order of `CODES`. Figures are
        taken for figures and letters for letters; each row adds up to 1.
    """
    found = np.zeros((len(CODES), len(CODES)))
    for kind, alphabet in (("figure", _FIGURES), ("letter", _LETTERS)):
        first = CODES.index(alphabet[0])
        for i, meant in enumerate(alphabet):
            others = alphabet.replace(meant, "")
            looks, beside = _look_alikes(meant, kind), _keys_beside(meant, kind)
            for other in others:
                chance = _BY_SOUND * slip_chance(meant, other, kind) + _ELSE / len(others)
                steps = alphabet[max(i - 1, 0) : i] + alphabet[i + 1 : i + 2]
                for share, near in ((_BY_LOOK, looks), (_BY_KEY, beside), (_BY_STEP, steps)):
                    # A character that is like no other is taken for any.
                    among = near or others
                    chance += share * (other in among) / len(among)
                found[first + i, first + alphabet.index(other)] = chance
    return found


def _look_alikes(character: str, kind: str) -> str:
    pairs: list[str] = _table()["look_alike"][f"{kind}s"]
    return "".join(pair.replace(character, "") for pair in pairs if character in pair)


def _keys_beside(character: str, kind: str) -> str:
    rows: list[str] = _table()["key_beside"][f"{kind}s"]
    near = {
        row[at]
        for row in rows
        if character in row
        for at in (row.index(character) - 1, row.index(character) + 1)
        if 0 <= at < len(row)
    }
    return "".join(sorted(near))


def kind_rate(kind: str) -> float:
    """Share of a kind among all slips."""
    return float(_table()["kinds"][kind])


def _pair(table: dict[str, Any], a: str, b: str) -> float:
    pairs: dict[str, float] = table["pairs"]
    return pairs.get(a + b, pairs.get(b + a, float(table["other"])))


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = json.loads(_TABLE.read_text(encoding="utf-8"))
    return table
