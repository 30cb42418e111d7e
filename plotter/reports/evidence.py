"""From the picture to the evidence for a fix: what is known of each thing that is looked for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from plotter.errors import LogError, PlotterError
from plotter.fix import Bearing, Evidence, Fix, Ground, Motion, Range, Sighting, Support
from plotter.fix.posterior import Posterior, posterior
from plotter.fix.solve import fix_of
from plotter.fix.why import Reason, why
from plotter.geodesy.position import Area
from plotter.reports.names import key_of
from plotter.reports.report import BearingReport, Picture

__all__ = ["MOST_TIMES", "Case", "case_of", "cases", "fixes", "fixes_before", "trusting"]

MOST_TIMES: Final = 9
"""At how many times what moves is fixed, the latest among them."""
_MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Case:
    """All that is known of one thing that is looked for.

    Parameters
    ----------
    name : str
        What it is called, as first said.
    evidence : tuple
        Bearings first, then distances, reported places and watches, each in the order they came.
    ground : tuple of Ground
        Ground that is ruled out, was searched, or is likely.
    motion : Motion or None
        How it moves; None where it is taken to stand still.
    area : Area or None
        The area of operations.
    """

    name: str
    evidence: tuple[Evidence, ...]
    ground: tuple[Ground, ...] = ()
    motion: Motion | None = None
    area: Area | None = None

    @property
    def support(self) -> Support:
        """The prior: who heard it, the area of operations, and the ground."""
        return Support(ground=self.ground, area=self.area)

    def posterior(self, at_utc: datetime | None = None) -> Posterior:
        """Where it can be; see `plotter.fix.posterior.posterior`.

        Parameters
        ----------
        at_utc : datetime, optional
            For which time, where it moves; the latest report unless given.
        """
        return posterior(self.evidence, self.support, motion=self.motion, at_utc=at_utc)

    def times_utc(self, most: int = MOST_TIMES) -> tuple[datetime, ...]:
        """Times at which it is worth asking where it was: from the first report to the last.

        Parameters
        ----------
        most : int
            How many at most, 2 or more.

        Returns
        -------
        tuple of datetime
            Oldest first, evenly apart but for whole minutes between the ends; empty where it is
            taken to stand still or no report has a time.
        """
        known = [each.time_utc for each in self.evidence if each.time_utc is not None]
        if self.motion is None or not known:
            return ()
        first, last = min(known), max(known)
        count = min(most, (last - first) // _MINUTE + 1)
        between = (
            _whole_minute(first + (last - first) * step / (count - 1))
            for step in range(1, count - 1)
        )
        return tuple(dict.fromkeys((first, *between, last)))

    def why(self, at_utc: datetime | None = None) -> tuple[Reason, ...]:
        """What each report does to the fix; see `plotter.fix.why.why`."""
        return why(self.evidence, self.support, motion=self.motion, at_utc=at_utc)[1]


def cases(picture: Picture) -> dict[str, Case]:
    """Group the evidence by what it is about, most evidence first.

    Somebody's report of the place of a thing is evidence for it once a bearing, a distance or a
    watch is about it too; reports that the place itself speaks against are not.

    Returns
    -------
    dict
        Name as first said, to what is known.
    """
    names: dict[str, str] = {}
    found: dict[str, list[Evidence]] = {}

    def group(name: str) -> list[Evidence]:
        return found.setdefault(names.setdefault(key_of(name), name), [])

    for report in picture.bearings:
        group(report.name).append(_bearing(report))
    for distance in picture.distances:
        group(distance.name).append(
            Range(
                observer=distance.observer,
                distance_m=distance.distance_m,
                sigma_m=distance.sigma_m,
                sender=distance.said.sender,
                observer_sigma_m=distance.observer_sigma_m,
                time_utc=distance.said.time_utc,
            )
        )
    for watch in picture.watches:
        group(watch.name)
    for place in picture.positions:
        name = names.get(key_of(place.name))
        if name is not None and place.role == "subject" and not place.out_of_place:
            found[name].append(
                Sighting(
                    place.reading.square,
                    place.sigma_m,
                    place.said.sender,
                    time_utc=place.said.time_utc,
                )
            )
    for watch in picture.watches:
        group(watch.name).append(watch.watch)
    motions = {key_of(report.name): report.motion for report in picture.motions}
    ordered = sorted(found.items(), key=lambda item: -len(item[1]))
    return {
        name: Case(
            name,
            tuple(evidence),
            tuple(
                report.ground
                for report in picture.ground
                if key_of(report.name) in ("", key_of(name))
            ),
            motions.get(key_of(name)),
            picture.area,
        )
        for name, evidence in ordered
    }


def _whole_minute(time: datetime) -> datetime:
    return (time + _MINUTE / 2).replace(second=0, microsecond=0)


def case_of(picture: Picture, subject: str | None, without: str = "") -> Case:
    """What is known of one thing, or of that with most evidence.

    Parameters
    ----------
    picture : Picture
        What was said.
    subject : str or None
        The thing's name.
    without : str
        What cannot be done where nothing is known, for the message.

    Raises
    ------
    LogError
        If nothing is known of it, or of anything; the message names what there is.
    """
    known = cases(picture)
    if not known:
        raise LogError(
            f"no bearing in the file can be used{', ' * bool(without)}{without}: write lines like "
            "'bearing 245 magnetic' with what it points at as the subject"
        )
    if subject is None:
        return next(iter(known.values()))
    for name, case in known.items():
        if key_of(name) == key_of(subject):
            return case
    raise LogError(f"nothing is known of {subject!r}: reports are about {', '.join(sorted(known))}")


def _bearing(report: BearingReport) -> Bearing:
    return Bearing(
        observer=report.observer,
        bearing_true_deg=report.bearing_true_deg,
        sigma_deg=report.sigma_deg,
        sender=report.said.sender,
        observer_sigma_m=report.observer_sigma_m,
        other_true_deg=report.other_true_deg,
        p_reciprocal=report.p_reciprocal,
        p_gross=report.p_gross,
        as_said=f"{report.bearing_deg:03.0f}° {report.north or 'without north'}",
        sigma_stated=report.sigma_stated,
        common=report.common,
        time_utc=report.said.time_utc,
        exact=report.exact,
    )


def trusting(picture: Picture) -> Picture:
    """The same with every stated error of a bearing taken at its word."""
    return replace(
        picture,
        bearings=tuple(replace(each, exact=each.sigma_stated) for each in picture.bearings),
    )


def fixes(
    picture: Picture, at_utc: datetime | None = None
) -> tuple[Sequence[tuple[str, Fix]], dict[str, str]]:
    """Compute a fix for everything that evidence is about.

    Parameters
    ----------
    picture : Picture
        What was said.
    at_utc : datetime or None
        For what moves, the time of the fix; its latest report unless given.

    Returns
    -------
    found : sequence of (str, Fix)
        Name and fix, most evidence first.
    failed : dict of str to str
        Name to why there is no fix.
    """
    found: list[tuple[str, Fix]] = []
    failed: dict[str, str] = {}
    for name, case in cases(picture).items():
        try:
            found.append((name, fix_of(case.posterior(at_utc))))
        except PlotterError as error:
            failed[name] = str(error)
    return tuple(found), failed


def fixes_before(
    picture: Picture, found: Sequence[tuple[str, Fix]]
) -> dict[str, tuple[tuple[datetime, Fix], ...]]:
    """Compute where what moves was at earlier times, from all reports, later ones too.

    Parameters
    ----------
    picture : Picture
        Everything that was said.
    found : sequence of (str, Fix)
        The latest, from `fixes`.

    Returns
    -------
    dict
        For everything found that moves: each time with its fix, oldest first, the latest last.
        Where several things move, each has fewer times.
    """
    if not picture.motions:
        return {}
    known = cases(picture)
    moving = [(known[name], fix) for name, fix in found if known[name].motion is not None]
    each = max(MOST_TIMES // max(len(moving), 1), 2)
    return {
        case.name: (
            *((time, fix_of(case.posterior(time))) for time in case.times_utc(each)[:-1]),
            (case.times_utc(each)[-1], latest),
        )
        for case, latest in moving
    }
