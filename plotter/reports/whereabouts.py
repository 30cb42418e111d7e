"""Who or what is where, by name and as of when, sound or in doubt: one set of rules for everybody.

A sound place serves before one in doubt, and a place in doubt never serves without a question. The
later one serves before the earlier, by the time it was said; a line without a time stands where it
stood among the others. A named place that is given once serves earlier lines too; given anew
elsewhere, each line has the one that was known when it was said, and that is asked about.
"""

import datetime as dt
from bisect import bisect_left, insort
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.formats.zones import inside
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position, Square
from plotter.reports.lengths import length_in_words
from plotter.reports.names import alike, is_own_place, key_of
from plotter.reports.report import Picture, PositionReport, Role, Said
from plotter.voice.spoken import reading_alone

__all__ = [
    "END",
    "Moment",
    "Origin",
    "Seen",
    "Whereabouts",
    "moments",
    "named_squares",
    "seen_of",
    "whereabouts_of",
]

Moment: TypeAlias = tuple[dt.datetime, int]
_START: Final = dt.datetime.min.replace(tzinfo=dt.UTC)
END: Final[Moment] = (dt.datetime.max.replace(tzinfo=dt.UTC), 2**62)
"""After everything that was said."""


_LONGEST: Final = 50


@dataclass(frozen=True, slots=True)
class Seen:
    """Somebody or something at a place, as one report has it.

    Parameters
    ----------
    moment : Moment
        When, and which line, for the order.
    name : str
        Who or what, as that report calls it.
    role : {"station", "subject", "place"}
        As for `PositionReport`.
    time_utc : datetime or None
        When it was said; None where that was not stated.
    square : Square
        Where.
    doubtful : bool
        Whether the place speaks against the report.
    others : tuple of Square
        What else its words can mean.
    sigma_m : float
        One standard deviation per axis that was stated beside the square.
    """

    moment: Moment
    name: str
    role: Role
    time_utc: dt.datetime | None
    square: Square
    doubtful: bool = False
    others: tuple[Square, ...] = ()
    sigma_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Origin:
    """A place that words name, to measure from.

    Parameters
    ----------
    square : Square
        Where it is.
    words : str
        Where this comes from, in words.
    questions : tuple of str
        What to ask about it.
    time_utc : datetime or None
        As of when; None where it is no name, or no time was stated.
    doubtful : bool
        Whether it is in doubt.
    others : tuple of Square
        What else the words can mean.
    sigma_m : float
        One standard deviation per axis that was stated beside the square.
    assumed : tuple of str
        What a position rests on beyond its words.
    readings : tuple of Reading
        Every meaning of a position, the likeliest first; empty for a name.
    """

    square: Square
    words: str
    questions: tuple[str, ...] = ()
    time_utc: dt.datetime | None = None
    doubtful: bool = False
    others: tuple[Square, ...] = ()
    sigma_m: float = 0.0
    assumed: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()

    @property
    def named(self) -> bool:
        """Whether the words are a name, and no position."""
        return not self.readings

    @property
    def position(self) -> Position:
        """Its middle."""
        return self.square.centre

    @property
    def size_m(self) -> float:
        """Longer side of the square that it is known to."""
        return self.square.size_m

    @property
    def as_of(self) -> str:
        """Where this comes from, and as of when."""
        when = _at(self.time_utc)
        return self.words if when in self.words else f"{self.words}, as of{when[3:]}"


@dataclass(slots=True)
class Whereabouts:
    """Named places and the reported whereabouts of everybody, filled report by report."""

    area: Area | None = None
    _places: dict[str, list[Seen]] = field(default_factory=dict)
    _seen: dict[str, list[Seen]] = field(default_factory=dict)
    _sound: dict[str, list[Seen]] = field(default_factory=dict)
    _open: dict[str, list[tuple[Moment, str]]] = field(default_factory=dict)

    def may_have_moved(self, sender: str, moment: Moment, words: str) -> None:
        """Remember words after which nobody can say that their sender still is where it was."""
        said = (moment, words)
        if said not in self._open.setdefault(key_of(sender), []):
            insort(self._open[key_of(sender)], said)

    def add(self, seen: Seen) -> None:
        """Remember where somebody or something was."""
        key = key_of(seen.name)
        if seen.role == "place":
            insort(self._places.setdefault(key, []), seen, key=_moment)
            return
        insort(self._seen.setdefault(key, []), seen, key=_moment)
        if not seen.doubtful:
            insort(self._sound.setdefault(key, []), seen, key=_moment)

    def knows(self, name: str) -> bool:
        """Whether a place, or anybody's whereabouts, goes by this name."""
        key = key_of(name)
        return key in self._places or key in self._seen

    def is_place(self, name: str) -> bool:
        """Whether a named place goes by this name."""
        return key_of(name) in self._places

    def names(self) -> tuple[str, ...]:
        """Every name, places first, as first said."""
        return tuple(found[0].name for found in (*self._places.values(), *self._seen.values()))

    def last_before(self, name: str, moment: Moment) -> Seen | None:
        """Last place of a name before a moment that nothing speaks against; no named place."""
        return _before(self._sound.get(key_of(name), []), moment)

    def own_place(self, sender: str, moment: Moment = END) -> Origin:
        """Where a sender is when it says something.

        Raises
        ------
        FormatError
            If it has reported no position that can be used.
        """
        seen = self._seen.get(key_of(sender), [])
        if not seen:
            raise FormatError(
                f"{sender!r} has not reported where it is: ask for its position", sender
            )
        last = _before(seen, moment)
        sound = self.last_before(sender, moment)
        if sound is not None and last is not None:
            at = _at(sound.time_utc)
            asked = (
                () if last is sound else (f"Ask {sender} whether it still is where it was{at}.",)
            )
            since = [
                words
                for when, words in self._open.get(key_of(sender), ())
                if sound.moment < when < moment
            ]
            if since:
                words = since[-1] if len(since[-1]) <= _LONGEST else f"{since[-1][:_LONGEST]}…"
                asked = (f"{sender} said {words!r} after its last place{at}: ask where it was.",)
            return _origin(sound, f"last position of {sender}{at}", asked)
        if last is not None:
            return _origin(
                last,
                f"doubtful position of {sender}{_at(last.time_utc)}",
                (f"The position of {sender} is in doubt: ask for it again.",),
            )
        later = next((each for each in seen if not each.doubtful), seen[0])
        return _origin(
            later,
            f"position of {sender} reported later{_at(later.time_utc)}",
            (f"Ask {sender} whether it was there already when it took the bearing.",),
        )

    def place(self, name: str, moment: Moment = END) -> Origin:
        """Where a named place is, as known at a moment; if it was not yet given, where it is first.

        Raises
        ------
        FormatError
            If no place of this name was reported.
        """
        found = self._places.get(key_of(name), [])
        if not found:
            raise FormatError(f"no place called {name!r} has been reported", name)
        sound = [each for each in found if not each.doubtful]
        if not sound:
            asked = (f"The place {found[-1].name} is in doubt: ask where it is.",)
            return _origin(found[-1], found[-1].name, asked)
        holds = _before(sound, (moment[0], moment[1] + 1)) or sound[0]
        questions: tuple[str, ...] = ()
        if found[-1] is not sound[-1]:
            elsewhere = f"{holds.name} was reported elsewhere{_at(found[-1].time_utc)}, in doubt"
            questions = (f"{elsewhere}: ask where it is.",)
        for other in sound:
            away_m = geodesic(holds.square.centre, other.square.centre).distance_m
            if _moment(other) > _moment(holds) and away_m > holds.square.size_m:
                anew = f"{holds.name} was given anew{_at(other.time_utc)}"
                away = f"{length_in_words(away_m)} from there"
                questions += (f"{anew}, {away}: ask which of them is meant here.",)
        return _origin(holds, holds.name, questions)

    def find(self, where: str, moment: Moment = END, sender: str = "") -> Origin:
        """Resolve a place name, somebody's name, "here", or a position in any format.

        Parameters
        ----------
        where : str
            The words.
        moment : Moment
            When they are said; after everything unless given.
        sender : str
            Who says them, for "from us".

        Raises
        ------
        FormatError
            If they are none of these; the message lists the places that are known.
        """
        if self.is_place(where):
            return self.place(where, moment)
        if key_of(where) in self._seen:
            return self.own_place(where, moment)
        if sender and is_own_place(where):
            return self.own_place(sender, moment)
        return self._position(where)

    def _position(self, where: str) -> Origin:
        try:
            found: Sequence[Reading] = reading_alone(where, self.area)
        except FormatError as error:
            raise FormatError(
                f"no place called {where!r} has been reported ({self._known(where)}), and as a "
                f"position: {error}",
                where,
            ) from error
        questions = tuple(f"{where}: assumed {why}; read it back." for why in found[0].assumed)
        if len(found) > 1:
            questions += (f"{where} can mean {len(found)} places: ask for it again.",)
        others = tuple(each.square for each in found[1:])
        return Origin(
            found[0].square,
            where,
            questions,
            others=others,
            assumed=found[0].assumed,
            readings=tuple(found),
        )

    def _known(self, where: str) -> str:
        """Places that are known, those that sound like these words first."""
        near = alike(where, self.names())
        if near:
            return f"is it {' or '.join(repr(name) for name in near)}?"
        names = ", ".join(sorted(found[-1].name for found in self._places.values()))
        return f"known places: {names or 'none so far'}"

    def latest(self, roles: Collection[Role]) -> Iterator[tuple[str, Origin]]:
        """Everybody and everything of these roles at the latest sound place, in order of names.

        Who is known only from places in doubt is left out: `doubted` names them.
        """
        for seen in self._all(roles):
            sound = [each for each in seen if not each.doubtful]
            if sound:
                name = sound[-1].name
                yield name, self.place(name) if seen[-1].role == "place" else self.own_place(name)

    def doubted(self, roles: Collection[Role]) -> tuple[str, ...]:
        """Names of these roles of which every place is in doubt."""
        return tuple(
            seen[-1].name for seen in self._all(roles) if all(each.doubtful for each in seen)
        )

    def _all(self, roles: Collection[Role]) -> list[list[Seen]]:
        found = [*self._places.values(), *self._seen.values()]
        return sorted((seen for seen in found if seen[-1].role in roles), key=lambda s: s[0].moment)


def moments(lines: Sequence[Said]) -> list[Moment]:
    """When each line was said, for the order; a line without a time follows the one before it."""
    latest = _START
    found: list[Moment] = []
    for order, line in enumerate(lines):
        latest = line.time_utc or latest
        found.append((latest, order))
    return found


def whereabouts_of(picture: Picture) -> Whereabouts:
    """Everything that has been reported of anybody's place, as it is known at the end."""
    known = Whereabouts(picture.area)
    reports = sorted(picture.positions, key=lambda report: report.said.line)
    for report, moment in zip(reports, moments([each.said for each in reports]), strict=True):
        known.add(seen_of(report, moment, picture.area))
    return known


def named_squares(picture: Picture) -> list[tuple[str, Square]]:
    """Named places that nothing speaks against, each with its square."""
    known = whereabouts_of(picture)
    return [(name, origin.square) for name, origin in known.latest({"place"})]


def seen_of(
    report: PositionReport, moment: Moment, area: Area | None, *, chosen: bool = False
) -> Seen:
    """A reported place as it is remembered: of its other meanings those that fit the area.

    None of them where the one that holds was `chosen`.
    """
    others = tuple(
        each.square
        for each in report.others
        if not chosen and (area is None or inside(each.square.centre, area))
    )
    return Seen(
        moment,
        report.name,
        report.role,
        report.said.time_utc,
        report.reading.square,
        report.out_of_place,
        others,
        report.sigma_m,
    )


def _origin(seen: Seen, words: str, questions: tuple[str, ...]) -> Origin:
    if seen.others:
        count = len(seen.others) + 1
        questions += (f"The report of {seen.name} has {count} meanings: ask for it again.",)
    return Origin(
        seen.square, words, questions, seen.time_utc, seen.doubtful, seen.others, seen.sigma_m
    )


def _before(seen: Sequence[Seen], moment: Moment) -> Seen | None:
    at = bisect_left(seen, moment, key=_moment)
    return seen[at - 1] if at else None


def _moment(seen: Seen) -> Moment:
    return seen.moment


def _at(time_utc: dt.datetime | None) -> str:
    return f" at {time_utc:%H:%M} UTC" if time_utc else ""
