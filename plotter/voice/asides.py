"""Figures in a line that belong to no position: "two casualties", "altitude 35 metres", "0930Z".

They are set aside only where their own words say what they count or measure; a figure beside an
unknown word stays in the way, and the line is asked for again.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Final

from plotter.errors import FormatError
from plotter.voice.tables import language
from plotter.voice.wording import Word

__all__ = ["with_asides", "with_names"]

_FIGURES: Final = ("figure", "number", "tens", "teen", "typed", "hundred", "thousand", "times")
_TIME: Final = re.compile(
    r"\d{4}(?:Z|z|UTC|utc|hrs|HRS|h|H|hours)|\d{6}Z|\d{1,2}:\d{2}(?::\d{2})?Z?"
)
_ZONES: Final = ("hours", "hrs", "zulu", "utc", "local", "z")
_GLUED: Final = re.compile(r"\d+(?:\.\d+)?(?:m|km|ft|kts?|kmh|hrs|MHz|kHz)")


def with_asides(words: Sequence[Word], language_name: str = "english") -> list[Word]:
    """The same words, with figures that count or measure something set aside as one word each.

    Parameters
    ----------
    words : sequence of Word
        Of a line, numbers joined or not.
    language_name : str
        Whose words.
    """
    found: list[Word] = []
    at = 0
    while at < len(words):
        size = (
            _measured(words, at, language_name)
            or _plus_minus(words, at, language_name)
            or _counted(words, at, found, language_name)
            or _time(words, at)
        )
        if not size:
            found.append(words[at])
            at += 1
            continue
        taken = words[at : at + size]
        said = " ".join(word.said for word in taken)
        found.append(replace(taken[0], said=said, kind="aside", options=("",), end=taken[-1].end))
        at += size
    return found


def with_names(words: Sequence[Word]) -> list[Word]:
    """The same words, with names that hold a number set aside: "bridge 12" behind a pause.

    Only behind a pause or at the beginning, and only with one short whole number: a position goes
    on behind any other unknown word.
    """
    found: list[Word] = []
    at = 0
    while at < len(words):
        starts = not found or found[-1].kind == "pause"
        end = at
        while starts and end < len(words) and words[end].kind in ("unknown", "filler"):
            end += 1
        number = end < len(words) and re.fullmatch(r"\d{1,3}", words[end].said)
        # "Rescue Two, ...": a spoken figure is a name's where a pause closes it.
        closed = end + 1 < len(words) and words[end + 1].kind == "pause"
        spoken = closed and words[end].kind in ("figure", "teen")
        if starts and end > at and (number or spoken):
            taken = words[at : end + 1]
            said = " ".join(word.said for word in taken)
            found.append(replace(taken[0], said=said, kind="aside", end=taken[-1].end))
            at = end + 1
            continue
        found.append(words[at])
        at += 1
    return found


@cache
def _names(section: str, language_name: str) -> frozenset[tuple[str, ...]]:
    return frozenset(getattr(language(language_name), section))


def _name(words: Sequence[Word], at: int, section: str, language_name: str) -> int:
    """How many words make a name of a section here."""
    names = _names(section, language_name)
    pieces: list[str] = []
    best = 0
    for size, word in enumerate(words[at : at + 3], start=1):
        pieces += word.said.lower().split()
        if tuple(pieces) in names:
            best = size
    return best


def _number(words: Sequence[Word], at: int) -> int:
    """How many words make one number here: a typed one, or a spoken one up to the next pause."""
    if at >= len(words) or words[at].kind not in _FIGURES:
        return 0
    if words[at].kind == "typed":
        return 1 if re.fullmatch(r"\d+(?:\.\d+)?", words[at].options[0]) else 0
    end = at
    point = False
    while end < len(words):
        if words[end].kind in _FIGURES and words[end].kind != "typed":
            end += 1
        elif words[end].kind == "mark" and words[end].options[0] == "." and not point:
            point, end = True, end + 1
        else:
            break
    return end - at


def _measured(words: Sequence[Word], at: int, language_name: str) -> int:
    """Size of "altitude 35 metres": what is measured, "is" or "about", a number, its unit."""
    name = _name(words, at, "measured", language_name)
    if not name:
        return 0
    begin = at + name
    while begin < len(words) and words[begin].kind in ("filler", "pause") and begin < at + name + 2:
        begin += 1
    if begin < len(words) and _GLUED.fullmatch(words[begin].said):
        return begin + 1 - at
    number = _number(words, begin)
    if not number:
        return 0
    end = begin + number
    return end - at + _name(words, end, "counted", language_name)


def _plus_minus(words: Sequence[Word], at: int, language_name: str) -> int:
    """Size of "+/- 10 m": an error behind a position."""
    size = 0
    text = ""
    while (
        at + size < len(words) and size < 3 and words[at + size].said in ("+", "/", "-", "±", "+/-")
    ):
        text += words[at + size].said
        size += 1
    if text not in ("+/-", "±", "+-"):
        return 0
    if at + size < len(words) and _GLUED.fullmatch(words[at + size].said):
        return size + 1
    number = _number(words, at + size)
    unit = _name(words, at + size + number, "counted", language_name) if number else 0
    return size + number + unit if unit else 0


def _counted(words: Sequence[Word], at: int, before: Sequence[Word], language_name: str) -> int:
    """Size of "two casualties": a number and what it counts.

    A spoken number needs something before it that parts it from other figures.
    """
    number = _number(words, at)
    if not number:
        if words[at].kind == "typed" and _GLUED.fullmatch(words[at].said):
            return 1
        return 0
    # "Water for ten people": a small word is no figure where a word without figures leads to it.
    parting = [word for word in before if word.kind != "choice"]
    last = parting[-1] if parting else None
    typed = words[at].said.isdigit() or words[at].kind == "typed"
    unit = _name(words, at + number, "counted", language_name)
    # "32T LS 18 53 injured": two figures that would make the grid finer, or 53 injured.
    finer = (
        typed and last is not None and last.said.isdigit() and len(last.said) == len(words[at].said)
    )
    if unit and (finer or not typed) and last is not None and not _parted_by(parting):
        said = " ".join(word.said for word in words[at : at + number + unit])
        raise FormatError(
            f"cannot tell where a count begins in {said!r}: say the position again, and apart from "
            "it how many",
            said,
        )
    return number + unit if unit else 0


def _parted_by(words: Sequence[Word]) -> bool:
    """Whether a spoken number behind these words is no part of the last of them."""
    if len(words) > 1 and words[-1].kind in ("letter", "direction"):
        # "151.2153 E two casualties": a side behind typed figures ends its angle.
        side = words[-1].options[0][:1].upper() in ("N", "S", "E", "W")
        return side and words[-2].kind == "typed" and words[-2].said[:1].isdigit()
    return _parted(words[-1])


def _parted(before: Word) -> bool:
    """Whether a spoken number behind a word is no part of it, as behind a complete angle."""
    if before.kind == "typed":
        return re.fullmatch(r".*\d.*[NSEWnsew]|\d+[.,]\d+", before.said) is not None
    return before.kind not in (*_FIGURES, "letter", "choice", "mark", "label")


def _goes_on(words: Sequence[Word], at: int) -> bool:
    """Whether a mark and more figures touch a word: the 56 of 3:56,82."""
    touching = [one.end == two.start for one, two in pairwise(words[at : at + 3])]
    return touching == [True, True] and words[at + 2].said[:1].isdigit()


def _time(words: Sequence[Word], at: int) -> int:
    if (
        at + 2 < len(words)
        and [word.said == ":" for word in words[at : at + 3]] == [False, True, False]
        and re.fullmatch(r"[0-2]?\d", words[at].said)
        and re.fullmatch(r"[0-5]\d[Zz]?", words[at + 2].said)
        and words[at].start >= 0
        and words[at].end == words[at + 1].start
        and words[at + 1].end == words[at + 2].start
        and not _goes_on(words, at + 2)
    ):
        zoned = at + 3 < len(words) and words[at + 3].said.lower() in _ZONES
        return 4 if zoned else 3
    if words[at].kind == "typed" and _TIME.fullmatch(words[at].said):
        return 1
    if (
        at + 1 < len(words)
        and words[at].kind == "typed"
        and re.fullmatch(r"\d{4}", words[at].said)
        and words[at + 1].said.lower() in _ZONES
    ):
        return 2
    return 0
