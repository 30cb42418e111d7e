"""Taking a text apart: every character becomes part of a token that knows what it can be."""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, product
from typing import Any, Final

from plotter.formats.degrees.characters import Plain, plain
from plotter.formats.degrees.lexicon import SIDES, Role, lexicon, longest_phrase

__all__ = ["Token", "tokenisations"]

# A letter with the marks that some scripts write as characters of their own.
_LETTER: Final = (
    r"[^\W\d_¼-¾²³¹⅐-⅞][\u0300-\u036f\u0591-\u05c7\u064b-\u0652\u0900-\u0903\u093a-\u094f\u0e31\u0e34-\u0e3a"
    r"\u0e47-\u0e4e]*"
)
_PIECE: Final = re.compile(rf"\s*(?:([0-9]+)|((?:{_LETTER})+)|(''|\S))")
_MARKS: Final[dict[str, Role]] = {
    ".": ("point", ""), ",": ("comma", ""), "-": ("dash", ""), "+": ("sign", "+"),
    "/": ("slash", ""),
    ":": ("colon", ""), ";": ("semicolon", ""), "|": ("bar", ""), "_": ("bar", ""),
    "&": ("and", ""), "=": ("is", ""), "(": ("open", ""), "[": ("open", ""), "{": ("open", ""),
    ")": ("close", ""), "]": ("close", ""), "}": ("close", ""),
    "°": ("unit", 0), "'": ("unit", 1), '"': ("unit", 2), "''": ("unit", 2),
    "½": ("fraction", (1, 2)), "¼": ("fraction", (1, 4)), "¾": ("fraction", (3, 4)),
    "⅓": ("fraction", (1, 3)), "⅔": ("fraction", (2, 3)), "⅛": ("fraction", (1, 8)),
    "⅜": ("fraction", (3, 8)), "⅝": ("fraction", (5, 8)), "⅞": ("fraction", (7, 8)),
}  # fmt: skip
_MOST: Final = 4
_LONGEST_SHORT: Final = 4  # letters of a short form with its plural: degs, mins, secs
_DOTS: Final = re.compile(r"\s*\.?\s*")


@dataclass(frozen=True, slots=True)
class Token:
    """A few characters with everything that they can be in a pair of angles.

    Parameters
    ----------
    text : str
        The plain characters.
    start, end : int
        Where they stand in the text as given.
    glued : bool
        Whether nothing stands between it and the token before.
    roles : tuple of (str, value)
        What it can be: ``figures``, ``side`` with its sides, ``unit`` with its place, ``label`` ...
        Empty for what no angle has.
    letter : bool
        Whether it is a single letter of the text, which needs the company of others to be a unit.
    spoken : bool
        Whether the figures were said one by one, without the gaps that a writer leaves.
    """

    text: str
    start: int
    end: int
    glued: bool
    roles: tuple[Role, ...]
    letter: bool = False
    spoken: bool = False

    def value(self, name: str) -> Any:  # noqa: ANN401 - a side, a place, an axis
        """Value of one of its roles; None where it has not that role."""
        for role, value in self.roles:
            if role == name:
                return value
        return None


def tokenisations(text: str) -> Iterator[tuple[Token, ...]]:
    """Ways to take a text apart, the likelier first.

    A text has more than one only where a word can be cut in two ways: ``degs`` may be the plural,
    or degrees and south.

    Parameters
    ----------
    text : str
        As somebody wrote it.
    """
    found = plain(text)
    pieces = _pieces(found)
    # The same word is cut alike wherever it stands.
    several = list(dict.fromkeys(tuple(each) for each in pieces if len(each) > 1))
    for choice in islice(product(*(range(len(each)) for each in several)), _MOST):
        chosen = dict(zip(several, choice, strict=True))
        yield tuple(token for each in pieces for token in each[chosen.get(tuple(each), 0)])


_Ways = list[tuple[Token, ...]]


def _pieces(found: Plain) -> list[_Ways]:
    """Each piece of the text in order, with every way to take it apart."""
    text, at = found.text, found.at
    pieces: list[_Ways] = []
    end = 0
    before: Token | None = None
    while match := _PIECE.match(text, end):
        start = match.start(match.lastindex or 0)
        glued = start == end and start > 0
        end = match.end()
        if match[2]:
            ways, end = _word(found, match[2], start, end, before, glued=glued)
        else:
            piece = match[1] or match[3]
            role: tuple[Role, ...] = ()
            if match[1]:
                role = (("figures", ""),)
            elif piece in _MARKS:
                role = (_MARKS[piece],)
            ways = [(Token(piece, at[start], at[end], glued, role),)]
        pieces.append(ways)
        before = ways[0][-1]
    return pieces


def _word(
    found: Plain, word: str, start: int, end: int, before: Token | None, *, glued: bool
) -> tuple[_Ways, int]:
    """Ways to take a word or a phrase apart, and where it ends."""
    text, at = found.text, found.at
    words, ends = [word], [end]
    while len(words) < longest_phrase:
        gap = _DOTS.match(text, ends[-1])
        more = _PIECE.match(text, gap.end()) if gap else None
        if more is None or not more[2]:
            break
        words.append(more[2])
        ends.append(more.end())
    table = lexicon()
    keys = [_folded(each) for each in words]
    for size in range(len(words), 0, -1):
        roles = table.get(tuple(keys[:size]))
        if roles is None and size > 1:
            roles = (
                table.get(("".join(keys[:size]),)) if "." in text[start : ends[size - 1]] else None
            )
        if roles is not None:
            stop = _with_full_stop(text, ends[size - 1])
            whole = text[start:stop]
            single = len(word) == 1 and size == 1
            roles = _in_company(word, roles, text, start, end, before) if size == 1 else roles
            token = Token(whole, at[start], at[stop], glued, roles, letter=single)
            cut = (
                _cut(word, at, start, end, glued=glued)
                if size == 1 and _after_figures(before)
                else []
            )
            if len(word) > _LONGEST_SHORT:
                cut = []  # "degrees" is no degree south
            if cut and word[:-1].islower() and word[-1].isupper():
                return cut, end  # "degS": the capital is a side, not a plural
            return [(token,), *cut], stop
    if _after_figures(before) and (cut := _cut(word, at, start, end, glued=glued)):
        return cut, end
    if not word.isascii() and (parts := _joined(word, at, start, glued=glued)):
        return [parts], end
    letter = len(word) == 1
    return [
        (Token(word, at[start], at[end], glued, _exponent(word, text, start, end), letter),)
    ], end


def _folded(word: str) -> str:
    return word.lower() if word.isascii() else unicodedata.normalize("NFC", word.casefold())


def _with_full_stop(text: str, end: int) -> int:
    """End of an abbreviation with its full stop, unless a figure follows it at once."""
    if text[end : end + 1] == "." and not text[end + 1 : end + 2].isdigit():
        return end + 1
    return end


def _after_figures(before: Token | None) -> bool:
    return before is not None and (
        before.value("figures") is not None
        or before.value("fraction") is not None
        or before.value("point") is not None
    )


def _in_company(
    word: str, roles: tuple[Role, ...], text: str, start: int, end: int, before: Token | None
) -> tuple[Role, ...]:
    """Roles that a word has by what stands beside it."""
    if word == "o" and _after_figures(before) and start and text[start - 1].isdigit():
        roles = (("unit", 0), *roles)  # a small letter for the ring
    return (*roles, *_exponent(word, text, start, end))


def _exponent(word: str, text: str, start: int, end: int) -> tuple[Role, ...]:
    beside = text[start - 1 : start].isdigit() and re.match(r"[-+][0-9]{1,2}(?![0-9.])", text[end:])
    return (("exponent", ""),) if word in ("e", "E") and beside else ()


def _cut(word: str, at: Any, start: int, end: int, *, glued: bool) -> _Ways:  # noqa: ANN401
    """A unit and a side that were written as one word: degS, minW, sN, mO."""
    # The side is one letter, or a whole word: degS, degWest. "Gradoeste" can be cut twice.
    ways: _Ways = []
    for size in (1, *range(3, len(word))):
        head, tail = word[:-size], word[-size:]
        known = size > 1 or tail.upper() in {*SIDES, "O"}
        sides = lexicon().get((_folded(tail),)) if known else None
        units = lexicon().get((_folded(head),)) if head else None
        unit = next((role for role in units or () if role[0] == "unit"), None)
        side = next((role for role in sides or () if role[0] == "side"), None)
        if unit is None or side is None:
            continue
        middle = start + len(head)
        first = Token(head, at[start], at[middle], glued, (unit,), letter=len(head) == 1)
        second = Token(tail, at[middle], at[end], True, (side,), letter=True)
        ways.append((first, second))
    return ways


def _joined(word: str, at: Any, start: int, *, glued: bool) -> tuple[Token, ...]:  # noqa: ANN401
    """Words that a script writes without gaps, from the left, the longest first."""
    tokens: list[Token] = []
    done = 0
    while done < len(word):
        for size in range(min(6, len(word) - done), 0, -1):
            roles = lexicon().get((_folded(word[done : done + size]),))
            if roles is not None:
                break
        else:
            return ()
        here = start + done
        tokens.append(
            Token(word[done : done + size], at[here], at[here + size], glued or done > 0, roles)
        )
        done += size
    return tuple(tokens)
