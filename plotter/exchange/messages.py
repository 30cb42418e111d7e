"""Short text messages: a report a line, short enough for one message each, read back as they went.

::

    140904Z Ridge team>weak station: bearing 321 magnetic ± 5
    140905Z Clinic>: 38.4497 S 22.2725 W
    140905Z Clinic>: the beginning of a long one (1/2b)

A long one goes out in parts; where two long ones have the same head, a letter tells them apart.
"""

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from plotter.exchange.features import Feature
from plotter.exchange.tally import Tally
from plotter.log.events.event import Entry, Source

__all__ = ["Parts", "Whole", "joined", "message_entry", "read_message", "write_messages"]

_SHAPE: Final = re.compile(
    r"(?:([0-9]{2})([0-9]{2})([0-9]{2})Z\s+)?([^>\n]{1,60})>([^:\n]{0,60}):\s?(.*)", re.DOTALL
)
_PART: Final = re.compile(r"(.*) \((\d{1,4})/(\d{1,4})([a-z]{0,3})\)", re.DOTALL | re.ASCII)
_END: Final = len(" (999/999aa)")
_PLAIN_ROOM: Final = 160  # characters of a message in the network's own alphabet
_WIDE_ROOM: Final = 70  # and where one is outside of it


def write_messages(features: Sequence[Feature]) -> list[str]:
    """Reports as messages, in order; a long one in numbered parts.

    Parameters
    ----------
    features : sequence of Feature
        From `plotter.exchange.features.features_of`; regions are left out, a fix is its best point.

    Returns
    -------
    list of str
        Each of at most 160 characters, 70 where letters need it. Times are to the minute, their
        month is left out.
    """
    out: list[str] = []
    long_ones: Counter[str] = Counter()
    for feature in features:
        if feature.kind == "region":
            continue
        text = _one_line(feature.report)
        if feature.kind == "fix":
            place = feature.places[0][0]
            text = f"note best point of the fix {place.lat_deg:.4f}, {place.lon_deg:.4f}"
        time = f"{feature.said_utc:%d%H%M}Z " if feature.said_utc else ""
        sender = _one_line(feature.sender).replace(">", " ") or "log"
        head = f"{time}{sender}>{_one_line(feature.subject).replace(':', ' ')}: "
        room = _PLAIN_ROOM if (head + text).isascii() else _WIDE_ROOM
        if len(head) + len(text) <= room and not _PART.fullmatch(text):
            out.append(head + text)
            continue
        out += _parts(head, text, room, _letters(long_ones[head]))
        long_ones[head] += 1
    return out


def _letters(number: int) -> str:
    """What tells long messages of one head apart: nothing for the first, then b, c ... ba."""
    return _letters(number // 26) + chr(ord("a") + number % 26) if number else ""


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _parts(head: str, text: str, room: int, letters: str) -> list[str]:
    step = max(room - len(head) - _END, 10)
    pieces = [text[i : i + step] for i in range(0, len(text), step)] or [""]
    return [
        f"{head}{piece} ({k}/{len(pieces)}{letters})" for k, piece in enumerate(pieces, start=1)
    ]


def read_message(
    line: str, near_utc: dt.datetime | None
) -> tuple[dt.datetime | None, str, str, str] | None:
    """Take a message apart: time, sender, subject, words.

    Parameters
    ----------
    line : str
        One message.
    near_utc : datetime or None
        When it came in: the month is the one that brings its day nearest; without it there is no
        time.

    Returns
    -------
    tuple or None
        None where the line has another shape.
    """
    match = _SHAPE.fullmatch(line.strip())
    if match is None:
        return None
    day, hour, minute, sender, subject, words = match.groups()
    time = None
    if day and near_utc:
        time = _nearest(int(day), int(hour), int(minute), near_utc)
        if time is None:
            return None
    return time, sender.strip(), subject.strip(), words


def _nearest(day: int, hour: int, minute: int, near: dt.datetime) -> dt.datetime | None:
    found = []
    for months in (-1, 0, 1):
        number = near.year * 12 + near.month - 1 + months
        try:
            found.append(
                dt.datetime(number // 12, number % 12 + 1, day, hour, minute, tzinfo=dt.UTC)
            )
        except ValueError:
            continue
    return min(found, key=lambda time: abs(time - near), default=None)


@dataclass(frozen=True, slots=True)
class Whole:
    """A line with the parts of a long message put together, or one of those parts alone.

    Parameters
    ----------
    number : int
        Line of the first part.
    text : str
        As a message of one part would have it.
    parts : int
        How many were put together.
    lone : bool
        Whether it is a part, or parts, of a message that is not whole.
    assumed : str
        What putting it together rests on; empty where every part says which message it is of.
    """

    number: int
    text: str
    parts: int = 1
    lone: bool = False
    assumed: str = ""


_Key = tuple[str, str, str]


@dataclass(slots=True)
class _Open:
    """A message whose parts are coming in."""

    number: int
    pieces: dict[int, str] = field(default_factory=dict)


@dataclass(slots=True)
class Parts:
    """Puts the parts of long messages together: those of one head, and of no other message.

    The head says the time, the sender and the subject. Where two messages have one head, their
    parts carry a letter besides; where they do not, and the same part came in with other words,
    parts are put together only if they came in one message after the other, which is said;
    otherwise each is kept alone.

    Parameters
    ----------
    tally : Tally
        Counts parts that came in again.
    """

    tally: Tally = field(default_factory=Tally)
    _open: dict[_Key, _Open] = field(default_factory=dict)
    _done: dict[_Key, dict[int, str]] = field(default_factory=dict)
    _several: dict[_Key, bool] = field(default_factory=dict)

    def look_through(self, lines: Iterable[tuple[int, str]]) -> None:
        """Find the heads that more than one message of a file has, before its lines are taken."""
        seen: dict[_Key, list[tuple[int, str]]] = {}
        for _, line in lines:
            if part := _part_of(line.strip()):
                key, k, words, _ = part
                if (k, words) not in seen.setdefault(key, []):
                    seen[key].append((k, words))
        for key, came in seen.items():
            order = [k for k, _ in came]
            if len(set(order)) < len(order):
                total = int(key[1])
                runs = [i % total + 1 for i in range(len(order))]
                self._several[key] = order == runs and len(order) % total == 0

    def take(self, number: int, line: str, *, at_once: bool = False) -> list[Whole]:
        """What a line completes: itself, a message put together, or a part that stays alone.

        Parameters
        ----------
        number : int
            Of the line.
        line : str
            One message, or anything else.
        at_once : bool
            Whether a part is given at once, too, and again in the whole.
        """
        part = _part_of(line)
        if part is None:
            return [Whole(number, line)]
        key, k, words, head = part
        if self._several.get(key) is False:
            return [_alone(number, head, k, key[1], words, _UNTOLD)]
        if self._done.get(key, {}).get(k) == words:
            self.tally.leave(_AGAIN)
            return []
        open_ = self._open.setdefault(key, _Open(number))
        if open_.pieces.get(k, words) != words:
            # Another message has the same head, and nobody can tell whose further parts are.
            self._several[key] = False
            alone = [] if at_once else [
                _alone(open_.number, head, i, key[1], each, _UNTOLD)
                for i, each in sorted(open_.pieces.items())
            ]  # fmt: skip
            del self._open[key]
            return [*alone, _alone(number, head, k, key[1], words, _UNTOLD)]
        if k in open_.pieces:
            self.tally.leave(_AGAIN)
            return []
        open_.pieces[k] = words
        if len(open_.pieces) < int(key[1]):
            return [_alone(number, head, k, key[1], words, "")] if at_once else []
        several = key in self._several or key in self._done
        assumed = f"put together from {key[1]} parts of one sender and time"
        if several:
            assumed += ", in the order in which they came: another message has the same head"
        unsaid = not key[2] and int(key[1]) > 1 and (several or at_once)
        del self._open[key]
        self._done[key] = open_.pieces
        text = head + "".join(open_.pieces[i] for i in sorted(open_.pieces))
        return [Whole(open_.number, text, int(key[1]), assumed=assumed if unsaid else "")]

    @property
    def unfinished(self) -> int:
        """How many messages still wait for a part."""
        return len(self._open)

    def finish(self) -> list[Whole]:
        """Messages that are not whole at the end, with the parts that are there."""
        found = []
        for (head, total, _), open_ in self._open.items():
            have = ", ".join(map(str, sorted(open_.pieces)))
            words = " … ".join(open_.pieces[k] for k in sorted(open_.pieces))
            text = f"{head}note parts {have} of {total} came in: {words}"
            found.append(Whole(open_.number, text, lone=True))
        self._open = {}
        return found


_AGAIN: Final = "parts of messages that came in again"
_UNTOLD: Final = " (of which message of this minute cannot be told)"


def _part_of(line: str) -> tuple[_Key, int, str, str] | None:
    """Key, number, words and head of a part of a long message; None for anything else."""
    part = _PART.fullmatch(line)
    shape = _SHAPE.fullmatch(part[1]) if part else None
    if part is None or shape is None or not 1 <= int(part[2]) <= int(part[3]):
        return None
    head = part[1][: shape.start(6)]
    return (head, str(int(part[3])), part[4]), int(part[2]), part[1][shape.start(6) :], head


def _alone(number: int, head: str, k: int, total: str, words: str, why: str) -> Whole:
    return Whole(number, f"{head}note part {k} of {total} came in{why}: {words}", lone=True)


def joined(lines: Iterable[tuple[int, str]]) -> list[tuple[int, str]]:
    """Lines with the parts of long messages put together, at the number of the first part.

    A part that is missing is said in the text.
    """
    known = list(lines)
    parts = Parts()
    parts.look_through(known)
    out = [whole for number, line in known for whole in parts.take(number, line)]
    out += parts.finish()
    out.sort(key=lambda whole: whole.number)
    return [(whole.number, whole.text) for whole in out]


def message_entry(
    line: str,
    near_utc: dt.datetime | None,
    source: Source,
    *,
    operator: str = "",
    channel: str = "",
    assumed: tuple[str, ...] = (),
) -> Entry | None:
    """A message as an entry; None where the line has another shape."""
    found = read_message(line, near_utc)
    if found is None:
        return None
    time, sender, subject, words = found
    return Entry("report", words, sender=sender, subject=subject, operator=operator,
                 channel=channel or "message", said_utc=time, assumed=assumed,
                 source=source)  # fmt: skip
