"""What was searched without finding anything, as said: "A2 70%", "500 m around the chapel 70%"."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.fix.search_cells import circle
from plotter.fix.search_sectors import Search, SearchPlan
from plotter.reports.report import Picture
from plotter.reports.whereabouts import Gazetteer
from plotter.units import length_m

__all__ = ["search_said"]

_SEARCHED: Final = re.compile(
    r"\s*(?P<ground>.+?)\s*[,:]?\s+(?P<percent>\d+(?:\.\d+)?)\s*(?:%|per\s*cent)\s*",
    re.IGNORECASE | re.DOTALL,
)
_AROUND: Final = re.compile(
    r"(?P<length>\d+(?:\.\d+)?)\s*(?P<unit>[a-z]+(?:\s+miles?)?)\s+(?:around|about|of|from)\s+"
    r"(?P<where>.+)",
    re.IGNORECASE | re.DOTALL,
)
_SECTOR: Final = re.compile(r"(?:sector\s+)?(?P<name>.+)", re.IGNORECASE | re.DOTALL)


def search_said(text: str, plan: SearchPlan, picture: Picture) -> tuple[Search, tuple[str, ...]]:
    """Read what was searched, and with what chance of finding.

    Parameters
    ----------
    text : str
        A sector by its name, or a length around a place (named, a sender's, or a position in any
        format), and the chance of detection in per cent.
    plan : SearchPlan
        The sectors.
    picture : Picture
        Whose places the words may name.

    Returns
    -------
    search : Search
        Named by the ground as said.
    questions : tuple of str
        What to ask about the place.

    Raises
    ------
    FormatError
        If the text has another shape, or its ground is not known.

    Examples
    --------
    >>> _SEARCHED.fullmatch("500 m around the chapel 70 %")["ground"]
    '500 m around the chapel'
    """
    said = _SEARCHED.fullmatch(text)
    if said is None:
        raise FormatError(
            f"cannot read {text!r} as searched ground: say it like 'A2 70%' or '500 m around the "
            "chapel 70%', with the chance that it would have been found there",
            text,
        )
    percent = float(said["percent"])
    if not percent < 100.0:
        raise FormatError(
            f"{text!r}: no search is certain, give a chance of finding below 100 %", text
        )
    ground = said["ground"]
    around = _AROUND.fullmatch(ground)
    if around is None:
        name = _SECTOR.fullmatch(ground)
        sector = plan.called(name["name"] if name else ground)
        return Search(sector, percent / 100.0, sector.name), ()
    origin = _gazetteer(picture).find(around["where"], len(picture.positions))
    radius_m = length_m(float(around["length"]), around["unit"])
    return Search(circle(origin.position, radius_m), percent / 100.0, ground), origin.questions


def _gazetteer(picture: Picture) -> Gazetteer:
    """Everything that has been reported, as it is known at the end."""
    known = Gazetteer(picture.area)
    for order, report in enumerate(picture.positions):
        square = report.reading.square
        if report.role == "place":
            known.add_place(report.name, square)
        else:
            known.add_sighting(
                report.name, order, report.said.time_utc, square, doubtful=report.out_of_place
            )
    return known
