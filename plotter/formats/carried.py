"""Positions inside a line of data: a receiver's sentence, or a packet. Read as they came in."""

from plotter.errors import FormatError
from plotter.formats.nmea import looks_like_a_sentence, read_sentence
from plotter.formats.packet import looks_like_a_packet, read_packet
from plotter.formats.result import Reading

__all__ = ["carried_reading", "is_data_line"]

_LONGEST = 600


def is_data_line(text: str) -> bool:
    """Whether a text is a sentence or a packet, and not somebody's words."""
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
    line = text.strip()
    if looks_like_a_sentence(line):
        sentence = read_sentence(line)
        if sentence is None:
            raise FormatError(f"{line!r} is a sentence without a position", text)
        unchecked = () if sentence.checked else ("without a checksum: some figure may be wrong",)
        return Reading("latlon", sentence.square, unchecked)
    packet = read_packet(line)
    if packet.square is None:
        raise FormatError(f"{line!r} is a packet without a position", text)
    blank = (f"the sender left {packet.blank} figures blank",) if packet.blank else ()
    return Reading("latlon", packet.square, blank)
