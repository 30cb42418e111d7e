"""Who can go or listen, and from where: stations at their latest sound place, and observers."""

from plotter.geodesy.position import Position
from plotter.reports.report import Picture
from plotter.reports.whereabouts import whereabouts_of

__all__ = ["stations_of"]


def stations_of(picture: Picture) -> tuple[tuple[str, Position], ...]:
    """Latest place of every station that nothing speaks against.

    Senders known only from where they took a bearing, or listened, come after the stations.
    """
    found = {name: at.position for name, at in whereabouts_of(picture).latest({"station"})}
    seen_from = [(report.said.sender, report.observer) for report in picture.bearings]
    seen_from += [(report.said.sender, report.observer) for report in picture.distances]
    seen_from += [(report.said.sender, report.observer) for report in picture.watches]
    for sender, place in seen_from:
        found.setdefault(sender, place)
    return tuple(found.items())
