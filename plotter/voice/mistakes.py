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
# Share of the slips of a character that have nothing to do with its sound: a slip of the pen, of a
# key or of memory. Assumed: any other figure, or any other letter, is as likely then.
_NOT_OF_SOUND: Final = 0.3


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
        first, other = CODES.index(alphabet[0]), 1.0 / (len(alphabet) - 1)
        for i, meant in enumerate(alphabet):
            for j, heard in enumerate(alphabet):
                if i != j:
                    of_sound = slip_chance(meant, heard, kind)
                    found[first + i, first + j] = (
                        1.0 - _NOT_OF_SOUND
                    ) * of_sound + _NOT_OF_SOUND * other
    return found


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
