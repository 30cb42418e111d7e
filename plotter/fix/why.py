"""Why a fix is where it is: each report's residual, its pull, and the fix without it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from plotter.errors import PlotterError
from plotter.fix.evidence import Support
from plotter.fix.model import Evidence
from plotter.fix.motion import Motion
from plotter.fix.posterior import Posterior, posterior
from plotter.fix.result import Fix
from plotter.fix.solve import fix_of
from plotter.fix.wording import (
    area_words,
    bearing_words,
    distance_words,
    name_of,
    off_words,
    percent_words,
    report_words,
)
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

__all__ = ["Reason", "reason_words", "why"]


@dataclass(frozen=True, slots=True)
class Reason:
    """What one report does to a fix.

    Parameters
    ----------
    name : str
        Its sender, and what was reported where he sent several.
    said : str
        What was reported, in words.
    residual : float or None
        Reported minus expected at the best point: degrees for a bearing, metres for a distance or
        a place; None for a watch.
    unit : str
        ``deg``, ``m`` or empty.
    p_good : float or None
        Chance that it is right within its error; None for a watch.
    best_without : Position or None
        The best point of all others; None where they make no fix.
    pull_m, pull_true_deg : float
        How far, and on what true bearing, this report moves the best point from there.
    area_without_km2 : float or None
        The 95 % region of all others.
    """

    name: str
    said: str
    residual: float | None
    unit: str
    p_good: float | None
    best_without: Position | None
    pull_m: float
    pull_true_deg: float
    area_without_km2: float | None


def why(
    evidence: Sequence[Evidence],
    support: Support | None = None,
    *,
    motion: Motion | None = None,
    at_utc: datetime | None = None,
) -> tuple[Fix, tuple[Reason, ...]]:
    """Compute a fix, and once more without each report.

    Parameters
    ----------
    evidence, support, motion, at_utc
        As for `plotter.fix.fix`.

    Returns
    -------
    fix : Fix
        With all of them.
    reasons : tuple of Reason
        One for each report: bearings first, then distances, places and watches.

    Raises
    ------
    FormatError, GeometryError
        As for `plotter.fix.fix`.
    """
    after = posterior(evidence, support, motion=motion, at_utc=at_utc)
    fix = fix_of(after)
    # The same ground for each: else a report would pull by where the support is laid as well.
    same = replace(support or Support(), centre=after.chart.centre)
    reports = after.reports
    reasons = []
    for i, report in enumerate(reports):
        others = [each for k, each in enumerate(reports) if k != i]
        without = _fix_or_none(others, same, motion, at_utc or _latest(evidence))
        pull = geodesic(without.best, fix.best) if without is not None else None
        residual, unit, p_good = _verdict(fix, after, i)
        reasons.append(
            Reason(
                name=name_of(reports, i),
                said=report_words(report),
                residual=residual,
                unit=unit,
                p_good=p_good,
                best_without=without.best if without is not None else None,
                pull_m=pull.distance_m if pull is not None else 0.0,
                pull_true_deg=pull.bearing_true_deg if pull is not None else 0.0,
                area_without_km2=without.regions[1].area_km2 if without is not None else None,
            )
        )
    return fix, tuple(reasons)


def _latest(evidence: Sequence[Evidence]) -> datetime | None:
    """The time of the fix with all reports, so that it stays when the last one is left out."""
    return max((each.time_utc for each in evidence if each.time_utc), default=None)


def _fix_or_none(
    evidence: Sequence[Evidence],
    support: Support,
    motion: Motion | None,
    at_utc: datetime | None,
) -> Fix | None:
    if not evidence:
        return None
    try:
        return fix_of(posterior(evidence, support, motion=motion, at_utc=at_utc))
    except PlotterError:
        return None


def _verdict(fix: Fix, after: Posterior, index: int) -> tuple[float | None, str, float | None]:
    count = len(after.bearings)
    if index < count:
        verdict = fix.bearings[after.row_of.index(index)]
        return verdict.residual_deg, "deg", verdict.p_good
    if index < after.told.size:
        other = fix.others[index - count]
        return other.residual_m, "m", other.p_good
    return None, "", None


def reason_words(fix: Fix, reason: Reason) -> str:
    """Say a reason in a sentence."""
    parts = []
    if reason.residual is not None and reason.p_good is not None:
        off = (
            off_words(reason.residual)
            if reason.unit == "deg"
            else distance_words(abs(reason.residual))
        )
        parts.append(f"off by {off}, {percent_words(reason.p_good)} chance that it is right")
    if reason.area_without_km2 is None:
        parts.append("without it there is no fix")
    else:
        area = area_words(fix.regions[1].area_km2)
        without = area_words(reason.area_without_km2)
        change = f"95 % region {without} without it, {area} with it"
        if reason.pull_m < 1.0:
            parts.append(f"does not move the best point; {change}")
        else:
            parts.append(
                f"pulls the best point {distance_words(reason.pull_m)} on "
                f"{bearing_words(reason.pull_true_deg)}; {change}"
            )
    # A sender of several reports is named with what this one was.
    name = reason.name if reason.said in reason.name else f"{reason.name} ({reason.said})"
    return f"{name}: {'; '.join(parts)}."
