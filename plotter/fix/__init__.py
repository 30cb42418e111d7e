"""From evidence to a fix: where the thing is, how sure that is, and what to do about it."""

from plotter.fix.evidence import Bearing, CommonError, Support, default_sigma_deg
from plotter.fix.ground import Ground
from plotter.fix.listening import Listening, radio_horizon_m
from plotter.fix.model import Evidence
from plotter.fix.motion import Motion, default_motion
from plotter.fix.ranges import Range
from plotter.fix.result import (
    BearingVerdict,
    ErrorEllipse,
    Fix,
    Piece,
    Polygon,
    Region,
    ReportVerdict,
)
from plotter.fix.sightings import Sighting, circle_sigma_m
from plotter.fix.solve import fix

__all__ = [
    "Bearing",
    "BearingVerdict",
    "CommonError",
    "ErrorEllipse",
    "Evidence",
    "Fix",
    "Ground",
    "Listening",
    "Motion",
    "Piece",
    "Polygon",
    "Range",
    "Region",
    "ReportVerdict",
    "Sighting",
    "Support",
    "circle_sigma_m",
    "default_motion",
    "default_sigma_deg",
    "fix",
    "radio_horizon_m",
]
