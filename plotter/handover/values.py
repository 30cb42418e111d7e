"""A handover as frozen values: sentences and tables, the same on the page and on paper."""

from dataclasses import dataclass
from datetime import datetime

__all__ = ["Handover", "Table"]


@dataclass(frozen=True, slots=True)
class Table:
    """One table.

    Parameters
    ----------
    title : str
        What it lists.
    columns : tuple of str
        Heads.
    shares : tuple of float
        How wide each column is, of 1.
    rows : tuple of tuple of str
        In order.
    empty : str
        What to say where there are no rows.
    """

    title: str
    columns: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    empty: str = "None."


@dataclass(frozen=True, slots=True)
class Handover:
    """Everything the next shift needs.

    Parameters
    ----------
    title : str
        Of the incident.
    made_utc : datetime
        When it was made.
    words : tuple of str
        What to know first: what it covers, what is damaged, what desks disagree on.
    tables : tuple of Table
        What is open first, the log last.
    cautions : tuple of str
        What positions are, and who decides.
    """

    title: str
    made_utc: datetime
    words: tuple[str, ...]
    tables: tuple[Table, ...]
    cautions: tuple[str, ...]
