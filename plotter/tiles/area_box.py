"""The box of latitude and longitude about an area of operations."""

from plotter.geodesy.geodesic import destination
from plotter.geodesy.position import Area
from plotter.tiles.grid import Box

__all__ = ["box_of_area"]


def box_of_area(area: Area) -> Box:
    """Box about a circle on the ground; it runs on past 180 degrees where the circle does.

    A circle that holds a pole gets the whole turn.
    """
    north = destination(area.centre, 0.0, area.radius_m).lat_deg
    south = destination(area.centre, 180.0, area.radius_m).lat_deg
    to_pole_deg = 90.0 - abs(area.centre.lat_deg)
    if area.radius_m >= to_pole_deg * 110_000.0:
        edge = min(north, south) if area.centre.lat_deg > 0 else max(north, south)
        limits = (edge, 90.0) if area.centre.lat_deg > 0 else (-90.0, edge)
        return Box(limits[0], -180.0, limits[1], 180.0)
    # A circle's easternmost point lies a little poleward of its middle.
    east = max(
        (destination(area.centre, b, area.radius_m).lon_deg - area.centre.lon_deg) % 360.0
        for b in range(45, 136, 5)
    )
    return Box(south, area.centre.lon_deg - east, north, area.centre.lon_deg + east)
