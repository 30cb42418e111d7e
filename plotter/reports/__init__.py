"""What was said, word by word: its quantities, who is where, and the picture that it makes."""

from plotter.reports.report import (
    BearingReport,
    NoteReport,
    Picture,
    PositionReport,
    Said,
    UnreadReport,
)

__all__ = [
    "BearingReport",
    "NoteReport",
    "Picture",
    "PositionReport",
    "Said",
    "UnreadReport",
]
