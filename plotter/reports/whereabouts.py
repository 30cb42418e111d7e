"""Who was last where: names to places, for bearings and distances "from the bridge"."""

from bisect import bisect_left
from dataclasses import dataclass, field
from datetime import datetime

from plotter.errors import FormatError
from plotter.geodesy.position import Area, Position, Square
from plotter.reports.names import key_of
from plotter.voice.spoken import spoken_reading

__all__ = ["Gazetteer", "Origin"]


@dataclass(frozen=True, slots=True)
class Origin:
    """A place to measure from.

    Parameters
    ----------
    position : Position
        Its middle.
    size_m : float
        Longer side of the square that it is known to.
    words : str
        Where this comes from, in words.
    questions : tuple of str
        What to ask about it.
    """

    position: Position
    size_m: float
    words: str
    questions: tuple[str, ...] = ()


@dataclass(slots=True)
class _Sighting:
    order: int
    time_utc: datetime | None
    square: Square
    doubtful: bool


@dataclass(slots=True)
class Gazetteer:
    """Named places and the reported whereabouts of everybody, filled line by line."""

    area: Area | None = None
    places: dict[str, tuple[str, Square]] = field(default_factory=dict)
    sightings: dict[str, list[_Sighting]] = field(default_factory=dict)

    def add_place(self, name: str, square: Square) -> None:
        """Remember a named place; a later report of the same name replaces it."""
        self.places[key_of(name)] = (name, square)

    def add_sighting(
        self, name: str, order: int, time_utc: datetime | None, square: Square, *, doubtful: bool
    ) -> None:
        """Remember where somebody was, by the order of the reports."""
        self.sightings.setdefault(key_of(name), []).append(
            _Sighting(order, time_utc, square, doubtful)
        )

    def last_before(self, name: str, order: int) -> _Sighting | None:
        """Last sighting of a name before a report that nothing speaks against."""
        seen = self.sightings.get(key_of(name), [])
        # Sightings come in the order of the reports: from the last one before, backwards.
        first_after = bisect_left(seen, order, key=lambda each: each.order)
        return next(
            (s for s in (seen[i] for i in reversed(range(first_after))) if not s.doubtful), None
        )

    def own_place(self, sender: str, order: int) -> Origin:
        """Where a sender stands when its report number `order` comes in.

        Raises
        ------
        FormatError
            If it has reported no position that can be used.
        """
        seen = self.sightings.get(key_of(sender), [])
        if not seen:
            raise FormatError(
                f"{sender!r} has not reported where it is: ask for its position", sender
            )
        before = [s for s in seen if s.order < order]
        sound = [s for s in before if not s.doubtful]
        if sound:
            last = sound[-1]
            words = f"last position of {sender}{_at(last.time_utc)}"
            asked = (
                (f"Ask {sender} whether it still is where it was{_at(last.time_utc)}.",)
                if before[-1] is not last
                else ()
            )
            return Origin(last.square.centre, last.square.size_m, words, asked)
        if before:
            last = before[-1]
            return Origin(
                last.square.centre,
                last.square.size_m,
                f"doubtful position of {sender}{_at(last.time_utc)}",
                (f"The position of {sender} is in doubt: ask for it again.",),
            )
        later = seen[0]
        return Origin(
            later.square.centre,
            later.square.size_m,
            f"position of {sender} reported later{_at(later.time_utc)}",
            (f"Ask {sender} whether it was there already when it took the bearing.",),
        )

    def find(self, where: str, order: int) -> Origin:
        """Resolve a place name, a sender's name, or a position in any format.

        Raises
        ------
        FormatError
            If it is neither; the message lists the places that are known.
        """
        key = key_of(where)
        if key in self.places:
            name, square = self.places[key]
            return Origin(square.centre, square.size_m, name)
        if key in self.sightings:
            return self.own_place(where, order)
        try:
            found = spoken_reading(where, self.area)
        except FormatError as error:
            names = ", ".join(sorted(name for name, _ in self.places.values())) or "none so far"
            raise FormatError(
                f"no place called {where!r} has been reported (known places: {names}), and as a "
                f"position: {error}",
                where,
            ) from error
        questions = tuple(f"{where}: assumed {why}; read it back." for why in found[0].assumed)
        if len(found) > 1:
            questions += (f"{where} can mean {len(found)} places: ask for it again.",)
        square = found[0].square
        return Origin(square.centre, square.size_m, where, questions)


def _at(time_utc: datetime | None) -> str:
    return f" at {time_utc:%H:%M} UTC" if time_utc else ""
