"""Every coordinate format the plotter reads and writes, in the order in which they are tried."""

from typing import Final

from plotter.formats import (
    epsg,
    gars,
    geohash,
    georef,
    latlon,
    lettered,
    maidenhead,
    mga,
    mgrs,
    national,
    olc,
    utm,
)
from plotter.formats.protocol import Format

__all__ = ["FORMATS"]

FORMATS: Final[dict[str, Format]] = {
    each.name: each
    for each in (
        mgrs.FORMAT,
        utm.UTM_FORMAT,
        utm.UPS_FORMAT,
        maidenhead.FORMAT,
        latlon.FORMAT,
        gars.FORMAT,
        georef.FORMAT,
        olc.FORMAT,
        geohash.FORMAT,
        *lettered.FORMATS,
        *national.FORMATS,
        mga.FORMAT,
        epsg.FORMAT,
    )
}
