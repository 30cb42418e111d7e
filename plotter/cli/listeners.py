"""Which places `plotter next` weighs: from its options to candidates, and how to say which."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import click

from plotter.cli.named import origin_lines, the_place
from plotter.errors import GeometryError
from plotter.exchange.map_layers import read_areas, read_lines
from plotter.fix.posterior import Posterior
from plotter.fix.reachable import Candidate, Reach, along, anywhere, inside, named
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.reports.names import key_of
from plotter.reports.report import Picture, Role
from plotter.reports.whereabouts import Origin, whereabouts_of

__all__ = ["Ways", "candidates_of", "origins_of", "start_of"]

_SAME_PLACE_M = 50.0
_ROLES: frozenset[Role] = frozenset(("place", "station"))


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
        Layer files with an area, with lines; for roads also an OpenStreetMap extract.
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
    """Named places and stations, each at its latest sound place; those in doubt are left out."""
    return {name: origin.position for name, origin in _origins(picture).items()}


def _origins(picture: Picture) -> dict[str, Origin]:
    return dict(whereabouts_of(picture).latest(_ROLES))


def start_of(ways: Ways, picture: Picture) -> tuple[str, Origin] | None:
    """Where the listener is."""
    if ways.start is None:
        return None
    return ways.start, the_place(ways.start, whereabouts_of(picture))


def candidates_of(
    ways: Ways,
    picture: Picture,
    start: tuple[str, Origin] | None,
    subject: str,
    after: Posterior,
) -> tuple[Sequence[Candidate], str, list[str]]:
    """Candidates, in words which they are, and what is to be said of the places they rest on.

    Raises
    ------
    PlotterError
        If a place cannot be read, a file not opened, or nothing is within reach.
    """
    reach, limit = None, ""
    told = origin_lines(*start) if start else []
    if start is not None and ways.minutes is not None and ways.speed_kmh is not None:
        reach = Reach(start[1].position, ways.minutes / 60.0 * ways.speed_kmh * 1000.0)
        limit = (
            f" within {ways.minutes:g} min at {ways.speed_kmh:g} km/h of {start[0]}, "
            "as the crow flies"
        )
    if ways.within is not None:
        found, words = inside(read_areas(ways.within), reach=reach), f"in {ways.within.name}"
    elif ways.roads is not None:
        whole = Reach(after.chart.centre, after.leaves.radius_m)
        within = reach or whole
        found, words = along(_roads(ways.roads, within), within), f"along {ways.roads.name}"
    elif ways.places is not None:
        texts = [text.strip() for text in ways.places.split(";") if text.strip()]
        known = whereabouts_of(picture)
        places = [(text, the_place(text, known)) for text in texts]
        told += [line for place in places for line in origin_lines(*place)]
        found = named(((text, place.position) for text, place in places), reach=reach)
        words = "named"
    elif reach is not None:
        found, words = anywhere(reach), "reachable"
    else:
        fresh = _fresh(picture, subject)
        told += [question for origin in fresh.values() for question in origin.questions]
        told += [
            f"{name} is left out: every place reported of it is in doubt."
            for name in whereabouts_of(picture).doubted(_ROLES)
        ]
        found = named((name, origin.position) for name, origin in fresh.items())
        words = "of the file"
    if not found:
        raise GeometryError(
            f"no place to listen from is left ({words}{limit}): give a longer time, a wider area, "
            "or other places"
        )
    count = f"{len(found)} {'place' if len(found) == 1 else 'places'}"
    return found, f"{count} {words}{limit}", told


def _roads(path: Path, within: Reach) -> tuple[tuple[Position, ...], ...]:
    """Lines of a layer, or the roads, tracks and paths of an OpenStreetMap extract."""
    if not path.name.lower().endswith((".pbf", ".osm")):
        return read_lines(path)
    from plotter.tiles.build import road_lines  # loaded late: it needs the extra for maps

    return road_lines(path, Area(within.start, within.radius_m))


def _fresh(picture: Picture, subject: str) -> dict[str, Origin]:
    """Known places where no bearing was taken yet: a second one would share the first's errors."""
    used = [each.observer for each in picture.bearings if key_of(each.name) == key_of(subject)]
    return {
        name: origin
        for name, origin in _origins(picture).items()
        if all(geodesic(origin.position, observer).distance_m > _SAME_PLACE_M for observer in used)
    }
