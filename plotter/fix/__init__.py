"""From bearings to a fix: where the thing is, how sure that is, and what to do about it."""

from plotter.fix.evidence import Bearing, Support, default_sigma_deg
from plotter.fix.result import BearingVerdict, ErrorEllipse, Fix, Piece, Polygon, Region
from plotter.fix.solve import fix

__all__ = [
    "Bearing",
    "BearingVerdict",
    "ErrorEllipse",
    "Fix",
    "Piece",
    "Polygon",
    "Region",
    "Support",
    "default_sigma_deg",
    "fix",
]
