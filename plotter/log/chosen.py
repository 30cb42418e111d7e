"""A reading as data for the log, and in words: what a report was taken to mean when it came in."""

import math

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.geodesy.position import Position
from plotter.log.events.event import Chosen
from plotter.reports.lengths import length_in_words
from plotter.reports.report import (
    BearingReport,
    DistanceReport,
    GroundReport,
    PositionReport,
    WatchReport,
)
from plotter.voice.script import complete_text

__all__ = ["assumed_of_bearing", "chosen_of", "chosen_square"]


def chosen_of(
    report: PositionReport | BearingReport | DistanceReport | WatchReport | GroundReport,
) -> tuple[Chosen | None, str]:
    """The reading as data, and in words."""
    if isinstance(report, PositionReport):
        chosen = chosen_square(report.reading)
        return chosen, f"{report.name}: {chosen.text}, a square of {length_in_words(chosen.size_m)}"
    if isinstance(report, GroundReport):
        return None, f"ground, for {report.name or 'everything that is looked for'}"
    at = report.observer
    if isinstance(report, BearingReport):
        text = f"{report.bearing_true_deg:05.1f} true ± {report.sigma_deg:.3g}"
        north = report.north or "north not stated"
        words = (
            f"{report.name}: bearing {report.bearing_deg:03.0f}° {north}, {text}, "
            f"from {report.observer_from}"
        )
        size_m = report.observer_sigma_m * math.sqrt(12.0)
        return _taken_at("bearing", text, at, size_m), words
    if isinstance(report, DistanceReport):
        text = f"{report.distance_m:.0f} m"
        words = f"{report.name}: {text} from {report.observer_from}"
        size_m = report.observer_sigma_m * math.sqrt(12.0)
        return _taken_at("distance", text, at, size_m), words
    heard = "heard" if report.watch.heard else "not heard"
    words = f"{report.name}: {heard} from {report.observer_from}"
    return _taken_at(heard, heard, at), words


def chosen_square(reading: Reading) -> Chosen:
    """A position's reading as data."""
    square = reading.square
    # To a tenth of a millimetre: a log is read much quicker than with all figures of a double.
    return Chosen(
        reading.format,
        _canonical(reading),
        round(square.centre.lat_deg, 9),
        round(square.centre.lon_deg, 9),
        round(square.size_m, 6),
    )


def _taken_at(kind: str, text: str, at: Position, size_m: float = 0.0) -> Chosen:
    return Chosen(kind, text, round(at.lat_deg, 9), round(at.lon_deg, 9), round(size_m, 6))


def _canonical(reading: Reading) -> str:
    """The square as a text that says it all, or its centre where no format can write it."""
    try:
        return complete_text(reading)
    except FormatError:
        centre = reading.square.centre
        return f"{centre.lat_deg:.5f}, {centre.lon_deg:.5f}"


def assumed_of_bearing(report: BearingReport) -> tuple[str, ...]:
    """What the reading of a bearing rests on beyond its words."""
    error = () if report.sigma_stated else (f"an error of ± {report.sigma_deg:.0f}°",)
    return error if report.north else ("true north, as no north was stated", *error)
