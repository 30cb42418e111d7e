"""How plausible a reading is, what else may have been meant, and the one question that settles it.

The as-said reading is never replaced. Where it is plausible it stays first; where it is not, the
alternatives are ranked by the chance of the slips times the chance of the place.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.reading import in_all_formats_of
from plotter.formats.registry import FORMATS
from plotter.formats.result import Reading
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.voice.against import Against, against, length_in_words
from plotter.voice.channel import SLIP_RATE
from plotter.voice.fields import all_fields
from plotter.voice.old_datums import on_another_datum
from plotter.voice.place_of_slip import slip_words, spot_of, whole_field
from plotter.voice.prior import Context, plausibility
from plotter.voice.ranking import Place, Ranking, ranked
from plotter.voice.spoken import spoken_reading

__all__ = ["Alternative", "Context", "Doubt", "Weighed", "doubt", "plausibility", "weigh"]

# A reading below this is doubted.
_DOUBTED: Final = 0.5
_LEAST_SHARE: Final = 1e-3
_MOST: Final = 10
# The question names the places of the slips that make up this share of the alternatives.
_MOST_OF_THEM: Final = 0.8
_MOST_SPOTS: Final = 2
_AGAIN: Final = "Ask for the whole position again, figure by figure."


@dataclass(frozen=True, slots=True)
class Alternative:
    """What else may have been meant.

    Parameters
    ----------
    reading : Reading
        It, with its square.
    mistake : str
        The slip that would explain what was received, in words.
    probability : float
        Among all that may have been meant, as-said included; of all squares within `within_m`.
    text : str
        The text that would have been meant.
    spot : str
        The figure or letter to ask for, as in "the first figure of the easting"; empty where a
        slip concerns the whole text.
    within_m : float
        Other squares that may have been meant lie so near to this one that they are one place.
    """

    reading: Reading
    mistake: str
    probability: float
    text: str
    spot: str = ""
    within_m: float = 0.0

    def data(self) -> dict[str, object]:
        """As JSON data."""
        square = self.reading.square
        return {
            "lat_deg": square.centre.lat_deg,
            "lon_deg": square.centre.lon_deg,
            "size_m": square.size_m,
            "within_m": self.within_m,
            "text": self.text,
            "mistake": self.mistake,
            "probability": self.probability,
            "as": in_all_formats_of(self.reading),
        }


@dataclass(frozen=True, slots=True)
class Doubt:
    """What to think of a text.

    Parameters
    ----------
    plausibility : tuple of float
        One for each as-said reading, 0 to 1: how well the place fits what is known of the sender.
    alternatives : tuple of Alternative
        Best first.
    ask : str or None
        The one question that settles it; None where nothing needs asking.
    stake : str
        What a single misheard figure could do to a plausible reading, and the cure.
    against : Against or None
        What speaks against the most plausible as-said reading; None where it is plausible, or
        there is none.
    as_said : tuple of float
        Probability of each as-said reading. With the alternatives' and `other` they add up to 1.
    other : float
        Probability of anything else.
    """

    plausibility: tuple[float, ...]
    alternatives: tuple[Alternative, ...]
    ask: str | None
    stake: str
    against: Against | None = None
    as_said: tuple[float, ...] = ()
    other: float = 0.0

    @property
    def plausible(self) -> bool:
        """Whether an as-said reading is."""
        return any(fit >= _DOUBTED for fit in self.plausibility)


@dataclass(frozen=True, slots=True)
class Weighed:
    """A text read and doubted.

    Parameters
    ----------
    readings : tuple of Reading
        What it admits as said; empty where it cannot be read.
    error : str
        Why it cannot be read, else empty.
    doubt : Doubt
        What to think of it.
    """

    readings: tuple[Reading, ...]
    error: str
    doubt: Doubt


def weigh(text: str, context: Context) -> Weighed:
    """Read a text, written or spoken, and doubt it; a text that cannot be read is doubted too.

    Raises
    ------
    FormatError
        If it cannot be read, and no slip explains it either.
    """
    try:
        readings, error = spoken_reading(text, context.area), ""
        # The sender's reach settles what the area leaves open; equal ones keep their order.
        readings = tuple(sorted(readings, key=lambda each: -plausibility(each, context)))
    except FormatError as wrong:
        readings, error, cause = (), str(wrong), wrong
    rests = next((each.rests_on for each in readings if each.rests_on), text)
    found = doubt(_characters(rests), readings, context)
    if error and not found.alternatives:
        raise cause
    return Weighed(readings, error, found)


def _characters(text: str) -> str:
    """The characters of a spoken text; a written one as it stands."""
    if not re.search(r"[A-Za-z]{4}", text):
        return text
    from plotter.voice.hear import hear  # loaded late: written text needs no tables

    try:
        return hear(text).text
    except FormatError:
        return text


def doubt(text: str, readings: Sequence[Reading], context: Context) -> Doubt:
    """Weigh a text: its own readings first, then what slips may have made of another.

    Parameters
    ----------
    text : str
        The position in characters.
    readings : sequence of Reading
        What it admits as said; empty where it cannot be read.
    context : Context
        Where the report can come from.
    """
    fits = tuple(plausibility(each, context) for each in readings)
    plausible = [each for each, fit in zip(readings, fits, strict=True) if fit >= _DOUBTED]
    formats = {each.format for each in readings}
    ways = tuple(way for way in all_fields(text) if not formats or way.format in formats)
    ranking = ranked(ways, readings, context)
    as_said = ranking.as_said
    if not ways and plausible:  # a format in which no slips are looked for
        as_said = tuple(fit / sum(fits) for fit in fits)
    listed = [
        *_alternatives(ranking, context.area),
        *_on_other_datums(text, readings, as_said, context),
    ]
    whole = sum(as_said) + sum(each.probability for each in listed)
    over = max(whole, 1.0)
    if over > 1.0:
        as_said = tuple(each / over for each in as_said)
        listed = [_scaled(each, 1.0 / over) for each in listed]
    shown = tuple(
        each
        for each in sorted(listed, key=lambda each: -each.probability)[:_MOST]
        if each.probability >= _LEAST_SHARE
    )
    other = max(1.0 - sum(as_said) - sum(each.probability for each in shown), 0.0)
    if plausible:
        ask = _which(plausible) if len(plausible) > 1 else None
        stake = _stake(plausible[0], ranking)
        return Doubt(fits, shown, ask, stake, None, as_said, other)
    why = against(readings[fits.index(max(fits))], context) if readings else None
    return Doubt(fits, shown, _question(shown), "", why, as_said, other)


def _scaled(each: Alternative, factor: float) -> Alternative:
    return Alternative(
        each.reading, each.mistake, each.probability * factor, each.text, each.spot, each.within_m
    )


def _alternatives(ranking: Ranking, area: Area) -> list[Alternative]:
    """The ranked places as the formats' own readers read their texts."""
    found = []
    for place in ranking.places[: _MOST + 2]:
        reading = _read(place, area)
        if reading is None or place.probability < _LEAST_SHARE:
            continue
        words = slip_words(place.before(), place.meant)
        mistake = "; and ".join(each for each in (place.kind, words) if each)
        spot = spot_of(place.fields, place.meant) if not place.exchanged else ""
        found.append(
            Alternative(
                reading,
                mistake or "read another way: nothing was misheard",
                place.probability,
                place.text,
                spot,
                place.within_m,
            )
        )
    return found


def _read(place: Place, area: Area) -> Reading | None:
    """The reading of a place's text that lies where the place does."""
    try:
        found = FORMATS[place.fields.format].readings(place.text, area)
    except FormatError:
        return None
    centre = Position(place.lat_deg, place.lon_deg)
    for each in found:
        if geodesic(centre, each.square.centre).distance_m <= max(each.square.size_m, 1.0):
            return each
    return None


def _on_other_datums(
    text: str, readings: Sequence[Reading], as_said: Sequence[float], context: Context
) -> list[Alternative]:
    """Degrees that may have been taken from an old map."""
    share = as_said[0] * SLIP_RATE / (1.0 - SLIP_RATE) if as_said else 0.0
    if share <= 0.0:
        return []
    before = max(plausibility(readings[0], context), 1e-9)
    return [
        Alternative(
            reading,
            f"wrong datum: it was on {name}",
            share * rate * plausibility(reading, context) / before,
            f"{text} {name}",
        )
        for name, rate, reading in on_another_datum(text, readings)
    ]


def _which(plausible: Sequence[Reading]) -> str:
    kinds = {each.format for each in plausible}
    if len(kinds) > 1:
        return "Ask in which form the position was given."
    sides = {(r.square.centre.lat_deg < 0, r.square.centre.lon_deg < 0) for r in plausible}
    if len(sides) > 1:
        return "Ask for the hemisphere: north or south, east or west."
    if kinds == {"latlon"}:
        return "Ask for the position again, with degrees, minutes and seconds by their names."
    return "Ask for the grid zone and the square letters."


def _question(ranking: Sequence[Alternative]) -> str:
    """The one question whose answer decides between what is likely."""
    if not ranking:
        return _AGAIN
    best = ranking[0]
    if best.mistake.startswith(("easting and", "latitude and")):
        return f"Ask which number was which: {best.mistake.split(': ')[1].split(';')[0]}?"
    if best.mistake.startswith("wrong hemisphere") and ";" not in best.mistake:
        return "Ask for the hemisphere: north or south, east or west."
    if best.mistake.startswith("wrong datum"):
        return "Ask for the datum of the map that the position was taken from."
    if best.mistake.startswith(("decimal degrees", "minutes for")):
        return "Ask whether these are decimal degrees, or degrees and minutes."
    spots: dict[str, float] = {}
    for each in ranking:
        if each.spot:
            spots[each.spot] = spots.get(each.spot, 0.0) + each.probability
    wanted = _MOST_OF_THEM * sum(spots.values())
    named: list[str] = []
    while spots and wanted > 0.0:
        spot = max(spots, key=lambda each: spots[each])
        wanted -= spots.pop(spot)
        named.append(spot)
    if not named:
        return _AGAIN
    if len(named) <= _MOST_SPOTS:
        return f"Ask for {' and for '.join(named)}."
    fields = {whole_field(each) for each in named}
    return f"Ask for {fields.pop()} again, figure by figure." if len(fields) == 1 else _AGAIN


def _stake(chosen: Reading, ranking: Ranking) -> str:
    """What one misheard figure would do that nothing here could notice."""
    for place in ranking.single:
        spot = spot_of(place.fields, place.meant)
        away = geodesic(chosen.square.centre, Position(place.lat_deg, place.lon_deg)).distance_m
        if spot:
            far = length_in_words(away)
            return f"If {spot} was misheard, it lies {far} off and still fits: read it back."
    return ""
