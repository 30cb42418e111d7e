"""How good a fix can be at best, and whether its bearings agree: error ellipse and chi-square."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from plotter.errors import FormatError
from plotter.fix.chart import AnyChart, chart_at, sights
from plotter.fix.evidence import Bearing
from plotter.fix.model import Evidence, Model
from plotter.fix.ranges import GUESS_LOG_SD, Range
from plotter.fix.result import ErrorEllipse
from plotter.fix.sightings import Sighting
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.position import Position

__all__ = [
    "chi_square_tail",
    "circle_radius_m",
    "ellipse_scale",
    "error_ellipse",
    "information",
    "least_chi_square",
]

# An observer's place is never known better than this for the purpose of a test of agreement.
_LEAST_OBSERVER_SIGMA_M: Final = 15.0
_STEPS: Final = 12


def information(evidence: Sequence[Evidence], at: Position) -> FloatArray:
    """Fisher information of reports about a place, if all are right.

    Returns
    -------
    ndarray, shape (2, 2)
        East and north, 1/m²: J = Σ t t' / s² with s the error across the line of a bearing, along
        the line of a distance, each with that of the observer's place, and t the unit vector there.
        Watches add nothing.
    """
    chart = chart_at(at)
    bearings = [each for each in evidence if isinstance(each, Bearing)]
    total = np.zeros((2, 2))
    if bearings:
        along = sights(chart, [b.observer for b in bearings])
        # At the chart's own centre the surface is level, so up does not enter the slopes.
        across, ahead = along.components(np.zeros((3, 1)))
        distance2 = across * across + ahead * ahead
        slope = (along.east[:, :2] * ahead - along.north[:, :2] * across) / distance2
        sigma = np.radians(as_float([[b.sigma_deg] for b in bearings]))
        own = as_float([[b.observer_sigma_m] for b in bearings])
        total += (slope / (sigma**2 + own**2 / distance2)).T @ slope
    for each in evidence:
        if isinstance(each, Range):
            way = chart.points([each.observer])[:2, 0]
            distance = float(np.hypot(*way))
            sd = each.sigma_m or (each.log_sd or GUESS_LOG_SD) * distance
            total += np.outer(way, way) / (distance * math.hypot(sd, each.observer_sigma_m)) ** 2
        elif isinstance(each, Sighting):
            total += np.eye(2) / each.observer_sigma_m**2
    return total


def error_ellipse(evidence: Sequence[Evidence], at: Position) -> ErrorEllipse | None:
    """Cramér–Rao ellipse at one standard deviation.

    Parameters
    ----------
    evidence : sequence
        All taken to be right.
    at : Position
        Where the thing is taken to be.

    Returns
    -------
    ErrorEllipse or None
        None where the reports leave a direction open.
    """
    if any(each.observer == at for each in evidence if not isinstance(each, Sighting)):
        return None
    values, vectors = np.linalg.eigh(information(evidence, at))
    if not values[0] > 1e-9 * values[1]:
        return None
    east, north = vectors[:, 0]
    return ErrorEllipse(
        1.0 / math.sqrt(values[0]),
        1.0 / math.sqrt(values[1]),
        math.degrees(math.atan2(east, north)) % 180.0,
    )


def ellipse_scale(probability: float) -> float:
    """Factor from the 1-sigma ellipse to the one that holds a probability.

    Source
    ------
    Chi-square with two degrees of freedom: k = √(−2 ln(1−P)).

    Examples
    --------
    >>> round(ellipse_scale(0.95), 4)
    2.4477
    """
    if not 0.0 <= probability < 1.0:
        raise FormatError(f"a probability must be at least 0 and below 1, got {probability!r}")
    return math.sqrt(-2.0 * math.log1p(-probability))


def circle_radius_m(ellipse: ErrorEllipse, probability: float) -> float:
    """Radius of the circle about the middle of an error ellipse that holds a probability.

    Parameters
    ----------
    ellipse : ErrorEllipse
        At one standard deviation.
    probability : float
        0.5 for the circular error probable, 0.95 for R95.

    Returns
    -------
    float
        Metres, to 1e-9 of itself.
    """
    a, b = ellipse.semi_major_m, ellipse.semi_minor_m
    low, high = 0.0, ellipse_scale(probability) * a
    # In the ellipse's own polar coordinates the radial part is elementary, and the rest is smooth
    # and periodic, so that evenly spaced angles converge fast.
    angle = (np.arange(1024) + 0.5) * (2.0 * np.pi / 1024)
    width2 = (a * np.cos(angle)) ** 2 + (b * np.sin(angle)) ** 2
    for _ in range(60):
        middle = 0.5 * (low + high)
        held = float(np.mean(-np.expm1(-0.5 * middle**2 / width2)))
        low, high = (middle, high) if held < probability else (low, middle)
    return 0.5 * (low + high)


def least_chi_square(
    chart: AnyChart, model: Model, x_m: float, y_m: float
) -> tuple[float, tuple[float, float]]:
    """Least sum of squared residuals over their variances near a point (Gauss–Newton).

    Parameters
    ----------
    chart : Chart or WideChart
        The chart.
    model : Model
        The reports, all taken to be right; their places no better known than 15 m.
    x_m, y_m : float
        Where to start.

    Returns
    -------
    chi2 : float
        The least value met.
    point_m : tuple of float
        Where.
    """

    def scaled(x: float, y: float) -> tuple[float, FloatArray, FloatArray]:
        step = 1.0
        points = chart.lift(as_float([x, x + step, x]), as_float([y, y, y + step]))
        each = model.residuals_in_sigmas(points, _LEAST_OBSERVER_SIGMA_M)
        values = each[:, 0]
        return float(values @ values), values, (each[:, 1:] - each[:, :1]) / step

    least, values, slope = scaled(x_m, y_m)
    for _ in range(_STEPS):
        move = np.linalg.lstsq(slope, -values, rcond=1e-6)[0]
        size = 1.0
        while size > 1e-3:
            x, y = x_m + size * float(move[0]), y_m + size * float(move[1])
            if math.hypot(x, y) < 3e6:
                chi2, new_values, new_slope = scaled(x, y)
                if chi2 < least:
                    break
            size *= 0.25
        else:
            break
        settled = least - chi2 < 1e-6 * (1.0 + least)
        least, values, slope, x_m, y_m = chi2, new_values, new_slope, x, y
        if settled:
            break
    return least, (x_m, y_m)


def chi_square_tail(chi2: float, degrees_of_freedom: int) -> float:
    """Chance of a larger chi-square than this one.

    Source
    ------
    Upward recurrence of the incomplete gamma function, Abramowitz & Stegun (1964) 26.4.4–5, from
    memory; compared with another library in the tests.

    Examples
    --------
    >>> round(chi_square_tail(5.991464547, 2), 6)
    0.05
    """
    if degrees_of_freedom <= 0:
        return 1.0
    half = 0.5 * chi2
    if degrees_of_freedom % 2:
        tail, order = math.erfc(math.sqrt(half)), 0.5
    else:
        tail, order = math.exp(-half), 1.0
    while order < 0.5 * degrees_of_freedom:
        if half > 0.0:
            tail += math.exp(order * math.log(half) - half - math.lgamma(order + 1.0))
        order += 1.0
    return min(tail, 1.0)
