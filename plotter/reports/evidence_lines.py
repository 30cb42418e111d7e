"""From the words about a thing looked for to reports with places: distances, watches, ground."""

import math

from plotter.errors import FormatError
from plotter.fix import Ground, Listening, Motion, Polygon, default_motion
from plotter.fix.search_cells import circle
from plotter.reports.evidence_words import DistanceWords, GroundWords, MotionWords, WatchWords
from plotter.reports.report import DistanceReport, GroundReport, MotionReport, Said, WatchReport
from plotter.reports.whereabouts import Moment, Origin, Whereabouts

__all__ = ["distance_report", "ground_report", "motion_report", "origin_sigma_m", "watch_report"]


def distance_report(
    known: Whereabouts, moment: Moment, line: Said, words: DistanceWords
) -> DistanceReport:
    """A distance with the place that it was taken from."""
    origin = _origin(known, moment, line, words.where)
    asked = () if words.sigma_m else ("Distance guessed: ask how it was measured, and how well.",)
    return DistanceReport(
        said=line,
        name=line.subject,
        observer=origin.position,
        observer_sigma_m=origin_sigma_m(origin),
        observer_from=origin.words,
        distance_m=words.distance_m,
        sigma_m=words.sigma_m,
        questions=origin.questions + asked,
    )


def watch_report(known: Whereabouts, moment: Moment, line: Said, words: WatchWords) -> WatchReport:
    """A watch with the place of the listener."""
    origin = _origin(known, moment, line, words.where)
    return WatchReport(
        said=line,
        name=line.subject,
        observer_from=origin.words,
        watch=Listening(
            observer=origin.position,
            heard=words.heard,
            range_m=words.range_m,
            antenna_m=words.antenna_m,
            target_antenna_m=words.target_antenna_m,
            p_transmitting=words.p_transmitting or 1.0,
            sender=line.sender,
            observer_sigma_m=origin_sigma_m(origin),
            time_utc=line.time_utc,
        ),
        questions=origin.questions,
    )


def ground_report(
    known: Whereabouts, moment: Moment, line: Said, words: GroundWords
) -> GroundReport:
    """Ground with its outline: a circle about a place, or the figure of several."""
    origins = [known.find(where, moment, line.sender) for where in words.where]
    if words.radius_m:
        outline = circle(origins[0].position, words.radius_m)
    else:
        outline = Polygon(tuple(origin.position for origin in origins))
    ground = Ground(outline, words.weight, line.text)
    questions = tuple(question for origin in origins for question in origin.questions)
    return GroundReport(line, line.subject, ground, questions)


def motion_report(line: Said, words: MotionWords) -> MotionReport:
    """How the subject moves."""
    if not line.subject:
        raise FormatError("what moves needs its name as the subject", line.text)
    motion = default_motion(words.kind) if words.kind else Motion(words.sigma_mps)
    return MotionReport(line, line.subject, motion)


def _origin(known: Whereabouts, moment: Moment, line: Said, where: str | None) -> Origin:
    if not line.subject:
        raise FormatError(
            f"{line.text!r} needs what it is about, a signal or a person, as the subject", line.text
        )
    return (
        known.own_place(line.sender, moment)
        if where is None
        else known.find(where, moment, line.sender)
    )


def origin_sigma_m(origin: Origin) -> float:
    """One standard deviation per axis of a place that is anywhere in its square."""
    # The spread of a uniform square, and what was stated beside it.
    return math.hypot(origin.size_m / math.sqrt(12.0), origin.sigma_m)
