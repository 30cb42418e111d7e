"""Any file of reports as entries of the log: which reader takes it is decided here alone."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
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
from plotter.exchange.tally import Tally
from plotter.log.events.event import Entry

__all__ = ["Imported", "completed", "entries_of_any", "imported"]

_WHOLE: Final = {
    ".gpx": read_gpx, ".kml": read_kml, ".kmz": read_kmz, ".geojson": read_geojson,
}  # fmt: skip
_FEW_BYTES: Final = 4_000_000  # a file is looked through before its lines are taken, up to this


@dataclass(frozen=True, slots=True)
class Imported:
    """What came out of a file.

    Parameters
    ----------
    entries : list of Entry
        Each with its file and line, in order; what could not be read is among them, with the
        reason.
    tally : Tally
        What was taken and what was left, by kind and number.
    """

    entries: list[Entry]
    tally: Tally


def imported(
    path: Path,
    *,
    sender: str = "",
    operator: str = "",
    channel: str = "",
    near_utc: dt.datetime | None = None,
    every_s: float = 0.0,
) -> Imported:
    """Entries of a file, by its ending.

    Parameters
    ----------
    path : Path
        A report file (.csv), GPX, KML, KMZ, GeoJSON, GeoPackage, or lines of text: a receiver's
        sentences, packets, messages, plain words.
    sender : str
        Who is taken to have said what does not say so.
    operator, channel : str
        For entries that do not say.
    near_utc : datetime or None
        When it came in: completes the days of packets and messages.
    every_s : float
        Least time between two positions of a receiver.

    Raises
    ------
    LogError
        If the file cannot be opened, is none of its kind, or may hide a trap.
    """
    tally = Tally()
    ending = path.suffix.lower()
    try:
        if ending not in _WHOLE and ending not in {".gpkg", ".json", ".csv"}:
            return _of_lines(path, tally, sender, operator, channel, near_utc, every_s)
        found = _of_whole(path, ending, sender, tally)
    except (MemoryError, RecursionError) as error:
        raise LogError(
            f"{str(path)!r} needs more memory than there is ({type(error).__name__}): cut it into "
            "parts"
        ) from error
    return Imported(completed(found, operator, channel), tally)


def entries_of_any(
    path: Path,
    *,
    sender: str = "",
    operator: str = "",
    channel: str = "",
    near_utc: dt.datetime | None = None,
    every_s: float = 0.0,
) -> tuple[list[Entry], tuple[str, ...]]:
    """Entries of a file, and in words what was taken and left; see `imported`."""
    found = imported(
        path, sender=sender, operator=operator, channel=channel, near_utc=near_utc, every_s=every_s
    )
    return found.entries, found.tally.lines()


def _of_whole(path: Path, ending: str, sender: str, tally: Tally) -> list[Entry]:
    """Entries of a file that is read as a whole."""
    if ending == ".gpkg":
        return read_geopackage(path, sender=sender, tally=tally)
    data = read_bounded(path)
    if ending == ".json":
        # Lines of JSON for the log, or GeoJSON under its other name.
        try:
            return read_geojson(data, path.name, sender=sender, tally=tally)
        except LogError:
            return entries_of_text(data, tally=tally)
    if ending == ".csv":
        return entries_of_text(data, name=path.name, tally=tally)
    return _WHOLE[ending](data, path.name, sender=sender, tally=tally)


def _of_lines(
    path: Path,
    tally: Tally,
    sender: str,
    operator: str,
    channel: str,
    near_utc: dt.datetime | None,
    every_s: float,
) -> Imported:
    lines = LineReader(path.name, sender, operator, channel, near_utc, every_s, tally=tally)
    try:
        few = path.stat().st_size < _FEW_BYTES
    except OSError as error:
        raise LogError(f"cannot open {str(path)!r}: {error.strerror}") from error
    if not few:
        return Imported(entries_of_lines(lines_of(path), lines), tally)
    numbered = list(lines_of(path))
    lines.look_through((number, text) for number, text, _ in numbered)
    entries = entries_of_lines(numbered, lines)
    # A message stands where its first part came in.
    entries.sort(key=lambda each: each.source.line if each.source else 0)
    return Imported(entries, tally)


def completed(entries: Iterable[Entry], operator: str, channel: str) -> list[Entry]:
    """Entries with who wrote them and how they came in, where they do not say it themselves.

    Names are made one line each: they stand in lines of their own wherever they are shown.
    """
    return [
        replace(
            each,
            sender=_one_line(each.sender),
            subject=_one_line(each.subject),
            operator=_one_line(each.operator or operator),
            channel=_one_line(each.channel or channel),
        )
        for each in entries
    ]


def _one_line(name: str) -> str:
    return name if name.isprintable() else " ".join(name.split())
