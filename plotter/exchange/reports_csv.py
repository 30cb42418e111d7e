"""The report file: a CSV with time_utc, sender, subject and report, written by a person in a hurry.

The header names the columns in any order; columns it does not know are ignored. Commas, semicolons
and tabs separate; a report with commas in it needs no quotes if it is the last column. A line that
cannot be taken apart is kept with its number and the reason, and never stops the rest.
"""

import csv
import datetime as dt
import io
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from plotter.errors import LogError
from plotter.log.events.encoding import time_text
from plotter.reports.report import Said, UnreadReport

__all__ = ["ReportFile", "read_reports", "split_reports", "write_reports"]

_COLUMNS: Final = ("time_utc", "sender", "subject", "report")
_TIME: Final = re.compile(
    r"(?:(\d{4})-(\d{2})-(\d{2})[T\s]+)?(\d{1,2}):?(\d{2})(?::?(\d{2})(?:\.\d+)?)?\s*"
    r"(?:(Z|UTC)|([+-]\d{2}):?(\d{2}))?",
    re.IGNORECASE,
)
_LONGEST_QUOTE_LINES: Final = 20
# Of a line that is longer than any report, such as a file of another kind, the beginning is kept.
_LONGEST_RECORD: Final = 65_536
_KEPT: Final = 2_000
_FORMULA: Final = frozenset("=+-@\t\r")


@dataclass(frozen=True, slots=True)
class ReportFile:
    """A report file taken apart.

    Parameters
    ----------
    said : tuple of Said
        Lines with all their parts.
    unread : tuple of UnreadReport
        Lines without.
    ignored : tuple of (str, int)
        Columns that are not known, each with how many values it has.
    """

    said: tuple[Said, ...]
    unread: tuple[UnreadReport, ...]
    ignored: tuple[tuple[str, int], ...] = ()


def read_reports(path: Path) -> ReportFile:
    """Read a report file.

    Parameters
    ----------
    path : Path
        UTF-8, with or without a byte order mark; other bytes are taken as Windows-1252, so that
        no letter is lost.

    Raises
    ------
    LogError
        If the file cannot be opened, or has no header with the four columns.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise LogError(f"cannot open {str(path)!r}: {error.strerror}") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    return split_reports(text, str(path))


def split_reports(text: str, name: str = "the report file") -> ReportFile:
    """Take the text of a report file apart; see `read_reports`."""
    lines = text.split("\n")
    lines = [line.removesuffix("\r") for line in lines]
    start = next((i for i, line in enumerate(lines) if line.strip(" ,;\t")), None)
    header_at = start if start is not None else 0
    header = lines[header_at] if lines else ""
    delimiter, order = _header(header, name)
    # A report in the last column may hold commas: columns before it are counted alone.
    others = [
        (i, column.strip().strip('"'))
        for i, column in enumerate(header.split(delimiter))
        if i not in order and (i < order[3] or order[3] < max(order))
    ]
    ignored: Counter[str] = Counter()
    said: list[Said] = []
    unread: list[UnreadReport] = []
    last: dt.datetime | None = None
    at = header_at + 1
    while at < len(lines):
        record, number = lines[at], at + 1
        at += 1
        if not record.strip(" ,;\t"):
            continue
        record, taken, broken = _joined(lines, at - 1, delimiter)
        at += taken
        if len(record) > _LONGEST_RECORD:
            why = (
                f"the line has {len(record)} characters, more than a report: its beginning is kept"
            )
            unread.append(UnreadReport(Said(number, None, "", "", record[:_KEPT]), why))
            continue
        fields = _fields(record, delimiter, broken=broken)
        if len(fields) < len(_COLUMNS):
            found = f"{len(fields)} column{'s' if len(fields) != 1 else ''}"
            unread.append(
                UnreadReport(
                    Said(number, None, "", "", record),
                    f"{found} instead of four: expected time_utc, sender, subject, report",
                )
            )
            continue
        time_text, sender, subject, report = _pick(fields, order, delimiter)
        for i, column in others:
            ignored[column] += i < len(fields) and bool(fields[i].strip())
        time_utc, why = _time(time_text, last)
        last = time_utc or last
        parts = (_armed(part.strip()) for part in (sender, subject, report))
        line = Said(number, time_utc, *parts)
        if broken:
            why = why or "a quotation mark is opened and not closed: check the line"
        if not line.sender:
            why = why or "no sender: expected who reported it in the second column"
        if why:
            unread.append(UnreadReport(line, why))
        else:
            said.append(line)
    return ReportFile(tuple(said), tuple(unread), tuple((+ignored).items()))


def write_reports(lines: Iterable[Said]) -> str:
    """Lines as the text of a report file, which is read as the same lines.

    Parameters
    ----------
    lines : iterable of Said
        Times are written in full; what a line is called in the log stands in a column of its own.
        A text that a spreadsheet would take for a formula gets an apostrophe before it, which is
        taken off again when it is read.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("time_utc", "name", "sender", "subject", "report"))
    for said in lines:
        time = time_text(said.time_utc)
        texts = (said.name, said.sender, said.subject, said.text)
        writer.writerow((time, *map(_disarmed, texts)))
    return out.getvalue()


def _disarmed(text: str) -> str:
    """No formula. "-38.4, -22.3" is one for a spreadsheet, and so is an apostrophe before it."""
    return f"'{text}" if text.lstrip("'")[:1] in _FORMULA else text


def _armed(text: str) -> str:
    return text[1:] if text[:1] == "'" and text.lstrip("'")[:1] in _FORMULA else text


def _header(line: str, name: str) -> tuple[str, tuple[int, ...]]:
    """Delimiter, and where each of the four columns stands."""
    for delimiter in (",", ";", "\t"):
        names = [field.strip().strip('"').lower() for field in line.split(delimiter)]
        if all(column in names for column in _COLUMNS):
            return delimiter, tuple(names.index(column) for column in _COLUMNS)
    raise LogError(
        f"{name} does not begin with the columns time_utc, sender, subject, report: its first line "
        f"is {line[:80]!r}; write that header above the reports"
    )


def _joined(lines: list[str], at: int, delimiter: str) -> tuple[str, int, bool]:
    """A record with the lines its quotes run on to, how many those are, and whether one is broken.

    A quotation mark that is never closed must not swallow the reports below it: a following line
    that begins with a time ends the search.
    """
    record = lines[at]
    if record.count('"') % 2 == 0:
        return record, 0, False
    for taken in range(1, _LONGEST_QUOTE_LINES):
        if at + taken >= len(lines):
            break
        following = lines[at + taken]
        if _TIME.fullmatch(following.split(delimiter)[0].strip().strip('"')):
            break
        record = f"{record}\n{following}"
        if record.count('"') % 2 == 0:
            return record, taken, False
    return lines[at], 0, True


def _fields(record: str, delimiter: str, *, broken: bool) -> list[str]:
    if broken:
        return record.split(delimiter)
    # A blank before an opening quote is a slip; other blanks belong to the words.
    record = re.sub(rf"{re.escape(delimiter)} +\"", f'{delimiter}"', record)
    return next(csv.reader([record], delimiter=delimiter), [])


def _pick(fields: list[str], order: tuple[int, ...], delimiter: str) -> tuple[str, str, str, str]:
    """The four parts; commas inside an unquoted last report column are given back to it."""
    width = max(order) + 1
    if len(fields) > width and order[3] == width - 1:
        while fields and not fields[-1].strip() and len(fields) > width:
            fields = fields[:-1]
        fields = [*fields[: width - 1], delimiter.join(fields[width - 1 :])]
    padded = [*fields, *[""] * (width - len(fields))]
    return padded[order[0]], padded[order[1]], padded[order[2]], padded[order[3]]


def _time(text: str, last: dt.datetime | None) -> tuple[dt.datetime | None, str]:
    """Time of a report and what is wrong with it; without its day it follows the last one.

    A clock that seems to go back by more than half a day has passed midnight.
    """
    match = _TIME.fullmatch(text.strip())
    expected = "expected UTC as in 2026-03-14T09:05Z, or 09:05 after a line with the day"
    if match is None:
        return None, f"cannot read the time {text!r}: {expected}"
    year, month, of_month, hour, minute, second, _, east_h, east_m = match.groups()
    if not year and last is None:
        return None, f"the time {text!r} has no day: {expected}"
    try:
        day = dt.date(int(year), int(month), int(of_month)) if last is None or year else last.date()
        clock = dt.time(int(hour), int(minute), int(second or 0), tzinfo=dt.UTC)
        when = dt.datetime.combine(day, clock)
        if east_h:
            minutes = int(east_h[1:]) * 60 + int(east_m)
            when -= dt.timedelta(minutes=-minutes if east_h[0] == "-" else minutes)
        if not year and last is not None and last - when > dt.timedelta(hours=12):
            when += dt.timedelta(days=1)
    except (ValueError, OverflowError) as error:
        return None, f"cannot read the time {text!r} ({error}): {expected}"
    return when, ""
