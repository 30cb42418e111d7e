"""Which places `plotter next` weighs: from its options to candidates, and how to say which."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import click

from plotter.cli.options import one_position, say
from plotter.errors import GeometryError
from plotter.exchange.map_layers import read_areas, read_lines
from plotter.fix.posterior import Posterior
from plotter.fix.reachable import Candidate, Reach, along, anywhere, inside, named
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position
from plotter.reports.names import key_of
from plotter.reports.report import Picture

__all__ = ["Ways", "candidates_of", "origins_of", "start_of"]

_SAME_PLACE_M = 50.0
_START = dt.datetime.min.replace(tzinfo=dt.UTC)


@dataclass(frozen=True, slots=True)
class Ways:
    """What the options say about where somebody can get to.

    Parameters
    ----------
    start : str or None
        Name or position of where the listener is.
    minutes, speed_kmh : float or None
        How long and how fast; both or none with a start.
    within, roads : Path or None
        Layer files with an area, with lines.
    places : str or None
        Names and positions, separated by semicolons.

    Raises
    ------
    click.UsageError
        If the options do not go together.
    """

    start: str | None
    minutes: float | None
    speed_kmh: float | None
    within: Path | None
    roads: Path | None
    places: str | None

    def __post_init__(self) -> None:
        """Reject options that do not go together."""
        times = {"--from": self.start, "--minutes": self.minutes, "--speed-kmh": self.speed_kmh}
        missing = [name for name, value in times.items() if value is None]
        if 0 < len(missing) < len(times):
            raise click.UsageError(
                f"--from, --minutes and --speed-kmh go together: {', '.join(missing)} is missing"
            )
        if sum(each is not None for each in (self.within, self.roads, self.places)) > 1:
            raise click.UsageError("give one of --within, --roads and --places, not several")


def origins_of(picture: Picture) -> dict[str, Position]:
    """Named places and stations, each where it was last reported, those in doubt left out."""
    # A line whose time could not be read stands where it stood in the file.
    in_order = sorted(
        picture.positions, key=lambda report: (report.said.time_utc or _START, report.said.line)
    )
    return {
        report.name: report.reading.square.centre
        for report in in_order
        if report.role in ("place", "station") and not report.out_of_place
    }


def start_of(ways: Ways, picture: Picture) -> tuple[str, Position] | None:
    """Where the listener is; what a position assumes is said."""
    return None if ways.start is None else (ways.start, _place(ways.start, picture))


def candidates_of(
    ways: Ways,
    picture: Picture,
    start: tuple[str, Position] | None,
    subject: str,
    after: Posterior,
) -> tuple[Sequence[Candidate], str]:
    """Candidates, and in words which they are; what positions assume is said.

    Raises
    ------
    PlotterError
        If a place cannot be read, a file not opened, or nothing is within reach.
    """
    reach, limit = None, ""
    if start is not None and ways.minutes is not None and ways.speed_kmh is not None:
        reach = Reach(start[1], ways.minutes / 60.0 * ways.speed_kmh * 1000.0)
        limit = (
            f" within {ways.minutes:g} min at {ways.speed_kmh:g} km/h of {start[0]}, "
            "as the crow flies"
        )
    if ways.within is not None:
        found, words = inside(read_areas(ways.within), reach=reach), f"in {ways.within.name}"
    elif ways.roads is not None:
        whole = Reach(after.chart.centre, after.leaves.radius_m)
        found, words = along(read_lines(ways.roads), reach or whole), f"along {ways.roads.name}"
    elif ways.places is not None:
        texts = [text.strip() for text in ways.places.split(";") if text.strip()]
        found = named(((text, _place(text, picture)) for text in texts), reach=reach)
        words = "named"
    elif reach is not None:
        found, words = anywhere(reach), "reachable"
    else:
        found, words = named(_fresh(picture, subject).items()), "of the file"
    if not found:
        raise GeometryError(
            f"no place to listen from is left ({words}{limit}): give a longer time, a wider area, "
            "or other places"
        )
    return found, f"{len(found)} {'place' if len(found) == 1 else 'places'} {words}{limit}"


def _place(text: str, picture: Picture) -> Position:
    known = {key_of(name): position for name, position in origins_of(picture).items()}
    if key_of(text) in known:
        return known[key_of(text)]
    position, assumed = one_position(text, picture.area)
    for why in assumed:
        say(f"{text}: assumed {why}: read it back.")
    return position


def _fresh(picture: Picture, subject: str) -> dict[str, Position]:
    """Known places where no bearing was taken yet: a second one would share the first's errors."""
    used = [each.observer for each in picture.bearings if key_of(each.name) == key_of(subject)]
    return {
        name: position
        for name, position in origins_of(picture).items()
        if all(geodesic(position, observer).distance_m > _SAME_PLACE_M for observer in used)
    }
