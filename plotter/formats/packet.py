"""Position packets of amateur packet radio as lines of text: who, what, where, and the words.

::

    SENDER>DESTINATION,PATH:=4903.50N/07201.75W-words      position
    SENDER>DESTINATION,PATH:=/5L!!<*e7>7P[words            position, compressed
    SENDER>DESTINATION,PATH:;NAME     *092345z...          object: a place by its name
    SENDER>DESTINATION,PATH::ADDRESSEE:words{12            message

The destination of a Mic-E packet holds the latitude: see `plotter.formats.packet_mic_e`.
"""

import re
from dataclasses import dataclass, replace
from typing import Final, Literal

from plotter.errors import FormatError
from plotter.formats.nmea import read_sentence
from plotter.formats.packet_mic_e import mic_e_square
from plotter.formats.squares import graticule_square
from plotter.geodesy.position import Square

__all__ = ["Packet", "looks_like_a_packet", "read_packet"]

_HEAD: Final = re.compile(
    r"(?P<sender>[A-Z0-9]{1,9}(?:-[A-Z0-9]{1,2})?)>(?P<to>[A-Z0-9]{1,9}(?:-[A-Z0-9]{1,2})?)"
    r"(?:,[^:]*)?:(?P<body>.+)",
    re.DOTALL,
)
_PLAIN: Final = re.compile(
    r"(?P<lat>[0-9 ]{4}\.[0-9 ]{2})(?P<ns>[NSns])(?P<table>[!-~])"
    r"(?P<lon>[0-9 ]{5}\.[0-9 ]{2})(?P<ew>[EWew])(?P<symbol>[!-~])"
)
_COMPRESSED: Final = re.compile(
    r"(?P<table>[/\\A-Za-j])(?P<lat>[!-{]{4})(?P<lon>[!-{]{4})(?P<symbol>[!-~])[ -~]{3}"
)
_PASSED_ON: Final = re.compile(_HEAD.pattern.replace("(?P<body>.+)", r"\}"))
_MOST_HANDS: Final = 8
_TIMES: Final = r"\d{6}[zh/]"
_FINER: Final = re.compile(r"!(?:W(?P<figures>\d\d)|w(?P<signs>[!-{]{2}))!")

Kind = Literal["position", "object", "message", "other"]


@dataclass(frozen=True, slots=True)
class Packet:
    """One packet.

    Parameters
    ----------
    sender : str
        Its callsign.
    kind : str
        What it is; "other" carries no position.
    square : Square or None
        Where; as large as the figures leave open.
    name : str
        Of an object or item; of a message whom it is for.
    words : str
        What follows: the comment, or the message.
    time : str
        As it stands there: 092345z (day, hour, minute), 092345/ (the same, local), 234517h.
    gone : bool
        Whether the object is said to be there no longer.
    blank : int
        How many figures the sender left blank on purpose.
    symbol : str
        Table and code of what it is drawn as, where it says so: ``/>``.
    doubts : tuple of str
        What the place rests on, where a sentence inside says so.
    """

    sender: str
    kind: Kind
    square: Square | None = None
    name: str = ""
    words: str = ""
    time: str = ""
    gone: bool = False
    blank: int = 0
    symbol: str = ""
    doubts: tuple[str, ...] = ()


def looks_like_a_packet(text: str) -> bool:
    """Whether a text has the shape of a packet."""
    return ">" in text[:20] and _HEAD.match(text) is not None


def read_packet(text: str) -> Packet:
    """Take a packet apart.

    Parameters
    ----------
    text : str
        One line; bytes above 127 as Latin-1.

    Returns
    -------
    Packet
        With its square where it carries a position.

    Raises
    ------
    FormatError
        If it is no packet, or has the shape of a position that cannot be.

    Source
    ------
    APRS Protocol Reference 1.0.1 (TAPR, 2000), chapters 5, 6, 8, 9, 10, 11 and 14, and the 1.2
    addendum's DAO extension; from memory, checked against another reader in the tests.
    """
    for _ in range(_MOST_HANDS):
        inner = _PASSED_ON.match(text)
        if inner is None or not looks_like_a_packet(text[inner.end() :]):
            break
        text = text[inner.end() :]  # passed on by somebody else
    match = _HEAD.fullmatch(text.strip("\r\n"))
    if match is None:
        raise FormatError(f"{text!r} is no packet: expected SENDER>DESTINATION,PATH:words", text)
    sender, body = match["sender"], match["body"]
    kind, rest = body[0], body[1:]
    if kind in "!=":
        return _placed(Packet(sender, "position"), rest, text)
    if kind in "/@" and re.match(_TIMES, rest):
        return _placed(Packet(sender, "position", time=rest[:7]), rest[7:], text)
    if kind == ";" and re.match(rf".{{9}}[*_]{_TIMES}", rest, re.DOTALL):
        thing = Packet(sender, "object", name=rest[:9].strip(), gone=rest[9] == "_")
        return _placed(replace(thing, time=rest[10:17]), rest[17:], text)
    if kind == ")" and (item := re.match(r"([^!_]{3,9})([!_])", rest)):
        thing = Packet(sender, "object", name=item[1].strip(), gone=item[2] == "_")
        return _placed(thing, rest[item.end() :], text)
    if kind == ":" and re.match(r".{9}:", rest, re.DOTALL):
        words = re.sub(r"\{[A-Za-z0-9]{1,5}\}?[A-Za-z0-9]{0,2}$", "", rest[10:])
        return Packet(sender, "message", name=rest[:9].strip(), words=words)
    if kind in "`'\x1c\x1d":
        square, blank = mic_e_square(match["to"], rest, text)
        return Packet(sender, "position", square, words=rest[8:], blank=blank)
    if kind == "$" and (sentence := read_sentence(body)):
        if sentence.whose == "waypoint":
            return Packet(sender, "object", sentence.square, sentence.name or "waypoint")
        if sentence.whose == "receiver":
            return Packet(sender, "position", sentence.square, doubts=sentence.doubts)
    return Packet(sender, "other", words=body)


def _placed(packet: Packet, rest: str, text: str) -> Packet:
    """The packet with the position that its rest begins with."""
    if plain := _PLAIN.match(rest):
        words = rest[plain.end() :]
        square, blank = _plain_square(plain, words, text)
        symbol = plain["table"] + plain["symbol"]
        return replace(packet, square=square, blank=blank, words=words, symbol=symbol)
    if compressed := _COMPRESSED.match(rest):
        lat = 90.0 - _base_91(compressed["lat"]) / 380_926.0
        lon = -180.0 + _base_91(compressed["lon"]) / 190_463.0
        square = graticule_square(lat, lon, 1.0 / 380_926.0, 1.0 / 190_463.0)
        symbol = compressed["table"] + compressed["symbol"]
        return replace(packet, square=square, words=rest[compressed.end() :], symbol=symbol)
    raise FormatError(
        f"{text!r} has no position where a packet has one: expected such as 4903.50N/07201.75W",
        text,
    )


def _plain_square(match: re.Match[str], words: str, text: str) -> tuple[Square, int]:
    """Square of degrees and minutes, and how many figures are blank."""
    lat_text, lon_text = match["lat"], match["lon"]
    blank = sum(c == " " for c in lat_text)
    unit = (0.01, 0.1, 1.0, 10.0, 60.0)[blank] if blank <= 4 else 0.0
    figures = lat_text.replace(".", "")
    if not unit or figures[: len(figures) - blank].count(" ") or " " in lon_text[:3]:
        raise FormatError(f"{text!r}: figures are missing in the middle of its position", text)
    # The longitude is no better known than the latitude says.
    kept = {0.01: 8, 0.1: 7, 1.0: 5, 10.0: 4, 60.0: 3}[unit]
    lat = _minutes(lat_text[: kept - 1], 2, 90.0, text)
    lon = _minutes(lon_text[:kept], 3, 180.0, text)
    if blank:  # figures were cut off, not rounded: the square begins there
        lat, lon = lat + unit / 2.0, lon + unit / 2.0
    elif finer := _FINER.search(words):
        more_lat, more_lon, unit = _more_figures(finer)
        lat, lon = lat + more_lat, lon + more_lon
    lat_deg = -lat / 60.0 if match["ns"] in "Ss" else lat / 60.0
    lon_deg = -lon / 60.0 if match["ew"] in "Ww" else lon / 60.0
    if abs(lat_deg) > 90.0 or abs(lon_deg) > 180.0:
        raise FormatError(f"the position in {text!r} lies off the Earth", text)
    return graticule_square(lat_deg, lon_deg, unit / 60.0, unit / 60.0), blank


def _minutes(text: str, degree_figures: int, most: float, given: str) -> float:
    degrees, minutes = text[:degree_figures], text[degree_figures:]
    tens_only = len(minutes) == 1
    value = float(minutes or 0.0) * (10.0 if tens_only else 1.0)
    if value >= 60.0 or int(degrees) > most:
        raise FormatError(f"{text!r} degrees and minutes in {given!r} cannot be", given)
    return int(degrees) * 60.0 + value


def _more_figures(match: re.Match[str]) -> tuple[float, float, float]:
    """What the extension adds to both, minutes, and its unit."""
    if match["figures"]:
        return int(match["figures"][0]) * 0.001, int(match["figures"][1]) * 0.001, 0.001
    lat, lon = (_base_91(sign) / 91.0 * 0.01 for sign in match["signs"])
    return lat, lon, 0.01 / 91.0


def _base_91(text: str) -> int:
    value = 0
    for character in text:
        value = value * 91 + ord(character) - 33
    return value
