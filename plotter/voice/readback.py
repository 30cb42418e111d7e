"""The read-back of a position: the words to say, what the other side can check, a short form."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Square
from plotter.voice.points import point_name
from plotter.voice.script import complete_text, groups_of, same_square, spoken_groups
from plotter.voice.spoken import spoken_reading
from plotter.voice.tables import Language, language

__all__ = ["SHORT_LENGTH", "ReadBack", "readback"]

# What one line of a common kind of data message holds.
SHORT_LENGTH: Final = 67


@dataclass(frozen=True, slots=True)
class ReadBack:
    """What to say, and how the other side can tell that it is right.

    Parameters
    ----------
    words : str
        The exact words; a comma is a pause.
    check : str
        Distance and bearing from the nearest named place, and the size of the square.
    short : str
        At most 67 characters that are read as the same square.
    """

    words: str
    check: str
    short: str


def readback(
    found: Reading | str,
    places: Sequence[tuple[str, Square]] = (),
    *,
    given: str = "",
    itu_figures: bool = False,
    language_name: str = "english",
) -> ReadBack:
    """Read-back of a reading.

    The words and the short form are read by this program's own reader before they are given: both
    name the same square, with nothing left to assume.

    Parameters
    ----------
    found : Reading or str
        A reading, or a text with exactly one meaning.
    places : sequence of (str, Square)
        Named places.
    given : str
        The text that a reading came from, if there is one: it serves where the format cannot write
        the square again.
    itu_figures : bool
        Say figures as Nadazero, Unaone ... (ITU Radio Regulations, Appendix 14) rather than as
        they are pronounced in aviation (ICAO Annex 10).
    language_name : str
        Whose words.

    Raises
    ------
    FormatError
        If a text has no meaning or several, or the reading cannot be said.

    Examples
    --------
    >>> readback("31U DQ 48 11").words
    'tree wun Uniform, Delta Quebec, fower ait, wun wun'
    """
    if isinstance(found, str):
        given = found
        readings = spoken_reading(found, None, language_name)
        if len(readings) > 1:
            meanings = "; ".join(", ".join(each.assumed) for each in readings)
            raise FormatError(
                f"{found!r} has {len(readings)} meanings ({meanings}): read back one of them", found
            )
        found = readings[0]
    tables = language(language_name)
    text = complete_text(found, given)
    if len(text) > SHORT_LENGTH:
        raise FormatError(
            f"{text!r} has {len(text)} characters: a short form has {SHORT_LENGTH} at the most",
            text,
        )
    figures = dict(tables.figures_of_the_itu if itu_figures else tables.figures_to_say)
    return ReadBack(_words(text, found, tables, figures), _check(found, places), text)


def _words(text: str, found: Reading, words: Language, figures: dict[str, str]) -> str:
    """Words that are heard as the same square: in handy groups, else in those of the text."""
    for groups in groups_of(text, found.format, words):
        said = spoken_groups(groups, found.format, words, figures)
        try:
            again = spoken_reading(said, None, words.name)
        except FormatError:
            continue
        if len(again) == 1 and same_square(again[0], found):
            return said
    raise FormatError(f"{text!r} cannot be said so that it is heard as the same square", text)


def _check(found: Reading, places: Sequence[tuple[str, Square]]) -> str:
    size = f"A square of {_length(found.square.size_m)}."
    if not places:
        return f"No named place to check it against. {size}"
    centre = found.square.centre
    lines = [(geodesic(square.centre, centre), name, square) for name, square in places]
    line, name, square = min(lines, key=lambda each: each[0].distance_m)
    if line.distance_m <= (square.size_m + found.square.size_m) / 2:
        return f"At {name}, the nearest named place. {size}"
    bearing = line.bearing_true_deg
    return (
        f"{_length(line.distance_m)} {point_name(bearing)} of {name}, the nearest named place, on "
        f"{round(bearing) % 360:03d} degrees true. {size}"
    )


def _length(metres: float) -> str:
    """Length to three figures at the most."""
    if metres < 1_000:
        return f"{metres:.0f} m" if metres >= 10 else f"{metres:.2g} m"
    return f"{metres / 1_000:.3g} km" if metres < 999_500 else f"{metres / 1_000:.0f} km"
