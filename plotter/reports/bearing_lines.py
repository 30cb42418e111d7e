"""From the words of a bearing to a bearing from true north, with the place it was taken from."""

import datetime as dt
from functools import lru_cache

from plotter.errors import FormatError
from plotter.fix.evidence import CommonError, default_sigma_deg, wrong_chances
from plotter.geodesy.geodesic import normal_bearing_deg
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position
from plotter.reports.bearing_words import BearingWords
from plotter.reports.evidence_lines import origin_sigma_m
from plotter.reports.quantities import Direction
from plotter.reports.report import BearingReport, Said
from plotter.reports.whereabouts import Moment, Whereabouts

__all__ = ["bearing_report", "true_bearing"]


def true_bearing(
    direction: Direction, at: Position, line: Said, date: dt.date | None
) -> tuple[float, float | None, tuple[str, ...]]:
    """Turn a direction as said into a true bearing; a second one where the north was not stated.

    Raises
    ------
    FormatError
        If the declination is needed and there is no day for it.
    """
    if direction.north == "true":
        return direction.degrees, None, ()
    if direction.north == "grid":
        return normal_bearing_deg(direction.degrees + convergence_deg(at)), None, ()
    day = line.time_utc.date() if line.time_utc else date
    if day is None:
        raise FormatError(
            f"{line.text!r} needs a day for the magnetic declination: give the time of the report",
            line.text,
        )
    turn, warnings = _declination(at, day)
    magnetic = normal_bearing_deg(direction.degrees + turn)
    if direction.north == "magnetic":
        return magnetic, None, warnings
    asked = f"North not stated: ask. True and magnetic differ by {abs(turn):.0f}° here."
    return direction.degrees, magnetic, (asked, *warnings)


@lru_cache(maxsize=4096)
def _declination(at: Position, day: dt.date) -> tuple[float, tuple[str, ...]]:
    found = declination(at, day)
    return found.declination_deg, found.warnings


def bearing_report(
    known: Whereabouts, moment: Moment, line: Said, words: BearingWords, date: dt.date | None
) -> BearingReport:
    """A bearing with the place that it was taken from.

    Raises
    ------
    FormatError
        If nobody says what it points at, or from where.
    """
    if not line.subject:
        raise FormatError("a bearing needs what it points at as the subject", line.text)
    origin = (
        known.own_place(line.sender, moment)
        if words.where is None
        else known.find(words.where, moment, line.sender)
    )
    bearing_true, other, questions = true_bearing(words.direction, origin.position, line, date)
    sigma = words.sigma_deg or default_sigma_deg(words.method, compass=words.compass)
    p_reciprocal, p_gross = wrong_chances(words.method, sense_confirmed=words.sense_confirmed)
    return BearingReport(
        said=line,
        name=line.subject,
        observer=origin.position,
        observer_sigma_m=origin_sigma_m(origin),
        observer_from=origin.words,
        bearing_deg=words.direction.degrees,
        north=words.direction.north,
        bearing_true_deg=bearing_true,
        other_true_deg=other,
        sigma_deg=sigma,
        sigma_stated=words.sigma_deg is not None,
        questions=origin.questions + questions,
        p_reciprocal=p_reciprocal,
        p_gross=p_gross,
        common=CommonError(words.shared_name, words.shared_deg) if words.shared_name else None,
        exact=words.exact,
    )
