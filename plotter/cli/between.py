"""`plotter between A B`: distance, and bearings from every north, as sure as both places are."""

import dataclasses
import datetime as dt
import math
from itertools import product

import click

from plotter.cli.echo import echo
from plotter.cli.named import known_in
from plotter.cli.options import AREA, DATE, PLACES, as_json, say
from plotter.cli.words import bearing_words, length_words
from plotter.geodesy.leg import Leg, leg
from plotter.geodesy.position import Area, Square
from plotter.geodesy.spread import WaySpread, way_spread
from plotter.reports.whereabouts import Origin

__all__ = ["command"]


@dataclasses.dataclass(frozen=True, slots=True)
class _End:
    """One meaning of an end: A, or A1, A2 ... where it has several."""

    name: str
    square: Square
    words: str
    assumed: tuple[str, ...] = ()
    sigma_m: float = 0.0


@dataclasses.dataclass(frozen=True, slots=True)
class _Way:
    start: _End
    end: _End
    leg: Leg
    spread: WaySpread


@click.command("between", context_settings={"ignore_unknown_options": True})
@click.argument("a")
@click.argument("b")
@click.option("--date", type=DATE, help="Day for the declination; today unless given.")
@click.option("--height-m", type=float, default=0.0, help="Height of A above the ellipsoid.")
@click.option("--area", type=AREA, help="Area of operations, to complete what was left unsaid.")
@PLACES
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
def command(
    a: str,
    b: str,
    date: dt.date | None,
    height_m: float,
    area: Area | None,
    known_file: str | None,
    *,
    json_output: bool,
) -> None:
    """Distance and bearings from A to B, each quoted as one argument.

    A and B are positions, or with --places names of a report file or a log. Where one can mean
    several places each is shown, and every figure is as sure as both places are.
    """
    known = known_in(known_file, area)
    found = {"A": known.find(a), "B": known.find(b)}
    starts, ends = (_ends(name, origin) for name, origin in found.items())
    day = date or dt.datetime.now(dt.UTC).date()
    ways = [
        _Way(
            start,
            end,
            leg(start.square.centre, end.square.centre, day, height_m),
            way_spread(start.square, end.square, start.sigma_m, end.sigma_m),
        )
        for start, end in product(starts, ends)
    ]
    if json_output:
        as_json(_data(ways, day))
        return
    for way in ways:
        echo("\n".join(_lines(way, day, titled=len(ways) > 1)))
    for line in dict.fromkeys(_asked(found, ways)):
        say(line)


def _ends(name: str, origin: Origin) -> list[_End]:
    """Every meaning of an end."""
    meanings = [(each.square, each.assumed) for each in origin.readings] or [
        (square, ()) for square in (origin.square, *origin.others)
    ]
    return [
        _End(
            name if len(meanings) == 1 else f"{name}{number}",
            square,
            origin.as_of if origin.named else ", ".join(assumed),
            assumed,
            origin.sigma_m,
        )
        for number, (square, assumed) in enumerate(meanings, start=1)
    ]


def _lines(way: _Way, day: dt.date, *, titled: bool) -> list[str]:
    found, spread = way.leg, way.spread
    lines = [f"{way.start.name} to {way.end.name}"] if titled else []
    lines += [f"{end.name:14} {end.words}" for end in (way.start, way.end) if _worth(end, titled)]
    middles = f"{length_words(found.distance_m)} ({found.distance_m:.1f} m) between the middles"
    rhumb = bearing_words(found.rhumb_bearing_deg, "true")
    back = bearing_words(found.back_bearing_true_deg, "true")
    return [
        *lines,
        f"distance       {_range(spread)}; {middles}",
        f"direction      {_directions(spread)}",
        f"bearing        {bearing_words(found.bearing_true_deg, 'true')} between the middles",
        f"               {bearing_words(found.bearing_magnetic_deg, 'magnetic')} on {day}",
        f"               {bearing_words(found.bearing_grid_deg, 'grid')}",
        f"back bearing   {back} from {way.end.name}",
        f"rhumb line     {length_words(found.rhumb_distance_m)} on {rhumb}",
    ]


def _worth(end: _End, titled: bool) -> bool:  # noqa: FBT001 - as the caller has it
    """Whether an end's words are shown above: a name's; with several meanings what tells them."""
    return bool(end.words) and (titled or not end.assumed)


def _directions(spread: WaySpread) -> str:
    if spread.from_deg is None or spread.to_deg is None:
        return "any"
    return f"{_bearing(spread.from_deg, up=False)}° to {_bearing(spread.to_deg, up=True)}° true"


def _range(spread: WaySpread) -> str:
    """Both ends of a range of lengths, rounded outward to two figures of its width."""
    width = max(spread.most_m - spread.least_m, spread.most_m / 1e6)
    step = 10.0 ** (math.floor(math.log10(width)) - 1)
    least = math.floor(spread.least_m / step) * step
    most = math.ceil(spread.most_m / step) * step
    unit, name = (1000.0, "km") if most >= 1000.0 else (1.0, "m")
    places = max(0, -round(math.log10(step / unit)))
    figures = [f"{value / unit:.{places}f}" for value in (least, most)]
    while all("." in figure and figure[-1] in "0." for figure in figures):
        figures = [figure[:-1] for figure in figures]
    return f"{'0' if not least else figures[0]} to {figures[1]} {name}"


def _bearing(bearing_deg: float, *, up: bool) -> str:
    """A bearing in tenths, rounded outward."""
    tenths = math.ceil(bearing_deg * 10.0) if up else math.floor(bearing_deg * 10.0)
    return f"{tenths / 10.0 % 360.0:05.1f}"


def _asked(found: dict[str, Origin], ways: list[_Way]) -> list[str]:
    """What is assumed, what is in doubt, and what is to be asked."""
    lines: list[str] = []
    for name, origin in found.items():
        meanings = len(origin.readings or (origin.square, *origin.others))
        if origin.named:
            lines += origin.questions
        elif meanings > 1:
            lines.append(f"{name} has {meanings} meanings: ask which one is meant.")
        else:
            lines += [f"Assumed {name}: {why}: read it back." for why in origin.assumed]
    return lines + [warning for way in ways for warning in way.leg.warnings]


def _data(ways: list[_Way], day: dt.date) -> dict[str, object]:
    """The one way, or with several meanings no way of its own but each of them."""
    rows: list[dict[str, object]] = [
        {
            "from": way.start.name,
            "to": way.end.name,
            **dataclasses.asdict(way.leg),
            "distance_least_m": way.spread.least_m,
            "distance_most_m": way.spread.most_m,
            "bearing_true_from_deg": way.spread.from_deg,
            "bearing_true_to_deg": way.spread.to_deg,
            "assumed": [
                f"{each.name}: {why}" for each in (way.start, way.end) for why in each.assumed
            ],
            "named": {
                each.name: each.words
                for each in (way.start, way.end)
                if each.words and not each.assumed
            },
        }
        for way in ways
    ]
    first = rows[0] if len(rows) == 1 else dict.fromkeys(rows[0])
    first = {key: value for key, value in first.items() if key not in ("from", "to", "named")}
    return {**first, "date": day.isoformat(), "ways": rows}
