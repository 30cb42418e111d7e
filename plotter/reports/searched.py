"""What was searched without finding anything, as said: "A2 70%", "500 m around the chapel 70%"."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.fix.search_cells import circle
from plotter.fix.search_sectors import Search, SearchPlan
from plotter.reports.quantities import radius_at, refuse_unknown_unit, share_at_end
from plotter.reports.report import Picture
from plotter.reports.whereabouts import whereabouts_of

__all__ = ["search_said"]

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
        As of when somebody's place is, and what to ask about it.

    Raises
    ------
    FormatError
        If the text has another shape, or its ground is not known.
    """
    ground, share, unit = share_at_end(text)
    if unit != "%" or not ground:
        raise FormatError(
            f"cannot read {text!r} as searched ground: say it like 'A2 70%' or '500 m around the "
            "chapel 70%', with the chance that it would have been found there",
            text,
        )
    if not share < 1.0:
        raise FormatError(
            f"{text!r}: no search is certain, give a chance of finding below 100 %", text
        )
    radius = radius_at(ground, 0)
    if radius is None:
        refuse_unknown_unit(ground, 0, text)
        name = _SECTOR.fullmatch(ground)
        sector = plan.called(name["name"] if name else ground)
        return Search(sector, share, sector.name), ()
    radius_m, at = radius
    known, where = whereabouts_of(picture), ground[at:].strip()
    origin = known.find(where)
    # Who moves was searched for where it was then.
    told = (f"{origin.as_of}.",) if origin.named and not known.is_place(where) else ()
    return Search(circle(origin.position, radius_m), share, ground), told + origin.questions
