"""Corrections: every way that a correction may take back what was said before it."""

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Final

from plotter.errors import FormatError
from plotter.voice.wording import Word

__all__ = ["corrected"]

_FIGURES: Final = ("figure", "number", "tens", "teen", "hundred", "thousand", "times", "choice")
_MOST: Final = 12
_NO_MATTER: Final = ("pause", "filler", "opener", "soft_opener", "again", "and")


def corrected(words: Sequence[Word], text: str) -> Iterator[tuple[list[Word], str, str]]:
    """Each line that a correction may make, the words that it takes back, and what to ask of it.

    Nothing is to be asked where all is said again, or one whole angle with its side: nobody else
    can tell for which of the figures a few new ones stand.

    What takes back least comes first; all that went before comes last. A cut is made only before a
    word of the same kind as the one that the correction begins with, never inside a number. A
    correction of one angle may also replace the earlier angle of the same kind in its place.

    Parameters
    ----------
    words : sequence of Word
        A line with at most one correction.

    Raises
    ------
    FormatError
        If the line has several.
    """
    places = [i for i, word in enumerate(words) if word.kind == "correction"]
    if not places:
        yield list(words), "", ""
        return
    if len(places) > 1:
        raise FormatError(
            f"{text[:120]!r} is corrected {len(places)} times: ask for the whole position again",
            text,
        )
    before, after = list(words[: places[0]]), list(words[places[0] + 1 :])
    while after and after[0].kind in _NO_MATTER:
        after = after[1:]
    if not any(word.kind in (*_FIGURES, "typed", "letter") for word in before):
        yield after, _said(before), ""
        return
    if not after:
        raise FormatError(f"{text[:120]!r} ends with a correction: ask what it is", text)
    for line, taken in islice(_ways(before, after), _MOST):
        again = len(taken) == len(before) and _complete(after, before)
        sure = again or (_same_axis(taken, after) and _complete(after, taken))
        ask = f"{_said(after)!r} corrects a part of {_said(before)!r}: ask for the whole position"
        yield line, _said(taken), "" if sure else ask


def _ways(before: list[Word], after: list[Word]) -> Iterator[tuple[list[Word], list[Word]]]:
    kind = _kind(after[0])
    for cut in range(len(before) - 1, 0, -1):
        if _kind(before[cut]) == kind and not _inside_number(before, cut):
            yield before[:cut] + after, before[cut:]
    for at in range(len(before) - 1):
        # One group of figures in the place of another.
        if len(after) == 1 and _kind(before[at]) == kind and not _inside_number(before, at):
            yield before[:at] + after + before[at + 1 :], before[at : at + 1]
    for start, end in _angles(before):
        if end < len(before) and _same_axis(before[start:end], after):
            yield before[:start] + after + before[end:], before[start:end]
    yield after, before


def _complete(said: Sequence[Word], taken: Sequence[Word]) -> bool:
    """Whether words say as much as those that they take back: as many sides, as many figures."""
    return _sides_of(said) == _sides_of(taken) and 2 * _length(said) > _length(taken)


def _sides_of(words: Sequence[Word]) -> set[str]:
    return {_side(word) for word in words} - {""}


def _length(words: Sequence[Word]) -> int:
    """Figures in words, and letters that somebody typed."""
    said = [w.options[0] for w in words if w.kind in (*_FIGURES, "typed", "letter")]
    return sum(character.isalnum() for option in said for character in option)


def _kind(word: Word) -> str:
    if word.kind in _FIGURES or (word.kind == "typed" and word.options[0][:1].isdigit()):
        return "figures"
    return word.kind


def _inside_number(words: Sequence[Word], cut: int) -> bool:
    """Whether a cut would part a number: forty | eight, three | point five, four | eight."""
    one, two = words[cut - 1], words[cut]
    if one.kind == "tens" and two.kind == "figure":
        return True
    if one.kind in ("hundred", "thousand", "million", "and", "times") and two.kind in _FIGURES:
        return True
    if one.kind == "mark" and one.options[0] in (".", "minus", "+", "-"):
        return True
    return one.kind == "figure" and two.kind == "figure" and not one.said.isdigit()


def _angles(words: Sequence[Word]) -> Iterator[tuple[int, int]]:
    """Stretches that end with a side."""
    start = 0
    for at, word in enumerate(words):
        if _side(word):
            yield start, at + 1
            start = at + 1
            while start < len(words) and words[start].kind in _NO_MATTER:
                start += 1


def _side(word: Word) -> str:
    """Axis of a side word, or of a typed angle that ends with its letter."""
    option = word.options[0]
    last = option[-1:].upper() if word.kind in ("typed", "letter", "direction") else ""
    if word.kind == "direction":
        last = option[:1].upper()
    return "lat" if last in ("N", "S") else "lon" if last in ("E", "W") else ""


def _same_axis(one: Sequence[Word], other: Sequence[Word]) -> bool:
    return len(_sides_of(one)) == 1 and _sides_of(one) == _sides_of(other)


def _said(words: Sequence[Word]) -> str:
    return " ".join(word.said for word in words)
