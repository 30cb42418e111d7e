"""One text that names exactly a reading's square, and its characters in groups to be said."""

import math
import re
from collections.abc import Iterator
from typing import Final

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.registry import FORMATS
from plotter.formats.result import Reading
from plotter.geodesy.angle import AngleStyle, Hemispheres, format_angle
from plotter.geodesy.position import Square
from plotter.voice.tables import Language

__all__ = ["complete_text", "groups_of", "same_square", "spoken_groups"]

_STYLES: Final[tuple[tuple[AngleStyle, int], ...]] = (("dd", 1), ("ddm", 60), ("dms", 3600))
_MGRS: Final = re.compile(r"(\d{0,2}[A-Z])([A-Z]{2})(\d*)")
_RUNS: Final = re.compile(r"\d+(?:\.\d+)?|[A-Za-z]+|[^\sA-Za-z\d]+")
_SIDES: Final = {"N": "north", "S": "south", "E": "east", "W": "west"}
_LONGEST_GROUP: Final = 6


def same_square(one: Reading, other: Reading) -> bool:
    """Whether two readings name the same square in the same format."""
    a, b = one.square, other.square
    return (
        one.format == other.format
        and abs(a.centre.lat_deg - b.centre.lat_deg) < 1e-9
        and abs((a.centre.lon_deg - b.centre.lon_deg + 180.0) % 360.0 - 180.0) < 1e-9
        and math.isclose(a.size_m, b.size_m, rel_tol=1e-6)
    )


def complete_text(found: Reading, given: str = "") -> str:
    """Shortest text that names a reading's square with nothing left to assume.

    Parameters
    ----------
    found : Reading
        The reading.
    given : str
        The text that it came from, which serves where the format cannot write the square again.

    Raises
    ------
    FormatError
        If no text is known that is read as this square and no other.
    """
    own = FORMATS.get(found.format)
    candidates: list[str] = []
    if found.format == "latlon" and (angles := _angles(found.square)):
        candidates.append(angles)
    if own is not None and own.covers(found.square.centre):
        # A hair larger: the size of a square near a pole is not computed twice to the last bit.
        # Finer ones, too: a square on another datum is larger than its figures.
        size_m = found.square.size_m
        for finer in (size_m * 1.000001, *(10.0**n for n in range(5, -4, -1) if 10.0**n < size_m)):
            written = own.write(found.square.centre, finer)
            # Coarse cells of some formats look like words: then the name belongs to them.
            candidates += [written, f"{found.format} {written}"]
    for text in dict.fromkeys((*candidates, given)):
        try:
            again = reading(text)
        except FormatError:
            continue
        if len(again) == 1 and same_square(again[0], found):
            return text
    raise FormatError(
        f"no text in the format {found.format!r} names this square exactly: read back its centre "
        "in another format",
        given,
    )


def _angles(square: Square) -> str | None:
    """Latitude and longitude in the style whose last figure is the square's own size."""
    south, north = square.corners[0].lat_deg, square.corners[2].lat_deg
    height = 2 * max(square.centre.lat_deg - south, north - square.centre.lat_deg)
    width = (square.corners[1].lon_deg - square.corners[0].lon_deg) % 360.0
    parts: list[str] = []
    for value, unit, hemispheres in (
        (square.centre.lat_deg, height, "NS"),
        (square.centre.lon_deg, width, "EW"),
    ):
        sides: Hemispheres = "NS" if hemispheres == "NS" else "EW"
        text = _angle(value, unit, sides)
        if text is None:
            return None
        parts.append(text)
    marked = " ".join(parts).replace("°", ":").replace("'", ":").replace('"', "")
    return re.sub(r":(?=[NSEW])", "", marked)


def _angle(value_deg: float, unit_deg: float, hemispheres: Hemispheres) -> str | None:
    for style, parts in _STYLES:
        figures = -math.log10(unit_deg * parts) if unit_deg > 0 else math.inf
        decimals = round(figures) if math.isfinite(figures) else -1
        if 0 <= decimals <= 10 and abs(figures - decimals) < 1e-3:
            return format_angle(value_deg, hemispheres, style, decimals)
    return None


def groups_of(text: str, format_name: str, words: Language) -> list[list[str]]:
    """Ways to take a text apart into groups to be said with a pause between, the best first."""
    tokens = text.split()
    if _is_label(two := " ".join(tokens[:2]), words):
        tokens[:2] = [two]
    plain = tokens
    if format_name == "mgrs" and (match := _MGRS.fullmatch("".join(tokens))):
        half = len(match[3]) // 2
        best = [match[1], match[2], match[3][:half], match[3][half:]]
    elif format_name == "maidenhead":
        run = "".join(tokens)
        best = [run[i : i + 2] for i in range(0, len(run), 2)]
    elif format_name in ("latlon", "utm", "ups"):
        best = plain
    else:
        best = [group for token in tokens for group in _parts(token, words)]
    return [[group for group in best if group], plain, [format_name, *plain]]


def _parts(token: str, words: Language) -> list[str]:
    """A token in letters and figures apart, or by fours where they are mixed."""
    if _is_label(token, words) or len(token) <= 4:
        return [token]
    runs = _RUNS.findall(token)
    if len(runs) > 3:
        before, plus, after = token.partition("+")
        chunks = [before[i : i + 4] for i in range(0, len(before), 4)]
        return [*chunks, plus + after]
    parts: list[str] = []
    for run in runs:
        half = len(run) // 2
        even = len(run) > _LONGEST_GROUP and len(run) % 2 == 0
        parts += [run[:half], run[half:]] if even else [run]
    return parts


def spoken_groups(
    groups: list[str], format_name: str, words: Language, figures: dict[str, str]
) -> str:
    """The groups in words, a comma for each pause.

    Raises
    ------
    FormatError
        If a character has no word.
    """
    said: list[str] = []
    for group in groups:
        if _is_label(group, words):
            said.append(words.marks_to_say[group.lower()])
        elif format_name == "latlon":
            said.append(" ".join(_angle_words(group, words, figures)))
        else:
            said.append(" ".join(_character(c, words, figures) for c in group))
    return ", ".join(said)


def _is_label(token: str, words: Language) -> bool:
    """Whether a token is the name of a format or a side, which is said as a word."""
    return len(token) > 1 and token.lower() in words.marks_to_say


def _angle_words(group: str, words: Language, figures: dict[str, str]) -> Iterator[str]:
    marks = iter(("°", "'", '"'))
    sexagesimal = ":" in group
    for character in group:
        if character == ":":
            yield f"{words.marks_to_say[next(marks)]},"
        elif character in _SIDES:
            if sexagesimal:
                yield words.marks_to_say[next(marks)]
            yield words.marks_to_say[_SIDES[character]]
        else:
            yield _character(character, words, figures)


def _character(character: str, words: Language, figures: dict[str, str]) -> str:
    for table in (figures, words.letters_to_say, words.marks_to_say):
        if (word := table.get(character.upper())) is not None:
            return word
    raise FormatError(
        f"{character!r} has no word to say it by: expected letters, figures and . + - / , :",
        character,
    )
