"""Reading a position that was spoken: every meaning, with what was heard, taken and left out."""

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from plotter.errors import FormatError
from plotter.formats.reading import may_be_data_line, reading
from plotter.formats.result import Reading
from plotter.formats.zones import inside
from plotter.geodesy.position import Area
from plotter.voice.degrees import degrees_every_way

if TYPE_CHECKING:
    from plotter.voice.hear import Heard
    from plotter.voice.wording import Word

__all__ = ["spoken_reading"]

_MOST_PARTS: Final = 8
# Words that cut a line into parts, and those that do not matter where they are left out.
_APART: Final = frozenset({"opener", "ender", "again"})
_NO_MATTER: Final = frozenset({"filler", "opener", "soft_opener", "ender", "pause", "and"})
_SPELLED: Final = frozenset({"letter", "figure", "number", "tens", "teen", "times"})
_LABELS: Final = re.compile(r"\b(?:latitude|longitude|easting|northing|zone|utm|ups|mgrs)\b")
# Zone and band, or a polar letter, and all the figures in one run.
_RUN: Final = re.compile(
    r"(?:(?:zone )?(?P<zone>\d{1,2}) ?(?P<band>[A-Z]?)|(?P<polar>[ABYZ])) ?(?P<side>north|south|) ?"
    r"(?P<figures>\d{13,14})"
)
_ZONE_LAST: Final = re.compile(
    r"(?P<grid>(?:easting )?\d+ (?:northing )?\d+) (?:zone )?(?P<zone>\d{1,2} ?[A-Z]?)"
)


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
    found, error = _read(text, area, spoken=False)
    if error is not None:
        from plotter.voice.tables import language as words_of_language
        from plotter.voice.wording import split_words  # loaded late: plain text needs no tables

        words = split_words(text, words_of_language(language))
        found = _heard(text, words, area, error)
    if area is not None:
        found.sort(key=lambda r: not inside(r.square.centre, area))
    return tuple(found)


def _read(
    text: str, area: Area | None, *, spoken: bool
) -> tuple[list[Reading], FormatError | None]:
    """Readings of characters, with degrees in every way; the error where there are none."""
    error: FormatError | None = None
    found: list[Reading] = []
    try:
        found = list(reading(text, area))
    except FormatError as caught:
        error = caught
    try:
        ways = degrees_every_way(text.strip().rstrip(".;,"), area, spoken=spoken)
    except FormatError as caught:
        return [], caught
    if ways:
        return ways + [each for each in found if each.format != "latlon"], None
    return found, error


def _heard(
    text: str, words: Sequence["Word"], area: Area | None, plain_error: FormatError
) -> list[Reading]:
    """Readings of a line by its words, a position that is said twice being read twice."""
    taken_back = next((word.said for word in words if word.kind == "negation"), None)
    if taken_back is not None:
        raise FormatError(
            f"{text[:120]!r} says {taken_back!r}: ask for the position alone", text
        ) from plain_error
    corrections = [i for i, word in enumerate(words) if word.kind == "correction"]
    notes: tuple[str, ...] = ()
    if corrections:
        before = " ".join(word.said for word in words[: corrections[-1]])
        words = words[corrections[-1] + 1 :]
        if before:
            notes = (f"{before!r} was corrected and is left out",)
    found, left, errors = _parts_read(text, words, area)
    if not found:
        if not any(word.kind in _SPELLED for word in words) or not errors:
            raise plain_error
        raise max(errors, key=lambda each: each[0])[1]
    unlike = _unlike(found)
    if len(found) > 1 and len(unlike) > 1 and any(word.kind in _APART for word in words):
        notes += ("more than one part of what was said can be meant",)
    return _with((*notes, *left), unlike)


def _parts_read(
    text: str, words: Sequence["Word"], area: Area | None
) -> tuple[list[Reading], tuple[str, ...], list[tuple[int, FormatError]]]:
    """Readings of the parts of a line, what the other parts say, and what is wrong with them.

    An error comes with the figures that its part holds.
    """
    found: list[Reading] = []
    left: list[str] = []
    errors: list[tuple[int, FormatError]] = []
    for opener, part in _parts(words):
        said = " ".join(word.said for word in (*opener, *part))
        try:
            found += _part(text, (*opener, *part), area)
        except FormatError as error:
            figures = sum(word.kind in _SPELLED or word.kind == "typed" for word in part)
            errors.append((figures, error))
            if any(word.kind not in ("filler", "pause", "and") for word in part):
                left.append(f"left out {said!r}")
    return found, tuple(left), errors


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
    return [Reading(each.format, each.square, notes + each.assumed) for each in found]


def _unlike(found: list[Reading]) -> list[Reading]:
    """Readings without those that name the same square again."""
    return list({(each.format, each.square): each for each in reversed(found)}.values())[::-1]


def _part(text: str, words: Sequence["Word"], area: Area | None) -> list[Reading]:
    """Readings of a part of a line: of all of it, else of what follows "grid" in it."""
    first_error: FormatError | None = None
    soft = [i + 1 for i, word in enumerate(words) if word.kind == "soft_opener"]
    for start in dict.fromkeys([0, *soft[:_MOST_PARTS]]):
        lead = words[:start]
        left: tuple[str, ...] = ()
        if any(word.kind not in _NO_MATTER for word in lead):
            left = (f"left out {' '.join(word.said for word in lead)!r}",)
        try:
            return _with(left, _one(text, words[start:], area, opened=start > 0))
        except FormatError as error:
            first_error = first_error or error
    raise first_error or FormatError(f"no position in {text[:80]!r}", text)


def _one(text: str, words: Sequence["Word"], area: Area | None, *, opened: bool) -> list[Reading]:
    """Readings of one stretch in every meaning of its words."""
    from plotter.voice.hear import hear_words

    opened = opened or any(word.kind in ("opener", "soft_opener") for word in words)
    found: list[Reading] = []
    error: FormatError | None = None
    for heard in hear_words(words, text):
        try:
            found += _meanings(heard, area, opened=opened)
        except FormatError as caught:
            error = error or caught
    if not found and error is not None:
        raise error
    return _unlike(found)


def _meanings(heard: "Heard", area: Area | None, *, opened: bool) -> list[Reading]:
    # Letters alone may be a name, as Hotel Lima: only with the name of a format they are more.
    if not any(character.isdigit() or character.islower() for character in heard.text):
        raise FormatError(f"no figures in {heard.said[:80]!r}: ask for the figures", heard.said)
    bare = not re.search(r"[A-Za-z°.]", heard.text)
    if bare and (heard.unknown_after or (heard.unknown and not opened)):
        # "Hill 4812" is a name with a number, "1430 hours" a time.
        raise FormatError(
            f"cannot tell what {heard.unknown[-1]!r} stands for beside {heard.text!r}: say 'grid' "
            "before the figures and nothing after them",
            heard.said,
        )
    if re.search(r"\.\d+\.", heard.text):
        raise FormatError(
            f"heard {heard.text!r} with two decimal points in one number: ask for latitude and "
            "longitude apart",
            heard.said,
        )
    error: FormatError | None = None
    for written, why in _variants(heard.text):
        found, failed = _read(written, area, spoken=True)
        if "geohash" not in written:
            # Nearly any run of characters is one: only where it was said to be.
            found = [each for each in found if each.format != "geohash"]
        if found and failed is None:
            return _with((_meant(heard), *heard.assumed, *why), found)
        error = error or failed
    raise FormatError(f"heard {heard.text!r} in {heard.said[:120]!r}: {error}", heard.said)


def _meant(heard: "Heard") -> str:
    """What a line was taken to mean, and every word of it that was left out."""
    dropped = ", ".join(repr(word) for word in heard.dropped)
    return f"the words mean {heard.text!r}" + (f", leaving out {dropped}" if dropped else "")


def _variants(text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The characters as heard; without labels that a format has no place for; in other groups."""
    yield text, ()
    bare = text
    if _LABELS.search(text):
        if 0 <= text.find("northing") < text.find("easting"):
            return  # without the words the figures would change places
        bare = " ".join(_LABELS.sub(" ", text).split())
        yield bare, ()
    if "-" in bare:
        bare = " ".join(bare.replace("-", " ").split())
        yield bare, ()
    if match := _ZONE_LAST.fullmatch(text):
        yield f"{match['zone']} {match['grid']}", ("the zone was said last",)
    together = re.sub(r"(?<=\d) (?=\d)", "", bare)
    if match := _RUN.fullmatch(together):
        east = 7 if match["polar"] else 6
        if len(match["figures"]) == east + 7:
            head = f"{match['zone'] or ''}{match['band'] or match['polar'] or ''} {match['side']}"
            yield (
                f"{head} {match['figures'][:east]} {match['figures'][east:]}",
                (f"easting of {east} figures, northing of 7: the gap between them was not heard",),
            )
    tight = bare.replace(" ", "")
    if tight.replace("+", "").isalnum() and tight != bare:
        yield tight, ()
