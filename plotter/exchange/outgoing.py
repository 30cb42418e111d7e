"""What a log says as a file for others: which writer makes it is decided here alone."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from plotter.errors import LogError
from plotter.exchange.features import Feature
from plotter.exchange.geojson import write_geojson
from plotter.exchange.geopackage import write_geopackage
from plotter.exchange.gpx import write_gpx
from plotter.exchange.kml import write_kml
from plotter.exchange.messages import write_messages
from plotter.exchange.reports_csv import write_reports
from plotter.log.report import Said

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
    features: Sequence[Feature], kind: str, *, title: str, written_utc: dt.datetime
) -> bytes:
    """Features as the bytes of one of `KINDS_OUT`, but a GeoPackage.

    Parameters
    ----------
    features : sequence of Feature
        From `plotter.exchange.features.features_of`.
    kind : str
        What to write.
    title : str
        Of the incident.
    written_utc : datetime
        The time to put in it, aware.

    Raises
    ------
    LogError
        If there is no such kind.
    """
    if kind == "geojson":
        return write_geojson(features)
    if kind == "gpx":
        return write_gpx(features, title=title, written_utc=written_utc)
    if kind == "kml":
        return write_kml(features, title=title, written_utc=written_utc)
    if kind == "messages":
        return ("\n".join(write_messages(features)) + "\n").encode()
    if kind == "csv":
        return write_reports(
            _said(feature) for feature in features if not feature.computed
        ).encode()
    raise LogError(f"nothing is written as {kind!r}: expected one of {', '.join(KINDS_OUT)}")


def write_file(
    features: Sequence[Feature], path: Path, kind: str, *, title: str, written_utc: dt.datetime
) -> None:
    """Write features to a file; see `as_bytes`.

    Raises
    ------
    LogError
        If it cannot be written.
    """
    if kind == "gpkg":
        write_geopackage(features, path)
        return
    data = as_bytes(features, kind, title=title, written_utc=written_utc)
    try:
        path.write_bytes(data)
    except OSError as error:
        raise LogError(f"cannot write {str(path)!r}: {error.strerror}") from error


def _said(feature: Feature) -> Said:
    return Said(0, feature.said_utc, feature.sender, feature.subject, feature.report, feature.name)
