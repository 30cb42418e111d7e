"""Coordinate formats: one file each, a registry, and the reader that tries them all.

A reference names a *square*. Grids truncate to it and never round; the figures of latitude and
longitude are taken as rounded, so that their square is centred on the value.

Many texts at once: `plotter.voice.columns.converted`, loaded only where it is asked for.
"""

from plotter.formats.reading import in_all_formats, in_all_formats_of, reading
from plotter.formats.registry import FORMATS
from plotter.formats.result import Reading, Squares

__all__ = [
    "FORMATS",
    "Reading",
    "Squares",
    "in_all_formats",
    "in_all_formats_of",
    "reading",
]
