"""Reading a position that was spoken: every meaning, with what was heard, taken and left out."""

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.result import Reading
from plotter.formats.zones import inside
from plotter.geodesy.position import Area
from plotter.voice.degrees import degrees_every_way

if TYPE_CHECKING:
    from plotter.voice.hear import Heard
    from plotter.voice.wording import Word

__all__ = ["spoken_reading"]

_MOST_SPANS: Final = 4
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
    plain = text.strip().rstrip(".;,")
    if ways := degrees_every_way(plain, area, spoken=spoken):
        return ways + [each for each in found if each.format != "latlon"], None
    return found, error


def _heard(
    text: str, words: Sequence["Word"], area: Area | None, plain_error: FormatError
) -> list[Reading]:
    """Readings of a line by its words, a position that is said twice being read twice."""
    corrections = [i for i, word in enumerate(words) if word.kind == "correction"]
    notes: tuple[str, ...] = ()
    if corrections:
        before = " ".join(word.said for word in words[: corrections[-1]])
        words = words[corrections[-1] + 1 :]
        if before:
            notes = (f"{before!r} was corrected and is left out",)
    parts = [part for part in _split(words, "again") if part]
    if len(parts) <= 1:
        return _with(notes, _spans(text, words, area, plain_error))
    found: list[Reading] = []
    errors: list[FormatError] = []
    for part in parts:
        try:
            found += _spans(text, part, area, plain_error)
        except FormatError as error:
            errors.append(error)
    if not found:
        raise errors[0]
    alike = _unlike(found)
    if errors:
        notes += ("said more than once, and not every time to be understood",)
    elif len(alike) > 1:
        notes += ("said more than once: the readings are those of every time",)
    return _with(notes, alike)


def _with(notes: tuple[str, ...], found: list[Reading]) -> list[Reading]:
    return [Reading(each.format, each.square, notes + each.assumed) for each in found]


def _split(words: Sequence["Word"], kind: str) -> list[list["Word"]]:
    parts: list[list[Word]] = [[]]
    for word in words:
        if word.kind == kind:
            parts.append([])
        else:
            parts[-1].append(word)
    return parts


def _unlike(found: list[Reading]) -> list[Reading]:
    """Readings without those that name the same square again."""
    return list({(each.format, each.square): each for each in reversed(found)}.values())[::-1]


def _spans(
    text: str, words: Sequence["Word"], area: Area | None, plain_error: FormatError
) -> list[Reading]:
    """Readings of the whole; else of what follows "grid is" or comes before "over"."""
    first_error: FormatError | None = None
    for start, stop in _bounds(words):
        lead = " ".join(word.said for word in words[:start])
        rest = " ".join(word.said for word in words[stop:])
        left = tuple(
            f"left out {part!r}"
            for part, kinds in (
                (lead, [word.kind for word in words[:start]]),
                (rest, [word.kind for word in words[stop:]]),
            )
            if any(kind not in ("filler", "opener", "ender", "pause", "and") for kind in kinds)
        )
        try:
            return _with(left, _one(text, words[start:stop], area, opened=start > 0))
        except FormatError as error:
            first_error = first_error or error
    if first_error is None or not any(
        word.kind in ("letter", "figure", "number", "tens", "teen", "times") for word in words
    ):
        raise plain_error
    raise first_error


def _bounds(words: Sequence["Word"]) -> Iterator[tuple[int, int]]:
    """Stretches that may hold the position: all, then from each opener on, then to an ender."""
    openers = [i + 1 for i, word in enumerate(words) if word.kind == "opener"][:_MOST_SPANS]
    starts = list(dict.fromkeys([0, *openers]))
    enders = [i for i, word in enumerate(words) if word.kind == "ender"]
    for start in starts:
        yield start, len(words)
    for start in starts:
        stop = next((end for end in enders if end > start), None)
        if stop is not None:
            yield start, stop


def _one(text: str, words: Sequence["Word"], area: Area | None, *, opened: bool) -> list[Reading]:
    """Readings of one stretch in every meaning of its words."""
    from plotter.voice.hear import hear_words

    opened = opened or any(word.kind == "opener" for word in words)
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
    if heard.unknown and not opened and not re.search(r"[A-Za-z°.]", heard.text):
        # "Hill 4812" is a name with a number, not a reference.
        raise FormatError(
            f"cannot tell what {heard.unknown[-1]!r} stands for before or after {heard.text!r}: "
            "say 'grid' or 'position' before the figures",
            heard.said,
        )
    error: FormatError | None = None
    for written, why in _variants(heard.text):
        found, failed = _read(written, area, spoken=True)
        if "geohash" not in written:
            # Nearly any run of characters is one: only where it was said to be.
            found = [each for each in found if each.format != "geohash"]
        if found:
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
