"""From the picture to the evidence for a fix: which bearings point at what."""

from collections.abc import Sequence

from plotter.errors import PlotterError
from plotter.fix import Bearing, Fix, fix
from plotter.log.gazetteer import key_of
from plotter.log.report import Picture

__all__ = ["bearings_by_name", "fixes"]


def bearings_by_name(picture: Picture) -> dict[str, tuple[Bearing, ...]]:
    """Group the bearings by what they point at, most bearings first.

    Returns
    -------
    dict
        Name as first said, to its bearings in the order they came.
    """
    names: dict[str, str] = {}
    groups: dict[str, list[Bearing]] = {}
    for report in picture.bearings:
        name = names.setdefault(key_of(report.name), report.name)
        groups.setdefault(name, []).append(
            Bearing(
                observer=report.observer,
                bearing_true_deg=report.bearing_true_deg,
                sigma_deg=report.sigma_deg,
                sender=report.said.sender,
                observer_sigma_m=report.observer_sigma_m,
                other_true_deg=report.other_true_deg,
                as_said=f"{report.bearing_deg:03.0f}° {report.north or 'without north'}",
            )
        )
    ordered = sorted(groups.items(), key=lambda item: -len(item[1]))
    return {name: tuple(bearings) for name, bearings in ordered}


def fixes(picture: Picture) -> tuple[Sequence[tuple[str, Fix]], dict[str, str]]:
    """Compute a fix for everything that bearings point at.

    Returns
    -------
    found : sequence of (str, Fix)
        Name and fix, most bearings first.
    failed : dict of str to str
        Name to why there is no fix.
    """
    found: list[tuple[str, Fix]] = []
    failed: dict[str, str] = {}
    for name, bearings in bearings_by_name(picture).items():
        try:
            found.append((name, fix(bearings)))
        except PlotterError as error:
            failed[name] = str(error)
    return tuple(found), failed
