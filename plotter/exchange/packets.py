"""Packets as entries: positions, objects, messages, and what direction finders heard."""

import datetime as dt
import re
from typing import Final

from plotter.errors import FormatError
from plotter.exchange.receiver import Made
from plotter.exchange.tally import Tally
from plotter.formats.packet import Packet, read_packet
from plotter.formats.packet_df import heading_of, signal_of, strength_of
from plotter.log.events.event import Entry

__all__ = ["packet_entries"]

_FAST_CLOCK: Final = dt.timedelta(minutes=10)
_CHANNEL: Final = "packet"
_RECEIPT: Final = re.compile(r"(?:ack|rej)[A-Za-z0-9]{1,5}\}?[A-Za-z0-9]{0,2}")


def packet_entries(
    text: str,
    number: int,
    near: dt.datetime | None,
    received: dt.datetime | None,
    made: Made,
    tally: Tally,
) -> list[Entry]:
    """Entries of one packet.

    A direction finder's packet is two: where it is, and its bearing or watch, whose place is the
    packet itself, kept as it came in.

    Parameters
    ----------
    text : str
        The packet.
    number : int
        Of its line.
    near : datetime or None
        When it came in: completes its day.
    received : datetime or None
        The same where the line says it: its time, where the packet has none.
    made : callable
        Makes an entry of a text, the number of its line, and fields of `Entry`.
    tally : Tally
        Counts what is taken and left.

    Raises
    ------
    FormatError
        If it cannot be read.
    """
    packet = read_packet(text)
    time = _packet_time(packet.time, near) or received
    if packet.kind == "message":
        if _RECEIPT.fullmatch(packet.words):
            tally.leave("receipts of messages")
            return []
        tally.take("messages")
        # Whom it is for is how it came in: the words alone are the report.
        channel = f"{_CHANNEL} to {packet.name}" if packet.name else _CHANNEL
        entry = made(packet.words, number, sender=packet.sender, channel=channel, said_utc=time)
        if packet.name and packet.name not in entry.channel:
            tally.leave("addressees, where the channel was given")
        return [entry]
    if packet.square is None:
        tally.take("packets without a position, as notes")
        return [made(text, number, kind="note", sender=packet.sender, said_utc=time,
                     channel=_CHANNEL)]  # fmt: skip
    if packet.gone:
        tally.take("objects that are gone, as notes")
        return [made(f"no longer there: {text}", number, kind="note", sender=packet.sender,
                     subject=packet.name, said_utc=time, channel=_CHANNEL)]  # fmt: skip
    tally.take("positions with a time" if time else "positions without a time of their own")
    place = made(text, number, sender=packet.sender, subject=packet.name, said_utc=time,
                 channel=_CHANNEL)  # fmt: skip
    return [place, *_found(packet, text, number, time, made, tally)]


def _found(
    packet: Packet,
    text: str,
    number: int,
    time: dt.datetime | None,
    made: Made,
    tally: Tally,
) -> list[Entry]:
    """What a direction finder's packet says besides its place."""
    said: list[tuple[str, tuple[str, ...]]] = []
    problem = ""
    try:
        heading = heading_of(packet)
    except FormatError as error:
        heading, problem = None, str(error)
    if heading is not None and heading.useless:
        why = f"heard, but from no known direction: the quality {heading.quality} is too poor"
        said.append(("heard", (why,)))
    elif heading is not None:
        spread = f" ± {heading.sigma_deg:g}" if heading.sigma_deg else ""
        why = f"the quality {heading.quality} says nothing of its error"
        if spread:
            why = f"one standard deviation of{spread}°, from the quality {heading.quality}"
        said.append((f"bearing {heading.bearing_true_deg:03d} true{spread}", (why,)))
    strength = strength_of(packet)
    if strength is not None:
        heard = "heard" if strength.s_points else "not heard"
        said.append((heard, (f"strength S{strength.s_points}, range not said",)))
    entries = [
        made(f"{words} from {text}", number, sender=packet.sender, subject=signal_of(packet),
             said_utc=time, channel=_CHANNEL, assumed=assumed)
        for words, assumed in said
    ]  # fmt: skip
    for words, _ in said:
        tally.take("bearings" if words.startswith("bearing") else "watches")
    if problem:
        entries.append(made(text, number, sender=packet.sender, problem=problem, channel=_CHANNEL))
    return entries


def _packet_time(text: str, near: dt.datetime | None) -> dt.datetime | None:
    """Time of a packet beside when it came in; the local ones are of an unknown zone."""
    if near is None or not re.fullmatch(r"[0-9]{6}[zh]", text):
        return None
    first, second, third = (int(text[i : i + 2]) for i in (0, 2, 4))
    found = []
    for days in range(-31, 32) if text[6] == "z" else (-1, 0, 1):
        day = (near + dt.timedelta(days=days)).date()
        try:
            if text[6] == "z":
                clock, right = dt.time(second, third, tzinfo=dt.UTC), day.day == first
            else:
                clock, right = dt.time(first, second, third, tzinfo=dt.UTC), True
        except ValueError:
            return None
        if right:
            found.append(dt.datetime.combine(day, clock))
    # No packet says a time to come, but for clocks that are a little fast.
    return max((time for time in found if time <= near + _FAST_CLOCK), default=None)
