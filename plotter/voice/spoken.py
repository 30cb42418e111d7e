"""Reading a position that was spoken: every meaning, with what was heard, taken and left out."""

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from plotter.errors import FormatError
from plotter.formats.reading import may_be_data_line, reading, settled
from plotter.formats.result import Reading, asks_of
from plotter.geodesy.position import Area
from plotter.voice.beside import (
    NO_MATTER,
    SIDE_IN_WORDS,
    WAY,
    Left,
    TakenBackError,
    asks_of_left,
    has_figures,
    is_angle_label,
    is_side,
    left_of,
    refuse_coarse,
    refuse_lead,
    refuse_stray_mark,
    refuse_taken_back,
    span_of,
    with_left,
)
from plotter.voice.moves import unsure_words

if TYPE_CHECKING:
    from plotter.voice.wording import Word

__all__ = ["reading_alone", "spoken_reading"]

_MOST_PARTS: Final = 8
# Words that cut a line into parts, and those that do not matter where they are left out.
_APART: Final = frozenset({"opener", "ender", "again"})
_DEGREE_MARKS: Final = ("°", "'", '"')
_SPAN_OF: Final = re.compile(r"(?i)\d\w*\s+(to|till|until)\s+(?:[A-Z]{1,3}\s*)?\w*\d")
_ORDER_SAID: Final = re.compile(
    r"(?i)\b(?:(?:north|east)(?:ing)?s?|lat(?:itude)?|lon(?:g|gitude)?|lng|[xy])\s+first\b"
    r"|\b[xy]\s*[,;/ ]\s*[xy]\b"
)
# A minus that touches no figure: "-#45.5", "-: 45.5", "-!12", "12.3-,", "minus: 45", "-I12".
_STRAY_MINUS: Final = re.compile(
    r"[-−–—‐‑‒﹣－](?=\s*(?:[^\w\s.-]|\.(?!\d)|$))|[-−–—‐‑‒﹣－](?=[^\W\d_]+\d)"
    r"|(?i:\b(?:minus|negative|neg)\b(?=\s*(?:[^\w\s.]|\.|$)))"
)
# Tags, members and shapes of files, whole or damaged: "<coordinates>", '"type":', "PONT (1 2)".
_STRUCTURE: Final = re.compile(
    r"[<>{}]|[\"']\w+[\"']\s*:|(?i:\bcoordinates?\s*[=\[])"
    r"|^\s*[A-Z]{4,}\s*(?:Z\s*)?\(\s*[-+]?\d[\d.]*\s+[-+]?\d[\d.]*\s*\)?"
)
_EDGES: Final = " \t\r\n,.;:"
_SPELLED: Final = frozenset({"letter", "figure", "number", "tens", "teen", "times"})


def spoken_reading(
    text: str, area: Area | None = None, language: str = "english"
) -> tuple[Reading, ...]:
    """Every reading that a text admits, written or spoken.

    A text that can be read as it stands is; only then are its words heard as letters and figures.
    Degrees without marks are read in every way that they leave open.

    Parameters
    ----------
    text : str
        A position as somebody wrote or said it.
    area : Area or None
        The area of operations, as for `plotter.formats.reading`.
    language : str
        Whose words.

    Returns
    -------
    tuple of Reading
        At least one. What was taken for what, and every word left out that is no mere filler, is
        in `assumed`.

    Raises
    ------
    FormatError
        If there is no reading: what was heard, and what is wrong with it or missing.

    Examples
    --------
    >>> found = spoken_reading("tree ait Sierra, Mike Bravo, double four, double eight")
    >>> [(r.format, r.square.size_m) for r in found]
    [('mgrs', 1000.0)]
    """
    if may_be_data_line(text):
        from plotter.formats.carried import is_data_line

        if is_data_line(text):  # it says it all itself: nothing of it is heard as words
            return reading(text, area)
    try:
        return reading(text, area)
    except FormatError as caught:
        error = caught
    from plotter.voice.stated_within import stated_within
    from plotter.voice.tables import language as words_of_language
    from plotter.voice.wording import split_words  # loaded late: plain text needs no tables

    if within := stated_within(text, words_of_language(language), area):
        return within
    words = split_words(text, words_of_language(language))
    found = sorted(_heard(text, words, area, error), key=lambda each: bool(each.asks))
    open_sides = any(each.unstated & {"lat side", "lon side"} for each in found)
    if open_sides and (stray := _STRAY_MINUS.search(text)):
        raise FormatError(
            f"cannot tell what the minus {stray[0]!r} in {text[:120]!r} belongs to: ask for each "
            "angle with its side",
            text,
        )
    if any("order" in each.unstated for each in found) and (mark := _STRUCTURE.search(text)):
        raise FormatError(
            f"{text[:120]!r} looks like a piece of a file, by {mark[0]!r}, and files differ in "
            "which number comes first: give the file, or ask for latitude and longitude by name",
            text,
        )
    if unsure := unsure_words(text):
        found = _with((f"said with {', '.join(map(repr, unsure))}: ask how sure it is",), found)
    return settled(found, area)


def reading_alone(text: str, area: Area | None = None) -> tuple[Reading, ...]:
    """Every reading of a text that is a position and nothing that may move it.

    Raises
    ------
    FormatError
        If there is no reading, or what is said beside it may move it.
    """
    found = spoken_reading(text, area)
    if asks := asks_of(found):
        raise FormatError(f"{text[:120]!r}: {'; '.join(asks)}", text)
    return found


def _heard(
    text: str, words: Sequence["Word"], area: Area | None, plain_error: FormatError
) -> list[Reading]:
    """Readings of a line by its words, in every scope that a correction in it may have."""
    from plotter.voice.corrections import corrected

    found: list[Reading] = []
    errors: list[tuple[int, FormatError]] = []
    if "?" in text:
        raise FormatError(
            f"{text[:120]!r} has a question mark: ask what is not sure, and for the position again",
            text,
        ) from plain_error
    if match := _SPAN_OF.search(text):
        raise FormatError(
            f"{text[:120]!r} says {match[1]!r} between two figures: a time or a way from one place "
            "to another; ask for the position alone",
            text,
        ) from plain_error
    if match := _ORDER_SAID.search(text):
        raise FormatError(
            f"{text[:120]!r} says {match[0]!r}: ask for each number by its name",
            text,
        ) from plain_error
    # Two letters, a gap and two figures are a name with its number: "km 46", "AK 47".
    if not words or re.fullmatch(r"\s*[A-Za-z]{2}\s+\d\d\s*", text):
        raise plain_error
    for line, taken, ask in corrected(words, text):
        parts, left, wrong = _parts_read(text, line, area)
        errors += wrong
        notes = (f"{taken!r} was corrected and is left out",) if taken else ()
        read = _with(notes, with_left(left, _of_parts(parts)))
        found += [replace(each, asks=(ask, *each.asks)) for each in read] if ask else read
    if not found:
        said = any(word.kind in _SPELLED or word.kind == "typed" for word in words)
        if not said or not errors or all(_is_typed(word) for word in words):
            raise plain_error
        worst = max(errors, key=lambda each: each[0])[1]
        spelled = any(word.kind in _SPELLED and not _is_typed(word) for word in words)
        # What was heard explains spoken words; of typed ones the plain reader says what is wrong.
        raise worst if spelled or not str(worst).startswith("heard ") else plain_error
    return _unlike(found)


def _is_typed(word: "Word") -> bool:
    """Whether a word is characters that somebody typed, not one that stands for some."""
    return len(word.said) == 1 or any(not character.isalpha() for character in word.said)


def _of_parts(parts: Sequence[list[Reading]]) -> list[Reading]:
    """Readings of a line; where its parts say different places, all of them, said to be so."""
    unlike = _unlike([each for part in parts for each in part])
    if len(parts) > 1 and any(len(_unlike(part)) < len(unlike) for part in parts):
        said = ("more than one part of what was said can be meant",)
        return [replace(r, unstated=r.unstated | {"which part"}) for r in _with(said, unlike)]
    return unlike


def _parts_read(
    text: str, words: Sequence["Word"], area: Area | None
) -> tuple[list[list[Reading]], tuple[Left, ...], list[tuple[int, FormatError]]]:
    """Readings of the parts of a line that have some, the others, what is wrong with them.

    An error comes with the figures that its part holds.
    """
    found: list[list[Reading]] = []
    left: list[Left] = []
    errors: list[tuple[int, FormatError]] = []
    lead: Word | None = None
    for opener, part in _parts(words):
        if any(word.kind == "ender" for word in opener):
            lead = None
        refuse_lead(lead, part, text)
        lead = next((w for w in reversed(part) if w.kind not in NO_MATTER), None)
        try:
            found.append(_part(text, (*opener, *part), area))
        except TakenBackError:
            raise
        except FormatError as error:
            figures = sum(word.kind in _SPELLED or word.kind == "typed" for word in part)
            errors.append((figures, error))
            if any(word.kind not in ("filler", "pause", "and") for word in part):
                left.append(left_of((*opener, *_set_aside(part))))
    return found, tuple(left), errors


def _set_aside(words: Sequence["Word"]) -> Sequence["Word"]:
    """Words of a part without a position, what they count or measure in one piece."""
    from plotter.voice.asides import with_asides

    try:
        return with_asides(words)
    except FormatError:
        return words


def _parts(words: Sequence["Word"]) -> list[tuple[list["Word"], list["Word"]]]:
    """The line cut at words that begin or end a position, each part with the word before it."""
    parts: list[tuple[list[Word], list[Word]]] = [([], [])]
    for word in words:
        if word.kind not in _APART:
            parts[-1][1].append(word)
        elif not parts[-1][1]:
            parts[-1][0].append(word)
        else:
            parts.append(([word], []))
    if len(parts) > _MOST_PARTS:
        parts[_MOST_PARTS - 1 :] = [
            ([], [word for opener, part in parts[_MOST_PARTS - 1 :] for word in (*opener, *part)])
        ]
    # An "over" at the end belongs to what it ends.
    if len(parts) > 1 and not parts[-1][1]:
        parts[-2][1].extend(parts.pop()[0])
    return parts


def _with(notes: tuple[str, ...], found: list[Reading]) -> list[Reading]:
    return [replace(each, assumed=notes + each.assumed) for each in found]


def _unlike(found: list[Reading]) -> list[Reading]:
    """Readings without those that name the same square again."""
    return list({(each.format, each.square): each for each in reversed(found)}.values())[::-1]


def _part(text: str, words: Sequence["Word"], area: Area | None) -> list[Reading]:
    """Readings of a part of a line: of all of it, else of what follows "grid" in it."""
    first_error: FormatError | None = None
    soft = [i + 1 for i, word in enumerate(words) if word.kind == "soft_opener"]
    for start in dict.fromkeys([0, *soft[:_MOST_PARTS]]):
        lead = words[:start]
        left: tuple[Left, ...] = ()
        if any(word.kind not in NO_MATTER for word in lead):
            left = (left_of(lead),)
        try:
            return with_left(left, _one(text, words[start:], area, opened=start > 0))
        except FormatError as error:
            first_error = first_error or error
    raise first_error or FormatError(f"no position in {text[:80]!r}", text)


def _one(text: str, words: Sequence["Word"], area: Area | None, *, opened: bool) -> list[Reading]:
    """Readings of one stretch: as it is typed, else in every meaning of its words."""
    from plotter.voice.asides import with_asides, with_names

    aside = with_asides(words)
    other = _behind_a_name(text, aside, area, opened=opened)
    try:
        return _unlike([*_stretch(text, aside, area, opened=opened), *other])
    except TakenBackError:
        raise
    except FormatError:
        if other:
            return other
        # "47.262N 14.601E, bridge 12 collapsed": only a complete pair of angles cannot go on.
        if found := _complete_beginning(text, aside, area):
            return found
        named = with_names(aside)
        if named == aside:
            raise
        found = [r for r in _stretch(text, named, area, opened=opened) if _complete(r)]
        if not found:
            raise
        return found


def _behind_a_name(
    text: str, words: Sequence["Word"], area: Area | None, *, opened: bool
) -> list[Reading]:
    """Readings in which the first number belongs to a name before it: "Team 4 48 51 N 2 17 E"."""
    first, last = span_of(words)
    number = words[first] if words else None
    name = words[first - 1] if first else None
    if number is None or name is None or name.kind != "unknown" or last == first:
        return []
    if number.kind in ("direction", "letter") and words[first + 1].said[:1].isdigit():
        raise TakenBackError(
            f"cannot tell whether {number.said!r} in {text[:120]!r} belongs to {name.said!r} or to "
            f"{words[first + 1].said!r}: ask for each side behind its number",
            text,
        )
    if not re.fullmatch(r"\d{1,3}", number.said) or not words[first + 1].said[:1].isdigit():
        return []
    said = f"{name.said} {number.said}"
    joined = replace(name, said=said, kind="aside", options=("",), end=number.end)
    others = [*words[: first - 1], joined, *words[first + 1 :]]
    try:
        found = _stretch(text, others, area, opened=opened)
    except FormatError:
        found = _complete_beginning(text, others, area)
    return _with((f"{said!r} taken as a name",), found)


def _complete_beginning(text: str, words: Sequence["Word"], area: Area | None) -> list[Reading]:
    """Readings of two typed angles with their sides, whatever else is said behind them.

    Nothing behind them may be a side, a mark of an angle, or a way from them.
    """
    first, _ = span_of(words)
    # The longest first: what a short beginning leaves out may be the rest of the position.
    for last in range(len(words) - 2, first, -1):
        behind = [word for word in words[last + 1 :] if word.said not in (":", "=")]
        ends = has_figures(words[last]) or re.search(r"(?i)[nsew]\W*$|st$|th$", words[last].said)
        if not ends or not behind or has_figures(behind[0]):
            continue
        part = text[words[first].start : words[last].end]
        try:
            found = list(reading(part, area))
        except FormatError:
            continue
        if not found or not all(_complete(each) for each in found):
            continue
        beside = " ".join(word.said for word in behind)
        angular = any(is_side(word) or word.kind == "mark" for word in behind)
        if angular or SIDE_IN_WORDS.search(beside) or WAY.search(beside):
            return []
        refuse_taken_back(words, first, last, text)
        left = with_left(_left_out(words, first, last), found)
        return [_resting(each, text, words, first, last) for each in left]
    return []


def _complete(found: Reading) -> bool:
    """Whether a reading is of two angles that state their sides."""
    return found.format == "latlon" and not found.unstated & {"lat side", "lon side"}


def _stretch(
    text: str, words: Sequence["Word"], area: Area | None, *, opened: bool
) -> list[Reading]:
    from plotter.voice.angles import angles_spoken
    from plotter.voice.hear import hear_words
    from plotter.voice.heard_grids import meanings_of

    if not words:
        raise FormatError(f"no figures in {text[:80]!r}: ask for the figures", text)
    first, last = span_of(words)
    refuse_taken_back(words, first, last, text)
    refuse_stray_mark(words[first], words[last], text)
    opened = opened or any(word.kind in ("opener", "soft_opener") for word in words)
    if typed := _as_typed(text, words, first, last, area, opened=opened):
        return typed
    found: list[Reading] = []
    errors: list[FormatError] = []
    inside_words = [word for word in words[first : last + 1] if word.kind not in _APART]
    angular = _angular(inside_words)
    left = _left_out(words, first, last)
    try:
        found += with_left(left, angles_spoken(inside_words, text, area))
    except FormatError as wrong:
        errors.append(wrong)
    asks = asks_of_left(left)
    plain = [replace(w, kind="unknown") if w.kind in ("aside", "relation") else w for w in words]
    try:
        for heard in hear_words(plain, text):
            try:
                meanings = meanings_of(heard, area, opened=opened)
                found += [replace(each, asks=asks + each.asks) for each in meanings]
            except FormatError as caught:
                errors.append(caught)
    except FormatError as caught:
        errors.append(caught)
    if not found:
        raise errors[0] if angular else errors[min(1, len(errors) - 1)]
    found = _unlike(found)
    before, after = _said(words[:first]), _said(words[last + 1 :])
    refuse_coarse(found, text, alone=not left, opened=opened, before=before, after=after)
    return [_resting(each, text, words, first, last) for each in found]


def _angular(words: Sequence["Word"]) -> bool:
    """Whether some words belong to degrees, and none to a grid."""
    labels = {word.options[0] for word in words if word.kind == "label"}
    if labels:
        return labels <= {"latitude", "longitude"}
    return any(
        word.kind == "direction" or (word.kind == "mark" and word.options[0] in _DEGREE_MARKS)
        for word in words
    )


def _as_typed(
    text: str,
    words: Sequence["Word"],
    first: int,
    last: int,
    area: Area | None,
    *,
    opened: bool,
) -> list[Reading]:
    """Readings of a stretch exactly as it stands in the line; none where it is not all typed."""
    start, end = words[first].start, words[last].end
    if start < 0 or end < 0 or not _in_one_piece(text, words[first : last + 1]):
        return []
    part = text[start:end]
    try:
        found = list(reading(part, area))
    except FormatError:
        return []
    left = _left_out(words, first, last)
    if left and not re.search(r"[^\W\d_]|[°.,'\"]", part):
        return []  # "checkpoint 8148": what bare figures beside a word are, is asked below
    before, after = _said(words[:first]), _said(words[last + 1 :])
    refuse_coarse(found, text, alone=not left, opened=opened, before=before, after=after)
    return [_resting(each, text, words, first, last) for each in with_left(left, found)]


def _in_one_piece(text: str, words: Sequence["Word"]) -> bool:
    """Whether words follow each other in the text, with nothing taken back between them."""
    return all(
        one.end <= other.start and not any(c.isalnum() for c in text[one.end : other.start])
        for one, other in pairwise(words)
    )


def _left_out(words: Sequence["Word"], first: int, last: int) -> tuple[Left, ...]:
    """What stands before and behind a position and is no mere filler, with what to ask of it."""
    return tuple(
        left_of(part, lead=lead)
        for part, lead in ((words[:first], True), (words[last + 1 :], False))
        if any(
            is_angle_label(word) or (word.kind not in NO_MATTER and word.kind != "label")
            for word in part
        )
    )


def _said(words: Sequence["Word"]) -> str:
    return " ".join(word.said for word in words)


def _resting(found: Reading, text: str, words: Sequence["Word"], first: int, last: int) -> Reading:
    """The reading with the part of the text that it rests on, and the other parts."""
    start, end = words[first].start, words[last].end
    if found.rests_on or start < 0 or not _in_one_piece(text, words[first : last + 1]):
        return found
    others = (text[:start].strip(_EDGES), text[end:].strip(_EDGES))
    if not any(others):
        return found
    return replace(found, rests_on=text[start:end], left_out=tuple(each for each in others if each))
