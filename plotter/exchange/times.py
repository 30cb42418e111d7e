"""Times that files state, as UTC; what is no time that can be is said, never passed on."""

import datetime as dt
import re
from typing import Final

__all__ = ["time_problem", "time_said"]

# A time far from any incident is a device's way to say that it has none, and arithmetic with the
# first or last days of the calendar fails.
_FIRST_YEAR, _LAST_YEAR = 1970, 2199
_MOMENT: Final = re.compile(r"\d{4}-?\d\d-?\d\d[T ]\d\d.*", re.ASCII | re.DOTALL)


def time_said(text: str, *, utc: bool = True) -> tuple[dt.datetime | None, str, str]:
    """A time as a file has it.

    Parameters
    ----------
    text : str
        ISO 8601; with its hour, for a day alone is no moment.
    utc : bool
        Whether the file's format says that a time without a zone is UTC.

    Returns
    -------
    time : datetime or None
        UTC; None where it cannot be read, or its zone is not said and `utc` is False.
    problem : str
        What is wrong with it; empty where it was read.
    assumed : str
        What it rests on; empty where it says its zone, or its format does.
    """
    said = text.strip()
    try:
        if not _MOMENT.fullmatch(said):
            raise ValueError("expected a day and a time, as in 2026-03-14T09:05:00Z")  # noqa: TRY301
        time = dt.datetime.fromisoformat(said)
        zoned = time.utcoffset() is not None
        time = time.astimezone(dt.UTC) if zoned else time.replace(tzinfo=dt.UTC)
        if problem := time_problem(time):
            raise ValueError(problem)  # noqa: TRY301
    except (ValueError, OverflowError) as error:
        return None, f"cannot read the time {text[:60]!r}: {error}", ""
    return time, "", "" if zoned or utc else "that the time is UTC, as no zone was stated"


def time_problem(time: dt.datetime) -> str:
    """What is wrong with a time that nothing here can have happened at; empty where nothing is."""
    if _FIRST_YEAR <= time.year <= _LAST_YEAR:
        return ""
    return f"expected a year between {_FIRST_YEAR} and {_LAST_YEAR}"
