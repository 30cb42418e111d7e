"""Every reported position as the map shows it: kept as columns, each mark made when asked for."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

from plotter.board.columns import Columns
from plotter.board.ground import ring_of
from plotter.board.report_values import Mark
from plotter.geodesy.arrays import BoolArray, IntArray
from plotter.reports.report import PositionReport

__all__ = ["Marks"]


@dataclass(frozen=True, slots=True, eq=False)
class Marks(Sequence[Mark]):
    """Every reported position, in the order of the reports.

    Parameters
    ----------
    columns : Columns
        The reports; the positions come first.
    entries : ndarray of int
        Index of each one's entry, shape (n,).
    latest : ndarray of bool
        False where a later report of the same name exists, shape (n,).
    reference_deg : float
        Longitude beside which squares are drawn.
    """

    columns: Columns
    entries: IntArray
    latest: BoolArray
    reference_deg: float

    def __len__(self) -> int:
        """How many positions."""
        return len(self.entries)

    @overload
    def __getitem__(self, index: int) -> Mark: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Mark, ...]: ...
    def __getitem__(self, index: int | slice) -> Mark | tuple[Mark, ...]:
        """Make one mark, or several."""
        if isinstance(index, slice):
            return tuple(self[each] for each in range(*index.indices(len(self))))
        report = self.columns.reports[range(len(self))[index]]
        assert isinstance(report, PositionReport)  # noqa: S101 - the positions come first
        reference = self.reference_deg
        return Mark(
            entry=int(self.entries[index]),
            name=report.name,
            role=report.role,
            square=ring_of(report.reading.square.corners, reference),
            size_m=report.reading.square.size_m,
            latest=bool(self.latest[index]),
            doubtful=bool(report.others or report.questions),
            others=tuple(ring_of(other.square.corners, reference) for other in report.others),
        )
