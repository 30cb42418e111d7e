"""Taking a spoken line apart: which phrase of the tables, or which typed characters, come next."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

from plotter.errors import FormatError
from plotter.formats.degrees.characters import same_marks
from plotter.voice.tables import Kind, Language

__all__ = ["LONGEST", "Word", "split_words"]

# A reading in degrees, minutes and seconds, said twice in the longest words, has 600 characters.
LONGEST: Final = 1_000
_TOKEN: Final = re.compile(r"[^\W_]+(?:['’][^\W\d_]+)*(?:\.\d[^\W_]*)*|''|[^\w\s]|_")
_HYPHENS: Final = str.maketrans("‐‑‒–—−", "------")
_ORDINAL: Final = re.compile(r"\d+(?:st|nd|rd|th)", re.IGNORECASE)
_MARKS: Final = {"''": '"', "°": "°", "'": "'", "’": "'", "′": "'", '"': '"', "”": '"', "″": '"'}

Part: TypeAlias = Literal["typed", "number", "unknown", "aside"] | Kind


@dataclass(frozen=True, slots=True)
class Word:
    """A word or a phrase as said, with what it stands for.

    Parameters
    ----------
    said : str
        As it came.
    kind : Part
        A kind of the tables; ``typed`` for characters as they are; ``number`` for the figures of
        a number that was said as a whole; ``unknown``.
    options : tuple of str
        The characters it can stand for.
    slip : bool
        Whether it is a likely mishearing of a proper word.
    start, end : int
        Where it stands in the text; −1 where that is not known.
    """

    said: str
    kind: Part
    options: tuple[str, ...] = ("",)
    slip: bool = False
    start: int = -1
    end: int = -1


def split_words(text: str, words: Language) -> list[Word]:
    """Words of a line in order; the longest phrase that fits is taken first.

    Raises
    ------
    FormatError
        If the line is too long to be a position.
    """
    if len(text) > LONGEST:
        raise FormatError(
            f"{text[:40]!r}... is {len(text)} characters long, too long for a spoken position: "
            "give the position alone",
            text,
        )
    marked = same_marks(text)
    # A raised or circled figure is a footnote, and no figure.
    plain = "".join(
        each if unicodedata.category(each) == "No" else unicodedata.normalize("NFKC", each)
        for each in marked
    ).translate(_HYPHENS)
    if len(plain) != len(text):
        plain = marked.translate(_HYPHENS)  # so that a word's place is its place in the text
    tokens = _without_joining_hyphens(list(_TOKEN.finditer(plain)), plain)
    shouted = plain.upper() == plain
    found: list[Word] = []
    at = 0
    while at < len(tokens):
        size = _longest_phrase(tokens, at, words)
        if size:
            meaning = words.phrases[_key(tokens[at : at + size])]
            start, end = tokens[at].start(), tokens[at + size - 1].end()
            said = plain[start:end]
            found.append(Word(said, meaning.kind, meaning.options, meaning.slip, start, end))
            at += size
            continue
        # A mark joins only what it touches: "Team 5: 41.2" is no 5:41.2, "6 -29.9" no 6-29.9.
        tight = at > 0 and tokens[at - 1].end() == tokens[at].start()
        before = tokens[at - 1][0] if tight else ""
        touches = at + 1 < len(tokens) and tokens[at + 1].start() == tokens[at].end()
        after = tokens[at + 1][0] if at + 1 < len(tokens) and (touches or not tight) else ""
        typed = _typed(tokens[at][0], before, after, words, shouted=shouted)
        apart = at > 0 and not tight and not touches
        if tokens[at][0] == "-" and apart and _ends_a_name(tokens[:at]):
            typed = Word("-", "unknown")  # "Base - 47.2": a dash, or a minus
        found.append(replace(typed, start=tokens[at].start(), end=tokens[at].end()))
        at += 1
    return found


def _without_joining_hyphens(tokens: list[re.Match[str]], text: str) -> list[re.Match[str]]:
    """Drop the hyphen of "forty-five"; keep those that stand beside figures or alone."""
    kept: list[re.Match[str]] = []
    for token in tokens:
        if token[0] == "-":
            left = text[token.start() - 1 : token.start()]
            right = text[token.end() : token.end() + 1]
            if left.isalpha() and right.isalpha():
                continue
        kept.append(token)
    return kept


def _ends_a_name(tokens: Sequence[re.Match[str]]) -> bool:
    """Whether a word, or a word with its number, stands last: "Base", "no 4"."""
    last = tokens[-1][0]
    if last.isdigit() and len(last) <= 3 and len(tokens) > 1:
        return tokens[-2][0].isalpha() or tokens[-2][0] == "."
    return last.isalpha()


def _key(tokens: Sequence[re.Match[str]]) -> tuple[str, ...]:
    return tuple(token[0].lower().replace("’", "'") for token in tokens)


def _longest_phrase(tokens: list[re.Match[str]], at: int, words: Language) -> int:
    """How many of the next tokens make the longest phrase, 0 where none does."""
    for size in range(min(words.longest, len(tokens) - at), 0, -1):
        if _key(tokens[at : at + size]) in words.phrases:
            return size
    return 0


def _typed(token: str, before: str, after: str, words: Language, *, shouted: bool) -> Word:
    """A token that is in no table: characters that somebody typed, a mark, or an unknown word."""
    if token in _MARKS:
        return Word(token, "mark", (_MARKS[token],))
    if token in ".," and before in _MARKS and after[:1].isdigit():
        return Word(token, "mark", (".",))  # 30'.3: the mark stands over the point
    if token in "+/":
        return Word(token, "mark", (token,))
    if token == ":" and before[-1:].isdigit() and after[:1].isdigit():
        return Word(token, "mark", (token,))
    if token == "-":
        beside = after[:1].isdigit()
        joins = beside and before[-1:].isalnum()
        return Word(token, "mark", ("-" if joins else "minus",)) if beside else Word(token, "pause")
    if not token[0].isalnum():
        return Word(token, "pause" if token in ",;:.!?()[]" else "unknown")
    if not token.isascii():
        return Word(token, "unknown")
    if any(character.isdigit() for character in token):
        if _ORDINAL.fullmatch(token):
            return Word(token, "unknown")
        return Word(token, "figure" if len(token) == 1 else "typed", (token,))
    if len(token) == 1:
        return Word(token, "letter", (token.upper(),))
    # "DQ" as it stands on the map, "td" as it was typed, "NZTM" for what it is: not words.
    capitals = token.isupper() and not shouted
    if capitals or (len(token) == 2 and token.lower() not in words.short_words):
        return Word(token, "typed", (token.upper(),))
    return Word(token, "unknown")
