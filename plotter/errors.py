"""Every exception the plotter raises on purpose, in one tree.

::

    PlotterError
    ├── FormatError (also ValueError)    a text or value that cannot be read
    ├── GeometryError                    an input is fine, but there is no answer
    │   ├── NoIntersection               lines that meet only behind an observer, or nowhere
    │   ├── ParallelBearings             lines that never meet, or are the same line
    │   └── NotConverged                 an iteration that did not settle
    ├── LogError                         a report file or a log that cannot be opened or written
    │   └── DamagedLog                   a log whose file the database cannot read
    ├── TableError                       a table of many rows that cannot be read or written
    ├── TileError                        a map archive that cannot be used
    ├── SheetError                       a printed sheet that cannot be made
    └── BoardError                       a board that cannot be made
        └── NetworkReference             something in it would ask the network

A message says what was given, what was expected and what to do next.
"""

__all__ = [
    "BoardError",
    "DamagedLog",
    "FormatError",
    "GeometryError",
    "LogError",
    "NetworkReference",
    "NoIntersection",
    "NotConverged",
    "ParallelBearings",
    "PlotterError",
    "SheetError",
    "TableError",
    "TileError",
]


class PlotterError(Exception):
    """Root of the tree: catch this to catch everything the plotter raises on purpose."""


class FormatError(PlotterError, ValueError):
    """A text or value that cannot be read.

    Attributes
    ----------
    text : str
        What was given, unchanged.
    """

    def __init__(self, message: str, text: str = "") -> None:
        super().__init__(message)
        self.text = text


class GeometryError(PlotterError):
    """The inputs are valid, but the question has no answer."""


class NoIntersection(GeometryError):
    """The lines meet only behind an observer, or not within reach.

    Attributes
    ----------
    behind : tuple of str
        Which observers, "A" or "B", have the crossing behind them.
    """

    def __init__(self, message: str, behind: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.behind = behind


class ParallelBearings(GeometryError):
    """The lines run beside each other, or are one and the same line."""


class NotConverged(GeometryError):
    """An iteration did not settle; the result would not be trustworthy."""


class LogError(PlotterError):
    """A report file or a log that cannot be opened or written, or that has no usable shape."""


class DamagedLog(LogError):
    """A log whose file the database cannot read; `plotter log rescue` may."""


class TableError(PlotterError):
    """A table of many rows that cannot be opened, taken apart or written."""


class TileError(PlotterError):
    """A map archive that cannot be used."""


class BoardError(PlotterError):
    """A board that cannot be made as asked."""


class SheetError(PlotterError):
    """A printed sheet that cannot be made as asked."""


class NetworkReference(BoardError):
    """Something in a board would ask the network."""
