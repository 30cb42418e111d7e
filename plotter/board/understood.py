"""What the lines about a thing looked for were taken to mean, in words."""

import math

from plotter.board.words import length_in_words
from plotter.reports.report import DistanceReport, GroundReport, MotionReport, WatchReport

__all__ = ["understood_distance", "understood_ground", "understood_motion", "understood_watch"]


def understood_distance(report: DistanceReport) -> str:
    """Say a distance, its error, and from where."""
    error = f"± {length_in_words(report.sigma_m)}" if report.sigma_m else "guessed"
    return (
        f"{length_in_words(report.distance_m)} to {report.name}, {error}, "
        f"from {report.observer_from}"
    )


def understood_watch(report: WatchReport) -> str:
    """Say a watch: heard or not, how far it hears, and from where."""
    watch = report.watch
    heard = "heard" if watch.heard else "not heard"
    duty = (
        f", on the air {watch.p_transmitting:.0%} of the time" if watch.p_transmitting < 1 else ""
    )
    far = (
        f"half of such watches hear {length_in_words(watch.half_heard_m)} far"
        if math.isfinite(watch.half_heard_m)
        else "how far such watches hear was not said"
    )
    return f"{report.name} {heard} from {report.observer_from}; {far}{duty}"


def understood_ground(report: GroundReport) -> str:
    """Say how likely the ground is beside other ground, and for what that holds."""
    weight = report.ground.weight
    if weight == 0.0:
        words = "ruled out"
    elif weight < 1.0:
        words = f"searched, {1.0 - weight:.0%} would have been found"
    else:
        words = f"{weight:g} times as likely as ground elsewhere"
    return f"{words}, for {report.name or 'everything that is looked for'}"


def understood_motion(report: MotionReport) -> str:
    """Say how fast it moves."""
    return (
        f"{report.name} moves, {report.motion.sigma_mps:.2g} m/s along each axis (standard "
        "deviation), in an unknown direction"
    )
