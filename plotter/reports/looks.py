"""Whether free talk looks like a position or a bearing: if so it is asked about, else a note."""

import re
from functools import cache
from typing import Final

from plotter.reports.quantities import direction_at, length_at, point_at, skip_pause
from plotter.voice.figures import in_figures
from plotter.voice.moves import begins_as_change, may_be_a_way
from plotter.voice.tables import language

__all__ = ["looks_like_a_report", "sender_may_have_moved"]

_SIDE: Final = r"(?:[NSEWO]|north|south|east|west)"
_MARKS: Final = (
    # Degrees, or a number beside a side of the world.
    re.compile(r"\d\s*(?:°|º|deg|degrees?\b)", re.IGNORECASE),
    re.compile(rf"\d[\d.,'′\"″ ]*\s*{_SIDE}\b"),
    re.compile(rf"\b{_SIDE}\s*[-−]?\d"),
    # Letters and figures of grids, locators and codes.
    re.compile(r"\b\d{1,2}\s?[C-HJ-NP-X]\b(?=[\s\d A-Z])"),
    re.compile(r"\b[A-HJ-NP-Z]{2}\s?\d{2,}(?:[\s\d]|\b)"),
    re.compile(r"\b[A-R]{2}\d{2}(?:[A-X]{2})?\b", re.IGNORECASE),
    re.compile(r"\b[23456789CFGHJMPQRVWX]{4,8}\+[23456789CFGHJMPQRVWX]*", re.IGNORECASE),
    # Two decimals, two equal groups, or a long run of figures.
    re.compile(r"\d+[.,]\d{2,}\D{1,12}?[-−]?\d+[.,]\d{2,}"),
    re.compile(r"\b(?P<one>\d{3,7})[\s,/]+\d{3,7}\b"),
    re.compile(r"\d{6,}"),
    re.compile(r"(?:\b\d\b[\s,-]*){4,}"),
    # What says of itself that it is one.
    re.compile(
        r"\b(?:latitude|longitude|lat|lon|long|easting|northing|grid|mgrs|utm|usng|locator"
        r"|coordinates?|coords|position|bearing|bears|azimuth)\b.*\d",
        re.IGNORECASE | re.DOTALL,
    ),
    re.compile(r"\$[A-Z]{5},|[A-Z0-9-]{3,9}>"),
)
_MOVING: Final = re.compile(
    r"(?i)\b(?:mov(?:e|ed|es|ing)|left|leaving|depart\w*|disregard|withdraw\w*|not\s+(?:at|in|there)|"
    r"no\s+longer|wrong|heading|en\s+route|under\s*way|on\s+(?:the|our|my)\s+way|relocat\w*|"
    r"return(?:ed|ing)|walk(?:ed|ing)|drov?e|driving|drift\w*|sail\w*|paddl\w*|climb\w*|"
    r"descend\w*|going|gone|went|pass(?:ed|ing)|past|arriv\w*|reach(?:ed|ing)|turned\s+back)\b"
)
_HEAD: Final = re.compile(r"\s*(?:at|position|location|bearing|distance)\b", re.IGNORECASE)
_NUMBER_LIKE: Final = re.compile(r"(?<![^\s,;:(])(?=[\w.,½¼¾])")
_LONGEST: Final = 1_000


def looks_like_a_report(text: str) -> bool:
    """Whether words that cannot be read may still say where somebody is, or a direction.

    Wrong both ways at times; a "yes" is a question too many, a "no" a place that is found by
    nobody: whatever has figures like a grid, degrees or sides is a "yes".

    Examples
    --------
    >>> looks_like_a_report("27H UT 8O56"), looks_like_a_report("no idea where we are")
    (True, False)
    """
    if _HEAD.match(text) or may_be_a_way(text) or begins_as_change(text):
        return True
    words = in_figures(text) if len(text) <= _LONGEST else text
    if any(mark.search(each) for mark in _MARKS for each in {text, words}):
        return True
    spelled = sum(word in _spelling_words() for word in re.findall(r"[a-z]+", text.lower()))
    if spelled >= 2 and any(character.isdigit() for character in words):
        return True
    return any(_from_somewhere(text, match.start()) for match in _NUMBER_LIKE.finditer(text))


def sender_may_have_moved(text: str) -> bool:
    """Whether words may say that their sender goes, has gone, or was not where it said.

    Examples
    --------
    >>> sender_may_have_moved("we have left"), sender_may_have_moved("two casualties, all calm")
    (True, False)
    """
    return _MOVING.search(text) is not None or begins_as_change(text)


@cache
def _spelling_words() -> frozenset[str]:
    return frozenset(
        phrase[0]
        for phrase, meaning in language("english").phrases.items()
        if meaning.kind == "letter" and len(phrase) == 1 and len(phrase[0]) > 2
    )


def _from_somewhere(text: str, at: int) -> bool:
    """Whether a length and a direction begin here."""
    try:
        found = length_at(text, at)
        if found is None:
            return False
        after = skip_pause(text, found[1])
        if point_at(text, after):
            return True
        on = re.compile(r"(?:on|bearing)\s+", re.IGNORECASE).match(text, after)
        return on is not None and direction_at(text, on.end()) is not None
    except ValueError:
        return True
