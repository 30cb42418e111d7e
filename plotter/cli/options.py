"""Options that several commands share, and how their texts become values."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotter.cli.echo import say
from plotter.errors import FormatError, PlotterError
from plotter.geodesy.position import Area, Position
from plotter.saying import harmless_json
from plotter.voice.spoken import reading_alone

if TYPE_CHECKING:
    from plotter.tiles import Archive

__all__ = [
    "AREA",
    "DATE",
    "PLACES",
    "TILES",
    "TIME",
    "TRUST",
    "as_json",
    "one_position",
    "say",
    "stored_maps",
    "text_argument",
]


class _AreaType(click.ParamType):  # type: ignore[type-arg]  # generic only in newer releases
    name = "LAT,LON,RADIUS_KM"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Area:
        if isinstance(value, Area):
            return value
        where, _, radius_km = str(value).rpartition(",")
        try:
            radius_m = float(radius_km) * 1000.0
            parts = where.split(",")
            try:
                centre = Position(*(float(part) for part in parts))
            except (TypeError, ValueError):
                centre = one_position(where, None)[0]  # 38.42S,22.35W or a reference
            return Area(centre, radius_m)
        except (ValueError, PlotterError) as error:
            self.fail(
                f"{value!r}: expected latitude,longitude,radius in km, as in 48.85,2.35,30 or "
                f"38.42S,22.35W,25 ({error})",
                param,
                ctx,
            )


class _DateType(click.ParamType):  # type: ignore[type-arg]  # the same
    name = "YYYY-MM-DD"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> dt.date:
        if isinstance(value, dt.date):
            return value
        try:
            return dt.date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r}: expected a day such as 2026-03-14", param, ctx)


class _TimeType(click.ParamType):  # type: ignore[type-arg]  # the same
    name = "YYYY-MM-DDTHH:MMZ"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> dt.datetime:
        if isinstance(value, dt.datetime):
            return value
        try:
            time = dt.datetime.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r}: expected a UTC time such as 2026-03-14T09:24Z", param, ctx)
        if time.tzinfo is None:
            self.fail(f"{value!r} does not say its zone: put Z after it if it is UTC", param, ctx)
        return time.astimezone(dt.UTC)


AREA = _AreaType()
DATE = _DateType()
TILES = click.option(
    "--tiles",
    type=click.Path(path_type=Path),
    default=Path("tiles_cache"),
    show_default=True,
    help="Folder with map archives.",
)
TIME = _TimeType()
PLACES = click.option(
    "--places",
    "known_file",
    metavar="FILE|LOG",
    help="A report file or a log: whose names and area are known.",
)


def text_argument(words: tuple[str, ...]) -> str:
    """Arguments that a shell split at spaces, as the one text that was meant."""
    return " ".join(words)


def one_position(text: str, area: Area | None) -> tuple[Position, tuple[str, ...]]:
    """Position of a text with exactly one meaning, and what it assumes.

    Raises
    ------
    FormatError
        If the text has no meaning or more than one.
    """
    found = reading_alone(text, area)
    if len(found) > 1:
        meanings = "; ".join(", ".join(each.assumed) for each in found)
        raise FormatError(f"{text!r} has {len(found)} meanings ({meanings}): say which", text)
    return found[0].square.centre, found[0].assumed


def as_json(value: dict[str, Any]) -> None:
    """Print a value as JSON on stdout."""
    import json  # imported late: most calls print lines

    click.echo(harmless_json(json.dumps(value, ensure_ascii=False, indent=2)))


def stored_maps(tiles: Path) -> "tuple[Archive, ...]":
    """Map archives in a folder, none where there is no such folder; those left out are said."""
    from plotter.tiles import archives_in

    if not tiles.is_dir():
        return ()
    found = archives_in(tiles)
    for refused in found.refused:
        say(f"map archive left out: {refused.reason}")
    return found.archives


TRUST = click.option(
    "--trust-errors",
    "trust_errors",
    is_flag=True,
    help="Take every stated ± of a bearing at its word, as of calibrated instruments.",
)
"""For every command that computes a fix."""
