"""What a log says as a file for others: which writer makes it is decided here alone."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from plotter.errors import LogError
from plotter.exchange.features import features_of
from plotter.exchange.geojson import write_geojson
from plotter.exchange.geopackage import write_geopackage
from plotter.exchange.gpx import write_gpx
from plotter.exchange.kml import write_kml
from plotter.exchange.messages import write_messages
from plotter.exchange.reports_csv import write_reports
from plotter.fix import Fix
from plotter.log.events.state import State
from plotter.log.incident import said_lines

__all__ = ["KINDS_OUT", "as_bytes", "kind_out", "write_file"]

KINDS_OUT: Final = ("csv", "geojson", "gpx", "kml", "messages", "gpkg")
"""Kinds of file that are written."""

_ENDINGS: Final = {
    ".csv": "csv", ".geojson": "geojson", ".json": "geojson", ".gpx": "gpx", ".kml": "kml",
    ".txt": "messages", ".gpkg": "gpkg",
}  # fmt: skip


def kind_out(path: Path) -> str:
    """Kind of file by its ending.

    Raises
    ------
    LogError
        If the ending is not one of them.
    """
    kind = _ENDINGS.get(path.suffix.lower())
    if kind is None:
        raise LogError(
            f"cannot tell what {path.name!r} is to be: end it with {', '.join(_ENDINGS)}"
        )
    return kind


def as_bytes(
    state: State,
    kind: str,
    fixes: Sequence[tuple[str, Fix]] = (),
    *,
    title: str,
    written_utc: dt.datetime,
) -> bytes:
    """What a log says as the bytes of one of `KINDS_OUT`, but a GeoPackage.

    Parameters
    ----------
    state : State
        Of the log.
    kind : str
        What to write. A report file has the reports in the order and with the times by which the
        log itself is read, for it cannot say that nobody stated when something was said; what is
        computed is not in it.
    fixes : sequence of (str, Fix)
        With the name of what each is a fix of.
    title : str
        Of the incident.
    written_utc : datetime
        The time to put in it, aware.

    Raises
    ------
    LogError
        If there is no such kind.
    """
    if kind == "csv":
        return write_reports(said_lines(state)).encode()
    features = features_of(state, fixes)
    if kind == "geojson":
        return write_geojson(features)
    if kind == "gpx":
        return write_gpx(features, title=title, written_utc=written_utc)
    if kind == "kml":
        return write_kml(features, title=title, written_utc=written_utc)
    if kind == "messages":
        return ("\n".join(write_messages(features)) + "\n").encode()
    raise LogError(f"nothing is written as {kind!r}: expected one of {', '.join(KINDS_OUT)}")


def write_file(
    state: State,
    path: Path,
    kind: str,
    fixes: Sequence[tuple[str, Fix]] = (),
    *,
    title: str,
    written_utc: dt.datetime,
) -> None:
    """Write what a log says to a file; see `as_bytes`.

    Raises
    ------
    LogError
        If it cannot be written.
    """
    if kind == "gpkg":
        write_geopackage(features_of(state, fixes), path)
        return
    data = as_bytes(state, kind, fixes, title=title, written_utc=written_utc)
    try:
        path.write_bytes(data)
    except OSError as error:
        raise LogError(f"cannot write {str(path)!r}: {error.strerror}") from error
