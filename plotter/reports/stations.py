"""Who can go or listen, and from where: stations at their latest sound place, and observers."""

from datetime import UTC, datetime

from plotter.geodesy.position import Position
from plotter.reports.report import Picture

__all__ = ["stations_of"]

_START: datetime = datetime.min.replace(tzinfo=UTC)


def stations_of(picture: Picture) -> tuple[tuple[str, Position], ...]:
    """Latest place of every station that nothing speaks against.

    Senders known only from where they took a bearing, or listened, come after the stations.
    """
    in_order = sorted(
        picture.positions, key=lambda report: (report.said.time_utc or _START, report.said.line)
    )
    found = {
        report.name: report.reading.square.centre
        for report in in_order
        if report.role == "station" and not report.out_of_place
    }
    seen_from = [(report.said.sender, report.observer) for report in picture.bearings]
    seen_from += [(report.said.sender, report.observer) for report in picture.distances]
    seen_from += [(report.said.sender, report.observer) for report in picture.watches]
    for sender, place in seen_from:
        found.setdefault(sender, place)
    return tuple(found.items())
