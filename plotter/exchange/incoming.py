"""Any file of reports as entries of the log: which reader takes it is decided here alone."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from plotter.errors import LogError
from plotter.exchange.data_lines import LineReader, entries_of_lines
from plotter.exchange.geojson import read_geojson
from plotter.exchange.geopackage import read_geopackage
from plotter.exchange.gpx import read_gpx
from plotter.exchange.guarded import lines_of, read_bounded
from plotter.exchange.kml import read_kml, read_kmz
from plotter.exchange.log_entries import entries_of_text
from plotter.exchange.messages import joined
from plotter.log.events.event import Entry

__all__ = ["completed", "entries_of_any", "remarks_of"]

_WHOLE: Final = {
    ".gpx": read_gpx, ".kml": read_kml, ".kmz": read_kmz, ".geojson": read_geojson,
}  # fmt: skip
_FEW_BYTES: Final = 4_000_000  # messages in parts are put together in files up to this


def entries_of_any(
    path: Path,
    *,
    sender: str = "",
    operator: str = "",
    channel: str = "",
    near_utc: dt.datetime | None = None,
    every_s: float = 0.0,
) -> tuple[list[Entry], tuple[str, ...]]:
    """Entries of a file, by its ending.

    Parameters
    ----------
    path : Path
        A report file (.csv), GPX, KML, KMZ, GeoJSON, GeoPackage of ours, or lines of text: a
        receiver's sentences, packets, messages, plain words.
    sender : str
        Who is taken to have said what does not say so.
    operator, channel : str
        For entries that do not say.
    near_utc : datetime or None
        When it came in: completes the days of packets and messages.
    every_s : float
        Least time between two positions of a receiver.

    Returns
    -------
    entries : list of Entry
        Each with its file and line, in order; what could not be read is among them, with the
        reason.
    remarks : tuple of str
        What is not among them, and why.

    Raises
    ------
    LogError
        If the file cannot be opened, is none of its kind, or may hide a trap.
    """
    ending = path.suffix.lower()
    if ending == ".json":
        # Lines of JSON for the log, or GeoJSON under its other name.
        data = read_bounded(path)
        try:
            found = read_geojson(data, path.name, sender=sender)
        except LogError:
            found = entries_of_text(data)
        return completed(found, operator, channel), ()
    if ending in _WHOLE:
        found = _WHOLE[ending](read_bounded(path), path.name, sender=sender)
        return completed(found, operator, channel), ()
    if ending == ".gpkg":
        return completed(read_geopackage(path), operator, channel), ()
    if ending == ".csv":
        found = entries_of_text(read_bounded(path), name=path.name)
        return completed(found, operator, channel), ()
    lines = LineReader(path.name, sender, operator, channel, near_utc, every_s)
    numbered = list(lines_of(path)) if path.stat().st_size < _FEW_BYTES else None
    if numbered is not None:
        cuts = {number for number, _, cut in numbered if cut}
        whole = joined((number, text) for number, text, _ in numbered)
        entries = entries_of_lines(((n, text, n in cuts) for n, text in whole), lines)
    else:
        entries = entries_of_lines(lines_of(path), lines)
    return entries, remarks_of(lines)


def completed(entries: Iterable[Entry], operator: str, channel: str) -> list[Entry]:
    """Entries with who wrote them and how they came in, where they do not say it themselves."""
    return [
        replace(each, operator=each.operator or operator, channel=each.channel or channel)
        for each in entries
    ]


def remarks_of(lines: LineReader) -> tuple[str, ...]:
    """What a reader of lines passed over, in words."""
    said = []
    if lines.repeats:
        said.append(f"{lines.repeats} sentences repeat a place and time and were not kept")
    if lines.without_place:
        said.append(f"{lines.without_place} sentences carry no position and were not kept")
    return tuple(said)
