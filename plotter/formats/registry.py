"""Every coordinate format the plotter reads and writes, in the order in which they are tried."""

from typing import Final

from plotter.formats import gars, geohash, georef, latlon, maidenhead, mgrs, olc, utm
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
    )
}
