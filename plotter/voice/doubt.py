"""How plausible a reading is, what else may have been meant, and the one question that settles it.

The as-said reading is never replaced. Where it is plausible it stays first; where it is not, the
alternatives are ranked by the chance of the slip times the chance of the place.
"""

import itertools
import math
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
from plotter.voice.mistakes import Meant, meant_texts
from plotter.voice.old_datums import on_another_datum
from plotter.voice.place_of_slip import figure_words
from plotter.voice.spoken import spoken_reading

__all__ = ["Alternative", "Context", "Doubt", "Weighed", "doubt", "plausibility", "weigh"]

# Formats whose characters people say: slips are looked for in these.
_SPOKEN: Final = ("mgrs", "utm", "maidenhead", "latlon")
# A reading below this is doubted.
_DOUBTED: Final = 0.5
# Chance that a message holds a slip at all: assumed. It only scales against the as-said reading.
_SLIP_RATE: Final = 0.1
_LEAST_SHARE: Final = 1e-3
_MOST: Final = 10
_SHAKE_M: Final = 100.0


@dataclass(frozen=True, slots=True)
class Context:
    """What is known of where a report can come from.

    Parameters
    ----------
    area : Area
        The area of operations.
    last : Position or None
        Where the sender was last.
    elapsed_s : float
        Seconds since then.
    top_speed_m_per_s : float
        Nobody moves faster.
    """

    area: Area
    last: Position | None = None
    elapsed_s: float = 0.0
    top_speed_m_per_s: float = 40.0

    @property
    def reach_m(self) -> float:
        """How far the sender can have come."""
        return self.elapsed_s * self.top_speed_m_per_s


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
        Among all that may have been meant, as-said included.
    text : str
        The text that would have been meant.
    """

    reading: Reading
    mistake: str
    probability: float
    text: str

    def data(self) -> dict[str, object]:
        """As JSON data."""
        square = self.reading.square
        return {
            "lat_deg": square.centre.lat_deg,
            "lon_deg": square.centre.lon_deg,
            "size_m": square.size_m,
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
        One for each as-said reading, 0 to 1.
    alternatives : tuple of Alternative
        Best first.
    ask : str or None
        The one question that settles it; None where nothing needs asking.
    stake : str
        What a single misheard figure could do to a plausible reading, and the cure.
    """

    plausibility: tuple[float, ...]
    alternatives: tuple[Alternative, ...]
    ask: str | None
    stake: str


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
    found = doubt(_characters(text), readings, context)
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


def plausibility(reading: Reading, context: Context) -> float:
    """How well a reading fits the area, and the sender's last place, 0 to 1.

    Inside both it is 1; beyond it falls by a factor e for each tenth of the radius or the reach.
    """
    square = reading.square
    beyond = geodesic(context.area.centre, square.centre).distance_m - context.area.radius_m
    fit = _fall(beyond - square.size_m, 0.1 * context.area.radius_m)
    if context.last is not None:
        moved = geodesic(context.last, square.centre).distance_m
        slack = square.size_m + _SHAKE_M
        fit *= _fall(moved - context.reach_m - slack, 0.1 * context.reach_m + _SHAKE_M)
    return fit


def _fall(beyond_m: float, scale_m: float) -> float:
    return 1.0 if beyond_m <= 0 else math.exp(-min(beyond_m / scale_m, 700.0))


def doubt(text: str, readings: Sequence[Reading], context: Context) -> Doubt:
    """Weigh a text: its own readings first, then what one slip may have made of another.

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
    ranked = _ranked(text, readings, context)
    shown = tuple(each for each in ranked[:_MOST] if each.probability >= _LEAST_SHARE)
    if plausible:
        ask = _which(plausible) if len(plausible) > 1 else None
        return Doubt(fits, shown, ask, _stake(text, plausible[0], ranked, context))
    return Doubt(fits, shown, _question(text, shown), "")


def _ranked(text: str, readings: Sequence[Reading], context: Context) -> tuple[Alternative, ...]:
    names = [r.format for r in readings if r.format in _SPOKEN] or list(_SPOKEN)
    said = {_key(each) for each in readings}
    found: dict[tuple[float, float, float], tuple[float, float, Reading, Meant]] = {}
    candidates = itertools.chain(
        ((m, r) for m in meant_texts(text) for r in _read(m.text, names, context)),
        on_another_datum(text, readings),
    )
    for meant, reading in candidates:
        key = _key(reading)
        weight = meant.chance * _prior(reading, context)
        if key in said or weight <= 0:
            continue
        total, best, kept_reading, kept_meant = found.get(key, (0.0, 0.0, reading, meant))
        if weight > best:
            best, kept_reading, kept_meant = weight, reading, meant
        found[key] = (total + weight, best, kept_reading, kept_meant)
    as_said = sum(_prior(each, context) for each in readings) * (1 - _SLIP_RATE) / _SLIP_RATE
    whole = as_said + sum(total for total, *_ in found.values())
    if whole <= 0:
        return ()
    ranked = sorted(found.values(), key=lambda each: (-each[0], each[3].text))
    return tuple(
        Alternative(reading, f"{meant.kind}: {meant.words}", total / whole, meant.text)
        for total, _, reading, meant in ranked
    )


def _read(text: str, names: Sequence[str], context: Context) -> list[Reading]:
    for name in names:
        try:
            if found := FORMATS[name].readings(text, context.area):
                return found
        except FormatError:
            continue
    return []


def _key(reading: Reading) -> tuple[float, float, float]:
    square = reading.square
    return (
        round(square.centre.lat_deg, 9),
        round(square.centre.lon_deg, 9),
        round(square.size_m, 3),
    )


def _prior(reading: Reading, context: Context) -> float:
    """Relative chance of a place before anything was said: plausible, and nearer is likelier."""
    fit = plausibility(reading, context)
    if fit < 1e-6 or context.last is None:
        return fit if fit >= 1e-6 else 0.0
    moved = geodesic(context.last, reading.square.centre).distance_m
    return fit * math.exp(-moved / (0.5 * context.reach_m + _SHAKE_M))


def _which(plausible: Sequence[Reading]) -> str:
    kinds = {each.format for each in plausible}
    if len(kinds) > 1:
        return "Ask in which form the position was given."
    sides = {(r.square.centre.lat_deg < 0, r.square.centre.lon_deg < 0) for r in plausible}
    if len(sides) > 1:
        return "Ask for the hemisphere: north or south, east or west."
    return "Ask for the grid zone and the square letters."


def _question(text: str, ranked: Sequence[Alternative]) -> str:
    if not ranked:
        return "Ask for the whole position again, figure by figure."
    best = ranked[0]
    if best.mistake.startswith(("easting", "latitude")):
        return f"Ask which number was which: {best.mistake.split(': ')[1]}?"
    if best.mistake.startswith("wrong hemisphere"):
        return "Ask for the hemisphere: north or south, east or west."
    if best.mistake.startswith("wrong datum"):
        return "Ask for the datum of the map that the position was taken from."
    if best.mistake.startswith(("decimal", "minutes")):
        return "Ask whether these are decimal degrees, or degrees and minutes."
    spot = figure_words(text.upper(), best.text)
    if spot:
        return f"Ask for {spot}."
    return "Ask for the whole position again, figure by figure."


def _stake(text: str, chosen: Reading, ranked: Sequence[Alternative], context: Context) -> str:
    """What one misheard figure would do that nothing here could notice."""
    worst: tuple[float, str] = (0.0, "")
    for each in ranked:
        fits = plausibility(each.reading, context) >= _DOUBTED
        if fits and each.mistake.startswith("misheard"):
            moved = geodesic(chosen.square.centre, each.reading.square.centre).distance_m
            spot = figure_words(text.upper(), each.text)
            if spot and moved > worst[0]:
                worst = (moved, spot)
    if not worst[1]:
        return ""
    far = f"{worst[0] / 1000:.1f} km" if worst[0] >= 1000 else f"{worst[0]:.0f} m"
    return f"If {worst[1]} was misheard, it lies {far} off and still fits: read it back."
