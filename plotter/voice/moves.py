"""Words beside a position that may move it: corrections, ways from it, sides, in many languages.

What stands beside a position is free talk, and a note, unless it may mean another place: then it is
asked about, whatever the language. A length alone measures anything; with a word of direction or
relation in its clause it may be a way from the place.
"""

import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, Final

from plotter.formats.degrees.lexicon import lexicon

__all__ = ["asks_about", "asks_about_figures", "begins_as_change", "may_be_a_way", "unsure_words"]

_FILE: Final = Path(__file__).resolve().parent / "data" / "words_that_move.json"
_CLAUSE: Final = re.compile(
    r"[,;.:!?()\[\]]+(?=\s|$)|\s[-–—]\s|\b(?:and|und|et|y|e|ed|en|och|og)\b"
)
_WORD: Final = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")
_NUMBER: Final = (
    r"(?:\d+(?:[.,]\d+)?|(?:one|two|three|four|five|six|seven|eight|nine|ten|hundred|thousand|half|"
    r"quarter|few|couple)(?:\W+(?:a|an|of|and|hundred|thousand|one|two|three|four|five|six|seven|"
    r"eight|nine|ten|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|zero))*)"
)
_LENGTH: Final = re.compile(
    rf"(?i)\b{_NUMBER}\s*(?:m|km|ft|nm|mi|yds?|met(?:re|er|ro)s?|m[èe]tres?|metri|metros?|"
    r"kilom[eéè]t\w+|mil(?:e|es|la|las|las|ja|ia|has)|meilen?|feet|foot|yards?|schritte?|steps|paces|"
    r"м|км|метр\w*|километр\w*|minutes?\s+(?:walk|on|away)|meters?|quilómetros?)\b(?!\s*(?:/|per\b|an\s+hour))"
)
_TURNED: Final = re.compile(r"(?i)\b\d{2,3}\s*(?:°|deg\w*)")
_LATER: Final = re.compile(
    rf"(?i)(?:in|within|for)?\s*(?:about\s+)?(?:an?|{_NUMBER})\s*(?:min\w*|hours?|hrs?|days?)(?:\s+ago)?"
)
_ERROR: Final = re.compile(r"±|\+\s*/?\s*-|\bplus\W+(?:or\W+)?minus\b", re.IGNORECASE)
_NO_CHANGE: Final = re.compile(r"(?i)\bno\s+changes?\b|\bunchanged\b")
_WITH_US: Final = re.compile(r"(?i)(?:now\s+)?(?:with|beside|next\s+to)\s+(?:us|me)")
_POINT_BETWEEN: Final = re.compile(r"(?<=[^\W\d]) \. (?=[^\W\d])")
_UNIT_ALONE: Final = re.compile(r"(?i)(?:in\s+)?(?:minutes?|seconds?|non?|paris)")
_LONE_SIDE: Final = re.compile(r"(?<![\w.])[NSEW](?![\w.])")
_CHOICE: Final = re.compile(r"(?i)\b(?:or|either|could|may|might|unless|side|which|if)\b")
# Names and nouns of few letters have other meanings beside a position.
_SHORTEST_SIDE: Final = 4
_COMPOUND: Final = re.compile(
    r"(?i)\b(?:n|s)(?:n|s)?[ew]\b|\b(?:north|south|nord|süd|sud|noord|zuid|syd)[\s-]?"
    r"(?:east|west|ost|ouest|est|oost|öst|väst|vest)\w*\b"
)


def asks_about(said: str, *, lead: bool = False) -> tuple[str, ...]:
    """What to ask about words beside a position; nothing where they are free talk.

    Words that lead to it may also say by their last ones that it is not there: "nicht", "abeam".

    Examples
    --------
    >>> asks_about("two casualties, need a stretcher")
    ()
    >>> asks_about("change east to west")
    ("'change east to west' was said beside the position and may move it: ask for the place alone",)
    """
    clauses = list(_clauses(_POINT_BETWEEN.sub(".", said)))
    found = [each for each in clauses if _may_move(each) or (not lead and _is_over(each))]
    if lead and not found and clauses and _leads_elsewhere(clauses[-1]):
        found = clauses[-1:]
    if not found:
        return ()
    words = "; ".join(dict.fromkeys(found))
    if len(words) > 80:
        words = f"{words[:79]}…"
    return (f"{words!r} was said beside the position and may move it: ask for the place alone",)


def may_be_a_way(said: str) -> bool:
    """Whether words hold a way from somewhere: a length with a direction, halfway, the other bank.

    Examples
    --------
    >>> may_be_a_way("500 m nördlich von der Kapelle"), may_be_a_way("rope 50 m")
    (True, False)
    """
    return any(
        _is_way(clause) or bool(_phrases("between").search(clause)) for clause in _clauses(said)
    )


def begins_as_change(said: str) -> bool:
    """Whether words begin by taking back or changing something: "strike that", "Korrektur"."""
    return _phrases("changes").match(said.strip(" ,.;:-")) is not None


def asks_about_figures(said: str) -> str:
    """What to ask about figures beside a position that nothing there counts or measures."""
    return (
        f"{said!r} was said beside the position, and its figures are no part of it: ask whether it "
        "is another place or a correction"
    )


def unsure_words(said: str) -> tuple[str, ...]:
    """The words by which somebody says that a position is not sure, as said.

    Examples
    --------
    >>> unsure_words("47.26N 14.60E, I think")
    ('I think',)
    """
    return tuple(match[0] for match in _phrases("unsure").finditer(said))


def _is_over(clause: str) -> bool:
    """Whether words behind a position say that nobody is there any more, or not yet."""
    return _phrases("gone").search(clause) is not None or _WITH_US.fullmatch(clause) is not None


def _leads_elsewhere(clause: str) -> bool:
    return any(match.end() == len(clause) for match in _phrases("leads").finditer(clause))


def _clauses(said: str) -> Iterator[str]:
    for part in _CLAUSE.split(said):
        clause = " ".join(part.split()).strip(" ,;:.!?()-–—")
        if clause:
            yield clause


def _may_move(clause: str) -> bool:
    clause = _NO_CHANGE.sub("", clause)
    if any(_phrases(name).search(clause) for name in ("changes", "between", "datums", "notations")):
        return True
    if _UNIT_ALONE.fullmatch(clause):
        return True
    if _LONE_SIDE.search(clause) and (_CHOICE.search(clause) or _phrases("unsure").search(clause)):
        return True
    if _is_way(clause) or _LATER.fullmatch(clause):
        return True
    if (
        _LENGTH.search(clause)
        and not _phrases("measured").search(clause)
        and not _ERROR.search(clause)
    ):
        return True
    if _sides(clause) or _COMPOUND.search(clause):
        return not _describes(clause)
    # A script that no table here knows: nobody can tell what it says.
    return any(
        ord(character) > 0x24F and character.isalpha() and not 0x400 <= ord(character) <= 0x4FF
        for character in clause
    )


def _is_way(clause: str) -> bool:
    """Whether a clause holds a length or an angle, and a word of direction or relation."""
    if not (_LENGTH.search(clause) or _TURNED.search(clause)):
        return False
    directed = _sides(clause) or _phrases("ways").search(clause) or _COMPOUND.search(clause)
    # "N 300 m": beside a length a letter is a side.
    return bool(directed or re.search(r"(?<!\w)[NSEWnsew](?!\w)", clause))


def _describes(clause: str) -> bool:
    """Whether every side is a course or a part of a name: "moving north", "the north face"."""
    words = [match[0].lower() for match in _WORD.finditer(clause)]
    courses, described = _words("courses"), _words("described")
    for at, word in enumerate(words):
        if _is_side(word) or _COMPOUND.fullmatch(word):
            near = words[max(at - 3, 0) : at]
            if courses.intersection(near) or described.intersection(words[at + 1 : at + 2]):
                continue
            return False
    return True


def _sides(clause: str) -> bool:
    return any(_is_side(match[0].lower()) for match in _WORD.finditer(clause))


@cache
def _is_side(word: str) -> bool:
    stem = word.removesuffix("ward").removesuffix("wards").removesuffix("erly")
    for each in {word, stem}:
        if len(each) >= _SHORTEST_SIDE or each in ("sud", "süd", "est", "sur", "sul", "ost"):
            roles = lexicon().get((each,), ())
            if any(role == "side" for role, _ in roles):
                return True
    return False


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = json.loads(_FILE.read_text(encoding="utf-8"))
    return table


@cache
def _words(section: str) -> frozenset[str]:
    return frozenset(_list(section))


def _list(section: str) -> list[str]:
    found = _table()[section]
    if isinstance(found, dict):
        return [word for words in found.values() for word in words]
    return list(found)


@cache
def _phrases(section: str) -> re.Pattern[str]:
    longest = sorted(_words(section), key=len, reverse=True)
    words = "|".join(re.sub(r"\\[ -]", r"[\\s-]+", re.escape(each)) for each in longest)
    return re.compile(rf"(?i)(?<!\w)(?:{words})(?!\w)")
