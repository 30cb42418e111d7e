"""The Maidenhead locator, 2 to 10 characters, in exact integer arithmetic."""

import math
import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.cells import cell_square, cells_of, coarsest
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position, Square

__all__ = ["FORMAT", "FORMATS", "format_maidenhead", "parse_maidenhead"]

# Pairs from field to the fifth level: how many each divides the one before into, and its digits.
# IARU Region 1 (1980) for the first six characters; the further pairs go on in the same way.
_BASES: Final = (18, 10, 24, 10, 24)
_SHAPE: Final = re.compile(
    r"[A-R]{2}(?:[0-9]{2}(?:[A-X]{2}(?:[0-9]{2}(?:[A-X]{2})?)?)?)?", re.ASCII
)
_NAMED: Final = re.compile(r"\s*(?:maidenhead|locator|qth)\b", re.IGNORECASE)
# Words that are pairs of letters of a locator as well.
_WORDS: Final = frozenset(
    {"at", "am", "pm", "to", "in", "on", "or", "no", "as", "is", "it", "if", "up", "we", "he", "me",
     "my", "an", "be", "do", "go", "so", "us", "ok", "of", "by", "er", "um",
     "km", "kg", "mm", "cm"}
)  # fmt: skip
_WHOLE: Final = re.compile(r"[A-R]{2}[0-9]{2}(?:[A-X]{2})?", re.ASCII)
_LOOKS_LIKE: Final = re.compile(
    r"[A-Z]{2}[0-9]{2}(?:[A-Z]{2}(?:[0-9]{2}(?:[A-Z]{2})?)?)?", re.ASCII
)


def parse_maidenhead(text: str) -> Square:
    """Square of a locator.

    Parameters
    ----------
    text : str
        2, 4, 6, 8 or 10 characters, any case.

    Raises
    ------
    FormatError
        If it is not a locator.

    Source
    ------
    Checked against the locator rows of `shared/check_values/04_maidenhead.csv`.

    Examples
    --------
    >>> parse_maidenhead("JN58td").centre
    Position(lat_deg=48.145833333333336, lon_deg=11.625)
    """
    upper = "".join(text.split()).upper()
    if not _SHAPE.fullmatch(upper):
        raise FormatError(
            f"{text!r} is not a locator: expected two letters A to R, then pairs of figures and "
            "letters A to X in turn, as in JN58td25",
            text,
        )
    lon_cell = lat_cell = 0
    cells = 1
    for level in range(len(upper) // 2):
        base = _BASES[level]
        cells *= base
        lon_cell = lon_cell * base + _digit(upper[2 * level])
        lat_cell = lat_cell * base + _digit(upper[2 * level + 1])
    return cell_square(lat_cell, lon_cell, cells, cells)


def format_maidenhead(position: Position, characters: int = 6) -> str:
    """Locator of a place, truncated.

    The place is taken at the shortest decimal that its float stands for, so that 11.6, which no
    float can hold, lies on the edge it was meant to lie on. A cell includes its southern and
    western edge; the pole belongs to the last cell.

    Parameters
    ----------
    position : Position
        The place.
    characters : int
        2, 4, 6, 8 or 10.

    Examples
    --------
    >>> format_maidenhead(Position(48.14666, 11.60833), 8)
    'JN58td25'
    """
    if characters not in (2, 4, 6, 8, 10):
        raise FormatError(f"a locator has 2, 4, 6, 8 or 10 characters, not {characters!r}")
    bases = _BASES[: characters // 2]
    cells = math.prod(bases)
    lat_cell, lon_cell = cells_of(position, cells, cells)
    pairs: list[str] = []
    for level in reversed(range(len(bases))):
        lat_cell, lat_digit = divmod(lat_cell, bases[level])
        lon_cell, lon_digit = divmod(lon_cell, bases[level])
        pairs.append(_letter(lon_digit, level) + _letter(lat_digit, level))
    return "".join(reversed(pairs))


def _digit(character: str) -> int:
    return int(character) if character.isdigit() else ord(character) - ord("A")


def _letter(digit: int, level: int) -> str:
    if _BASES[level] == 10:
        return str(digit)
    # Upper case for the field, lower for what follows: custom, not rule.
    return chr(ord("A" if level == 0 else "a") + digit)


def _readings(text: str, _area: Area | None) -> list[Reading]:
    body = _NAMED.sub("", text)
    if any(len(group) % 2 for group in body.split()) and body == text:
        return []  # spoken in pairs or in one run
    if len(body.split()) > 1 and _WORDS.intersection(body.lower().split()):
        return []  # "JN58 at 12 pm"
    upper = "".join(text.split()).upper()
    named = False
    for word in ("MAIDENHEAD", "LOCATOR", "QTH"):
        named |= upper.startswith(word)
        upper = upper.removeprefix(word).lstrip(":")
    if _SHAPE.fullmatch(upper):
        if not named and (upper.isalpha() or re.fullmatch(r"[A-Za-z]{2}\s+\d\d", text.strip())):
            raise FormatError(
                f"{text!r} may be a word: where a locator is meant, say 'locator {upper}'", text
            )
        groups = body.split()
        last = groups[-1]
        if _two_wholes(groups):
            raise FormatError(
                f"{text!r} may be two locators, or one of {len(upper)} characters: ask for each "
                "alone",
                text,
            )
        if len(groups) > 1 and len(groups[0]) >= 6 and len("".join(groups[1:])) == 2:
            last = " ".join(groups[1:])
            # "JN36hm 73": a finer pair, or a greeting, a count, a channel.
            parts = [(upper[:-2], "another thing"), (upper, "a part of the locator")]
            return [
                Reading("maidenhead", parse_maidenhead(part), (f"{last!r} taken as {what}",))
                for part, what in parts
            ]
        return [Reading("maidenhead", parse_maidenhead(upper))]
    if _LOOKS_LIKE.fullmatch(upper):
        parse_maidenhead(text)
    return []


def _two_wholes(groups: list[str]) -> bool:
    """Whether a gap parts what may be two locators: "JN47 JN48"."""
    return len(groups) == 2 and all(_WHOLE.fullmatch(group.upper()) for group in groups)


def _write(position: Position, size_m: float) -> str:
    # Two letters alone are as likely a word, and are not read without the name.
    return format_maidenhead(position, coarsest((4, 6, 8, 10), _cells, position, size_m))


def _cells(characters: int) -> tuple[int, int]:
    """How many cells the earth has each way at a length of the locator."""
    cells = math.prod(_BASES[: characters // 2])
    return cells, cells


FORMAT: Final = Format(
    name="maidenhead",
    example="JN58td25",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write),
)

FORMATS: Final = (FORMAT,)
