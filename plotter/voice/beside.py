"""Where a position begins and ends among words, and what beside it speaks against reading it.

A side, a mark, a figure or a way that was said is never passed over as free talk: it belongs to the
position, or the position is asked for again.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.voice.moves import asks_about, asks_about_figures

if TYPE_CHECKING:
    from plotter.voice.wording import Word

__all__ = [
    "NO_MATTER",
    "SIDE_IN_WORDS",
    "WAY",
    "Left",
    "TakenBackError",
    "asks_of_left",
    "has_figures",
    "is_angle_label",
    "is_side",
    "left_of",
    "refuse_coarse",
    "refuse_lead",
    "refuse_stray_mark",
    "refuse_taken_back",
    "span_of",
    "with_left",
]  # fmt: skip

NO_MATTER: Final = frozenset({"filler", "opener", "soft_opener", "ender", "pause", "and"})
_NUMBERS: Final = frozenset(
    {"figure", "number", "tens", "teen", "hundred", "thousand", "million", "times"}
)
# Two decimals of a degree: a shorter number beside words is mostly something else.
_COARSE_M: Final = 1_500.0
_COARSEST_M: Final = 50_000.0
_MARKS_OF_NUMBERS: Final = (".", ",", ";", ":", "/", "-", "+", "'", '"', "°")
_LENGTH: Final = r"\d+(?:\.\d+)?\s*(?:m|km|metres?|meters?|kilomet\w+|miles?|nm|feet|ft|yards?)\b"
_POINT: Final = r"\b(?:north|south|east|west)\w*\b"
WAY: Final = re.compile(
    rf"(?i){_LENGTH}\W+(?:\w+\W+){{0,3}}?{_POINT}|{_POINT}\W+(?:\w+\W+)?{_LENGTH}"
)
SIDE_IN_WORDS: Final = re.compile(
    r"(?i)\b(?:[nsewo]|north\w*|south\w*|east\w*|west\w*|w[a-z]?st|norte|sur|sul|este|oeste|ouest|"
    r"ovest|sud|nord|s[üu]d|ost|oost|noord|zuid|latitude|longitude|lat|lon|long)\b"
)
_WORDS: Final = re.compile(r"[^\W\d_]+(?:\s?\.\s?[^\W\d_]{1,2}(?=\s?\.))*")
_SIGNED: Final = re.compile(r"(?<![\w.,])[-−]\s?\d")
# Behind "not" they take a position back; any other word is a state: "not breathing".
_BACK: Final = frozenset({"there", "here", "at", "right", "correct", "valid", "anymore", "any"})


@dataclass(frozen=True, slots=True)
class Left:
    """Words that stand beside a position, and what to ask of them."""

    said: str
    asks: tuple[str, ...]


def left_of(words: Sequence["Word"], *, lead: bool = False) -> Left:
    """What words beside a position say, and whether they may move it.

    Figures there belong to something that their own words count or measure, to a name, or to
    another place.
    """
    said = " ".join(word.said for word in words)
    asks = asks_about(said, lead=lead)
    for at, word in enumerate(words):
        if is_angle_label(word):
            # "-18.50 Lat: -56.40 Lng:": a label that is left over belonged to a number.
            asks = asks or (asks_about_figures(said),)
        if not has_figures(word) or word.kind in ("aside", "choice"):
            continue
        named = at > 0 and words[at - 1].kind == "unknown" and len(word.said) <= 2
        named &= not any(_of_an_angle(each) for each in words[max(at - 1, 0) : at + 2])
        # "One not breathing": a number word alone before a word that is none.
        after = words[at + 1].kind if at + 1 < len(words) else ""
        lone = word.said.isalpha() and after in ("", "unknown", "negation", "pause", "filler")
        lone &= at == 0 or not has_figures(words[at - 1])
        if not (named or lone or asks):
            asks = (asks_about_figures(said),)
    return Left(said, asks)


def asks_of_left(left: Sequence[Left]) -> tuple[str, ...]:
    """What to ask of all the words beside a position."""
    return tuple(ask for each in left for ask in each.asks)


def with_left(left: Sequence[Left], found: Sequence[Reading]) -> list[Reading]:
    """Readings with what was said beside them: noted, and asked about where it may move them."""
    asks = asks_of_left(left)
    notes = tuple(f"left out {each.said!r}" for each in left)
    return [replace(r, assumed=notes + r.assumed, asks=asks + r.asks) for r in found]


class TakenBackError(FormatError):
    """A position that the line itself takes back, or only relates to."""


def refuse_coarse(
    found: Sequence[Reading], text: str, *, alone: bool, opened: bool, before: str, after: str
) -> None:
    """Reject what may be anything, of a few characters in the middle of other words."""
    if not alone and (way := WAY.search(before)):
        raise TakenBackError(
            f"{text[:120]!r} says {way[0].strip()!r} before the position: say which place is "
            "meant, or the way from it, as in '500 m west of' and the position",
            text,
        )
    from plotter.voice.near_words import nearly_a_side, says_a_side  # loaded late, and its tables

    for each in () if alone else found:
        open_sides = each.unstated & {"lat side", "lon side"}
        if open_sides and re.search(r"[-−–—]\s*$", before):
            raise FormatError(
                f"cannot tell whether the dash before the figures in {text[:120]!r} is a minus: "
                "ask for each angle with its side",
                text,
            )
        if open_sides:
            beside = f"{before} {after}"
            stated = SIDE_IN_WORDS.search(beside) or next(
                (w for w in _WORDS.finditer(beside) if says_a_side(w[0]) or nearly_a_side(w[0])),
                None,
            )
            # "-55.766 / 127.561": a minus stands on one number only; a letter stands on both.
            half = len(open_sides) == 1 and not _SIGNED.search(text)
            if stated or half:
                told = stated[0].strip() if stated else "a side for one angle only"
                raise FormatError(
                    f"{text[:120]!r} says {told!r}, and not of which number: ask for latitude and "
                    "longitude, each with its side",
                    text,
                )
        bare = bool(open_sides) and "order" in each.unstated and not opened
        if each.square.size_m > (_COARSE_M if bare else _COARSEST_M):
            raise FormatError(
                f"{text[:120]!r} may hold a position, or may not: ask for it alone and in full",
                text,
            )


def has_figures(word: "Word") -> bool:
    """Whether a word is figures, or holds some."""
    if word.kind in ("typed", "choice"):
        return any(character.isdigit() for option in word.options for character in option)
    return word.kind in _NUMBERS


def span_of(words: Sequence["Word"]) -> tuple[int, int]:
    """First and last word of what is said as a position: its figures and what stands by them.

    All of the words where there are no figures: letters may be a square by its name.
    """
    sure = [i for i, word in enumerate(words) if has_figures(word) and word.kind != "choice"]
    if not sure:
        return 0, len(words) - 1
    first, last = sure[0], sure[-1]
    while first and (_belongs(words[first - 1]) or _joins(words, first - 1)):
        first -= 1
    while first < sure[0] and (words[first].kind == "pause" or words[first].said == "="):
        first += 1
    while last + 1 < len(words):
        if _abbreviated(words, last):
            last += 2
            continue
        if _belongs(words[last + 1]) or _of_an_angle(words[last + 1]):
            last += 1
            continue
        # A side behind a comma, a dash or a bracket, or behind small words, belongs to its number.
        behind = last + 1
        while behind < len(words) and words[behind].kind in ("pause", "filler", "and", "choice"):
            behind += 1
        if behind == last + 1 or behind >= len(words) or not is_side(words[behind]):
            break
        last = behind
    while last + 1 < len(words) and words[last + 1].said in (")", "]"):
        last += 1
    return first, last


def _abbreviated(words: Sequence["Word"], last: int) -> bool:
    """Whether a side goes on behind its full stop: "в.д."."""
    if last + 2 >= len(words) or words[last + 1].said != ".":
        return False
    both = f"{words[last].said}.{words[last + 2].said}."
    return words[last].kind == "unknown" and _has_roles(both, ("side",))


def is_angle_label(word: "Word") -> bool:
    """Whether a word says in any language which angle a number is."""
    if word.kind == "label":
        return word.options[0] in ("latitude", "longitude")
    return word.kind == "unknown" and len(word.said) > 2 and _has_roles(word.said, ("label",))


def is_side(word: "Word") -> bool:
    """Whether a word is a side of an angle in any language."""
    if word.kind == "direction":
        return True
    return word.kind in ("unknown", "typed", "letter") and _has_roles(word.said, ("side",))


def _of_an_angle(word: "Word") -> bool:
    """Whether a word is a side, a unit or a label of angles in any language."""
    return word.kind == "unknown" and _has_roles(word.said, ("side", "unit", "label"))


def _has_roles(said: str, roles: tuple[str, ...]) -> bool:
    from plotter.formats.degrees.tokens import tokenisations

    return any(
        all(any(token.value(role) is not None for role in roles) for token in tokens)
        for tokens in tokenisations(said)
    )


def _joins(words: Sequence["Word"], at: int) -> bool:
    """Whether a mark or a small word joins a label before it to what follows: "latitude is"."""
    while at >= 0 and (words[at].said in (":", "=", "(", "[") or words[at].kind == "filler"):
        at -= 1
    return at >= 0 and words[at].kind == "label"


def _belongs(word: "Word") -> bool:
    """Whether a word beside figures is a part of their position."""
    if word.kind == "typed" and word.said.islower() and word.said.isalpha():
        return _names_an_angle(word.said)
    if word.kind in (
        "letter",
        "typed",
        "direction",
        "label",
        "mark",
        "choice",
        "fraction",
        "times",
    ):
        return True
    return word.kind == "unknown" and _names_an_angle(word.said)


def _names_an_angle(said: str) -> bool:
    """Whether a word is a side or a label of angles in any language."""
    return _has_roles(said, ("side", "label"))


def refuse_taken_back(words: Sequence["Word"], first: int, last: int, text: str) -> None:
    """Reject a position that the words beside it take back, or only measure from."""
    tail = [w for w in words[last + 1 :] if w.kind not in NO_MATTER]
    behind = tail[0] if tail else None
    # "One not breathing" takes nothing back, "not there" does.
    state = len(tail) > 1 and tail[1].kind == "unknown" and tail[1].said.lower() not in _BACK
    if behind is not None and behind.kind == "negation" and not (behind.said == "not" and state):
        raise TakenBackError(
            f"{text[:120]!r} says {behind.said!r}: ask for the position alone", text
        )
    before = next((w for w in reversed(words[:first]) if w.kind not in NO_MATTER), None)
    refuse_lead(before, words[first : last + 1], text)


def refuse_lead(before: "Word | None", words: Sequence["Word"], text: str) -> None:
    """Reject figures behind a word that takes them back, or only measures from them."""
    if before is None or not any(has_figures(word) for word in words):
        return
    if before.kind == "negation":
        raise TakenBackError(
            f"{text[:120]!r} says {before.said!r}: ask for the position alone", text
        )
    if before.kind == "relation":
        raise TakenBackError(
            f"{text[:120]!r} says {before.said!r} before the position: it is somewhere else than "
            "the place that is named; give distance and direction from it, or ask where it is",
            text,
        )


def refuse_stray_mark(first: "Word", last: "Word", text: str) -> None:
    """Reject a mark that clings to the first figure, and a number that goes on behind the last."""
    before = text[: first.start] if first.start > 0 else ""
    clings = before[-1:] in _MARKS_OF_NUMBERS and not before[-2:-1].isalpha()
    behind = text[last.end :] if last.end >= 0 else ""
    if last.said[-1:].isdigit() and re.match(r"[.,]\d", behind):
        raise FormatError(
            f"a number goes on behind {last.said!r} in {text[:120]!r}: ask for it again", text
        )
    if clings and first.said[:1].isdigit():
        raise FormatError(
            f"cannot tell what {before[-1]!r} stands for before {first.said!r} in {text[:120]!r}: "
            "ask for the position again",
            text,
        )
