"""A standard form that says it all, among words: "fire at POINT(6.63 46.52)"."""

import re
from dataclasses import replace
from typing import Final

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.result import Reading
from plotter.geodesy.position import Area
from plotter.voice.beside import WAY, Left, refuse_taken_back, with_left
from plotter.voice.moves import asks_about
from plotter.voice.tables import Language
from plotter.voice.wording import Word, split_words

__all__ = ["stated_within"]

# A geo URI, well-known text, ISO 6709.
_STATED: Final = re.compile(
    r"(?i)\bgeo:\s*-?\d[-\d.,]*\d|\bPOINT\s*Z?\s*\([^()]*\)|"
    r"(?<!\S)[+-]\d+(?:\.\d+)?[+-]\d+(?:\.\d+)?(?:[+-]\d+(?:\.\d+)?)?(?:CRS\w+)?/"
)
_EDGES: Final = " \t\r\n,.;:"


def stated_within(text: str, words: Language, area: Area | None = None) -> tuple[Reading, ...]:
    """Readings of the one standard form among words without figures; none for another text.

    Raises
    ------
    FormatError
        If the words take it back, or only measure from it.
    """
    forms = list(_STATED.finditer(text))
    if len(forms) != 1 or "?" in text:
        return ()
    form = forms[0][0]
    before, after = text[: forms[0].start()].strip(_EDGES), text[forms[0].end() :].strip(_EDGES)
    if any(character.isdigit() for character in before + after) and not WAY.search(before):
        return ()
    try:
        found = reading(form, area)
    except FormatError:
        return ()
    lead = split_words(before, words)
    line = [*lead, Word(form, "typed", (form,)), *split_words(after, words)]
    refuse_taken_back(line, len(lead), len(lead), text)
    left = tuple(Left(part, asks_about(part)) for part in (before, after) if part)
    said = tuple(each.said for each in left)
    return tuple(replace(r, rests_on=form, left_out=said) for r in with_left(left, found))
