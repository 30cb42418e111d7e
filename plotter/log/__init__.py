"""What was said, kept as heard, and the picture that it makes."""

from plotter.log.report import (
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
