r"""What a direction finder's packet says besides its place: a bearing, or a signal's strength.

::

    ...\088/036/270/729     course, speed, bearing, and number of hits, range, quality
    ...DFS2360              strength in S-points, then height, gain and direction of the antenna
"""

import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.packet import Packet

__all__ = ["Heading", "Strength", "heading_of", "signal_of", "strength_of"]

_DF_SYMBOL: Final = "/\\"
_EXTENSION: Final = r"(?:[\d. ]{3}/[\d. ]{3}|(?:PHG|RNG|DFS).{4})"
_BEARING: Final = re.compile(rf"{_EXTENSION}?/(?P<bearing>\d{{3}})/(?P<n>\d)(?P<r>\d)(?P<q>\d)")
_STRENGTH: Final = re.compile(r"DFS(?P<s>\d)(?P<h>[0-~])(?P<g>\d)(?P<d>\d)")
_FREQUENCY: Final = re.compile(r"(?<![\d.])(\d{2,4}\.\d{2,4}) ?MHz", re.IGNORECASE)
# "Accuracy better than": taken whole as one standard deviation, since nobody says what share of
# bearings keeps to it. Wider than a right angle a bearing says no direction.
_QUALITY_DEG: Final = {3: 64.0, 4: 32.0, 5: 16.0, 6: 8.0, 7: 4.0, 8: 2.0, 9: 1.0}


@dataclass(frozen=True, slots=True)
class Heading:
    """A bearing towards a signal.

    Parameters
    ----------
    bearing_true_deg : int
        Clockwise from true north, 0 to 360 as it stands there.
    sigma_deg : float or None
        From the quality; None where the packet says nothing of it.
    useless : bool
        Whether the quality says that the bearing points nowhere: the signal was only heard.
    quality : str
        The three figures of hits, range and quality.
    """

    bearing_true_deg: int
    sigma_deg: float | None
    useless: bool
    quality: str


@dataclass(frozen=True, slots=True)
class Strength:
    """How strong a signal was heard, in S-points; 0 is that it was not heard."""

    s_points: int


def heading_of(packet: Packet) -> Heading | None:
    r"""The bearing of a packet with the symbol of a direction finder; None where there is none.

    Raises
    ------
    FormatError
        If it is more than a circle.

    Source
    ------
    APRS Protocol Reference 1.0.1 (TAPR, 2000), chapter 7, "Bearing and Number/Range/Quality": N is
    0 where NRQ is meaningless, 9 for a manual report; range 2^R miles; and chapter 8: only with
    the symbol ``/\``. Courses there are clockwise from due north. The accuracy of each Q (9 below
    1 degree, doubling to 3 below 64, 2 below 120, 1 below 240, 0 useless) is from memory.
    """
    match = _BEARING.match(packet.words) if packet.symbol == _DF_SYMBOL else None
    if match is None:
        return None
    bearing, hits, quality = int(match["bearing"]), int(match["n"]), int(match["q"])
    if bearing > 360:
        raise FormatError(
            f"bearing {match['bearing']} in {packet.words!r} is more than 360 degrees: ask for it",
            packet.words,
        )
    told = hits != 0
    sigma = _QUALITY_DEG.get(quality) if told else None
    figures = match["n"] + match["r"] + match["q"]
    return Heading(bearing, sigma, told and sigma is None, figures)


def strength_of(packet: Packet) -> Strength | None:
    """How strong a packet says that a signal was; None where it does not say.

    Source
    ------
    APRS Protocol Reference 1.0.1, chapter 7, "Omni-DF Signal Strength". Its height is above average
    terrain, not above the ground at the antenna, and is left in the words.
    """
    match = _STRENGTH.match(packet.words)
    return Strength(int(match["s"])) if match else None


def signal_of(packet: Packet) -> str:
    """What a direction finder's packet is about: "signal", with its frequency where that is said.

    Bearings on two frequencies are not of one signal.
    """
    found = _FREQUENCY.search(packet.words)
    return f"signal {found[1]} MHz" if found else "signal"
