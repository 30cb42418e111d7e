"""Positions that a text carries whole: a stated place, a receiver's sentence, or a packet."""

from typing import Final

from plotter.errors import FormatError
from plotter.formats.nmea import looks_like_a_sentence, read_sentence
from plotter.formats.packet import looks_like_a_packet, read_packet
from plotter.formats.result import Reading
from plotter.formats.stated import NOWHERE_ASSUMED, looks_stated, stated_reading
from plotter.geodesy.position import Square

__all__ = ["carried_reading", "is_data_line"]

# No shorter than what is kept of a line: what is logged as a line of data is read as one.
_LONGEST: Final = 2_100


def is_data_line(text: str) -> bool:
    """Whether a text is a stated place, a sentence or a packet, and not somebody's words."""
    if looks_stated(text):
        return True  # with words after it, as long as they are
    line = text.strip()
    return len(line) <= _LONGEST and (looks_like_a_sentence(line) or looks_like_a_packet(line))


def carried_reading(text: str) -> Reading:
    """The position of a line of data.

    Parameters
    ----------
    text : str
        For which `is_data_line` holds.

    Raises
    ------
    FormatError
        If it carries none, or one that cannot be.
    """
    if looks_stated(text):
        return stated_reading(text)
    line = text.strip()
    if looks_like_a_sentence(line):
        sentence = read_sentence(line)
        if sentence is None:
            raise FormatError(f"{line!r} is a sentence without a position", text)
        unchecked = () if sentence.checked else ("without a checksum: some figure may be wrong",)
        assumed = (*unchecked, *sentence.doubts, *_nowhere(sentence.square))
        return Reading("latlon", sentence.square, assumed)
    packet = read_packet(line)
    if packet.square is None:
        raise FormatError(f"{line!r} is a packet without a position", text)
    blank = (f"the sender left {packet.blank} figures blank",) if packet.blank else ()
    return Reading("latlon", packet.square, (*blank, *packet.doubts, *_nowhere(packet.square)))


def _nowhere(square: Square) -> tuple[str, ...]:
    """What a place at 0° N 0° E rests on, to the square's own size."""
    centre = square.centre
    return (NOWHERE_ASSUMED,) if centre.lat_deg == 0.0 and centre.lon_deg == 0.0 else ()
