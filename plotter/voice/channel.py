"""What a run of figures and letters may have been before the slips of its way, with the chances.

A noisy channel: every text that so many slips (a character taken for another, neighbours
exchanged, one left out, one put in or said twice) turn into the one that was received. The area of
operations then says which of them are places at all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.voice.mistakes import CODES, confusion, kind_rate

__all__ = ["MOST_SLIPS", "SLIP_RATE", "Meant", "meant_runs"]

# More slips than these leave too little of a text to know it by.
MOST_SLIPS: Final = 2
# Chance that a message holds a slip at all, and that one with a slip holds another: assumed.
SLIP_RATE: Final = 0.1
# A character that was put in and is no repetition, among all slips: assumed.
_PUT_IN_RATE: Final = 0.005
# Of exchanged characters so many have one between them: assumed.
_OVER_ONE: Final = 0.2
# Of the characters taken for another so many are put down as another one of the same run, which is
# still in mind: assumed.
_IN_MIND: Final = 0.15
_FIGURES: Final = 10


@dataclass(frozen=True, slots=True)
class Meant:
    """Runs of characters that may have been meant.

    Parameters
    ----------
    codes : ndarray of int, shape (n, length)
        Characters as indices into `plotter.voice.mistakes.CODES`.
    chance : ndarray, shape (n,)
        Chance of these slips where this was meant: `SLIP_RATE` to the power of their number times
        the chance of each.
    slips : ndarray of int, shape (n,)
        How many slips.
    """

    codes: IntArray
    chance: FloatArray
    slips: IntArray

    def values(self) -> IntArray:
        """The runs as whole numbers, where they are figures, shape (n,)."""
        powers = 10 ** np.arange(self.codes.shape[1] - 1, -1, -1, dtype=np.int64)
        found: IntArray = self.codes @ powers
        return found

    def text(self, i: int) -> str:
        """One of the runs."""
        return "".join(CODES[code] for code in self.codes[i])

    def of(self, texts: Sequence[str]) -> tuple[FloatArray, IntArray]:
        """Chance and number of slips of each of some runs of this length; 0 where not among them.

        Parameters
        ----------
        texts : sequence of str, length k
            Figures and capital letters.

        Returns
        -------
        chance, slips : ndarray, shape (k,)
        """
        codes = np.array([[CODES.index(c) for c in text] for text in texts], dtype=np.int64)
        keys, wanted = _keys(self.codes), _keys(codes.reshape(len(texts), self.codes.shape[1]))
        order = np.argsort(keys)
        at = order[np.minimum(np.searchsorted(keys, wanted, sorter=order), keys.size - 1)]
        known = keys[at] == wanted
        return np.where(known, self.chance[at], 0.0), np.where(known, self.slips[at], 0)


@lru_cache(maxsize=256)
def meant_runs(received: str, length: int, characters: int, most: int = MOST_SLIPS) -> Meant:
    """Every run of a length that at most so many slips turn into the received one.

    Parameters
    ----------
    received : str
        Figures and capital letters.
    length : int
        Characters of the run that was meant.
    characters : int
        Figures and letters of the whole text: a slip hits any one of them.
    most : int
        Most slips.

    Returns
    -------
    Meant
        Fewest slips first.

    Examples
    --------
    >>> found = meant_runs("48", 2, 2, most=1)
    >>> found.text(0), bool(found.slips[0] == 0), "84" in {found.text(i) for i in range(20)}
    ('48', True, True)
    """
    first = np.array([[CODES.index(character) for character in received]], dtype=np.int64)
    level = [(first.reshape(1, len(received)), np.ones(1))]
    found: list[tuple[IntArray, FloatArray, int]] = []
    seen = np.zeros(0, dtype=np.int64)
    for slips in range(most + 1):
        if slips:
            left = most - slips
            level = [
                step
                for codes, chance in level
                for step in _steps(codes, chance, characters)
                if abs(step[0].shape[1] - length) <= left
            ]
            level = _joined(level)
        for codes, chance in level:
            if codes.shape[1] == length:
                keys = _keys(codes)
                new = ~np.isin(keys, seen)
                seen = np.concatenate([seen, keys[new]])
                found.append((codes[new], chance[new], slips))
    if not found:
        return Meant(
            np.zeros((0, length), dtype=np.int64), np.zeros(0), np.zeros(0, dtype=np.int64)
        )
    return Meant(
        np.concatenate([codes for codes, _, _ in found]),
        np.concatenate([chance for _, chance, _ in found]),
        np.concatenate([np.full(chance.size, slips) for _, chance, slips in found]),
    )


def _keys(codes: IntArray) -> IntArray:
    powers = len(CODES) ** np.arange(codes.shape[1], dtype=np.int64)
    keys: IntArray = codes @ powers
    return keys


def _joined(
    level: list[tuple[IntArray, FloatArray]],
) -> list[tuple[IntArray, FloatArray]]:
    """One array for each length; a run reached in several ways has the sum of their chances."""
    joined = []
    for length in sorted({codes.shape[1] for codes, _ in level}):
        codes = np.concatenate([c for c, _ in level if c.shape[1] == length])
        chance = np.concatenate([p for c, p in level if c.shape[1] == length])
        _, index, inverse = np.unique(_keys(codes), return_index=True, return_inverse=True)
        summed = as_float(np.bincount(inverse, chance, index.size))
        joined.append((codes[index], summed))
    return joined


def _steps(
    codes: IntArray, chance: FloatArray, characters: int
) -> list[tuple[IntArray, FloatArray]]:
    """One slip undone, in every way: runs of the same length, one longer, one shorter."""
    each = chance * SLIP_RATE / characters
    length = codes.shape[1]
    steps = [_other_characters(codes, each)] if length else []
    figure = codes < _FIGURES
    for i, j in [(i, i + apart) for apart in (1, 2) for i in range(length - apart)]:
        keep = (codes[:, i] != codes[:, j]) & (figure[:, i] == figure[:, j])
        swapped = codes[keep].copy()
        swapped[:, [i, j]] = swapped[:, [j, i]]
        rate = kind_rate("swapped neighbours") * (_OVER_ONE if j > i + 1 else 1.0 - _OVER_ONE)
        steps.append((swapped, each[keep] * rate))
    every = np.arange(len(CODES))
    letters = bool((~figure).any())
    kinds = every if letters else every[:_FIGURES]
    for i in range(length + 1):
        longer = np.repeat(np.insert(codes, i, 0, axis=1), kinds.size, axis=0)
        longer[:, i] = np.tile(kinds, codes.shape[0])
        steps.append((longer, np.repeat(each, kinds.size) * kind_rate("dropped figure")))
    for i in range(length if length > 1 else 0):
        shorter = np.delete(codes, i, axis=1)
        twice = codes[:, i] == codes[:, i - 1] if i else np.zeros(each.size, dtype=bool)
        put_in = _PUT_IN_RATE / np.where(figure[:, i], _FIGURES, len(CODES) - _FIGURES)
        steps.append((shorter, each * (put_in + twice * kind_rate("doubled figure"))))
    return steps


def _other_characters(codes: IntArray, each: FloatArray) -> tuple[IntArray, FloatArray]:
    found, chances = [], []
    # Any character is as likely to be the one: figures are more only as a text has more of them.
    rate = kind_rate("figure") + kind_rate("letter")
    table = confusion()
    same_kind = table > 0.0
    others = max(codes.shape[1] - 1, 1)
    for i in range(codes.shape[1]):
        received = codes[:, i]
        in_mind = (codes == received[:, None]).sum(axis=1) - 1.0
        factor = (1.0 - _IN_MIND) * table[:, received].T  # (m, 36): meant for each received
        factor = factor + _IN_MIND * same_kind[:, received].T * (in_mind / others)[:, None]
        row, meant = np.nonzero(factor)
        other = codes[row]
        other[:, i] = meant
        found.append(other)
        chances.append(each[row] * factor[row, meant] * rate)
    return np.concatenate(found), np.concatenate(chances)
