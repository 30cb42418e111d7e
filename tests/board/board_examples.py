"""A rich invented incident, built by hand: stations, subjects, places, bearings, a fix."""

import datetime as dt
import math

from plotter.fix.result import BearingVerdict, ErrorEllipse, Fix, Piece, Polygon, Region
from plotter.formats.result import Reading
from plotter.geodesy.geodesic import direct_arrays, inverse_arrays
from plotter.geodesy.grid import latlon_from_utm, utm_from_latlon, zones_of
from plotter.geodesy.north import declination_deg
from plotter.geodesy.position import Position, Square
from plotter.reports.report import (
    BearingReport,
    NoteReport,
    Picture,
    PositionReport,
    Said,
    UnreadReport,
)

DAY = dt.date(2026, 5, 14)
NOW = dt.datetime(2026, 5, 14, 13, 20, tzinfo=dt.UTC)
# The ground is invented: only the figures are of this world. Zones 31 and 32 meet at 6 east.
CENTRE = Position(43.12, 6.03)
TARGET = Position(43.142, 6.071)


def utm_of(place, zone):
    easting, northing = utm_from_latlon([place.lat_deg], [place.lon_deg], zone)
    return float(easting[0]), float(northing[0])


def formats_stand_in(position):
    """Texts in the shape of each format, good enough to be carried and shown."""
    zone = int(zones_of([position.lat_deg], [position.lon_deg])[0])
    easting, northing = (
        float(v[0]) for v in utm_from_latlon([position.lat_deg], [position.lon_deg], zone)
    )
    return {
        "latlon": f"{position.lat_deg:.5f}N {position.lon_deg:.5f}E",
        "utm": f"{zone}T {easting:.0f} {northing:.0f}",
        "mgrs": f"{zone}TKN{int(easting) % 100000:05d}{int(northing) % 100000:05d}",
        "maidenhead": "JN33ag",
    }


def offset(place, bearing_true_deg, distance_m):
    lat, lon, _ = direct_arrays([place.lat_deg], [place.lon_deg], [bearing_true_deg], [distance_m])
    return Position(float(lat[0]), float(lon[0]))


def square_at(place, size_m):
    """The UTM square of one size that holds a place."""
    zone = int(zones_of([place.lat_deg], [place.lon_deg])[0])
    easting, northing = (
        float(v[0]) for v in utm_from_latlon([place.lat_deg], [place.lon_deg], zone)
    )
    west, south = math.floor(easting / size_m) * size_m, math.floor(northing / size_m) * size_m
    easts = [west, west + size_m, west + size_m, west, west + size_m / 2]
    norths = [south, south, south + size_m, south + size_m, south + size_m / 2]
    lats, lons = latlon_from_utm(easts, norths, zone, south=place.lat_deg < 0)
    corners = [Position(lat, lon) for lat, lon in zip(lats.tolist(), lons.tolist(), strict=True)]
    return Square(corners[4], size_m, tuple(corners[:4]))


def said(line, minutes_ago, sender, text, subject=""):
    time = None if minutes_ago is None else NOW - dt.timedelta(minutes=minutes_ago)
    return Said(line, time, sender, subject, text)


def position(
    line, ago, name, role, place, size_m=100.0, text="", others=(), questions=(), sender=None
):
    return PositionReport(
        said(line, ago, sender or name, text or f"{name} at grid", "" if sender is None else name),
        name,
        role,
        Reading("mgrs", square_at(place, size_m)),
        tuple(Reading("mgrs", square_at(other, size_m)) for other in others),
        tuple(questions),
    )


def bearing(line, ago, sender, observer, true_deg, sigma_deg, north="magnetic", questions=()):
    declination = declination_deg(observer, DAY)
    value = {"magnetic": true_deg - declination, "true": true_deg, None: true_deg}[north] % 360
    return BearingReport(
        said(line, ago, sender, f"whistle on {value:.0f}", "Whistle"),
        "Whistle",
        observer,
        30.0,
        "its own last position",
        value,
        north,
        true_deg,
        None if north else (true_deg + declination) % 360,
        sigma_deg,
        north is not None,
        tuple(questions),
    )


def blob(centre, semi_m, ratio, turn_deg, points=48):
    ring = []
    for index in range(points):
        angle = -2 * math.pi * index / points
        x, y = semi_m * math.cos(angle), semi_m * ratio * math.sin(angle)
        ring.append(offset(centre, math.degrees(math.atan2(x, y)) + turn_deg, math.hypot(x, y)))
    return Polygon(tuple(ring))


def true_bearing(a, b):
    _, bearing_deg, _ = inverse_arrays([a.lat_deg], [a.lon_deg], [b.lat_deg], [b.lon_deg])
    return float(bearing_deg[0])


STATIONS = {
    "Kestrel": offset(CENTRE, 220, 5200),
    "Plover": offset(CENTRE, 110, 6100),
    "Heron": offset(CENTRE, 20, 7400),
    "Dunlin": offset(CENTRE, 290, 6900),
    "Base Ivy": offset(CENTRE, 265, 1800),
}
SENDERS = ["Kestrel", "Plover", "Heron", "Dunlin", "Base Ivy", "Kestrel"]


def example_fix():
    other = offset(TARGET, 75, 4300)
    return Fix(
        best=TARGET,
        regions=(
            Region(0.5, 0.6, (Piece(0.5, TARGET, blob(TARGET, 620, 0.5, 30), 0.6),)),
            Region(
                0.95,
                3.4,
                (
                    Piece(0.81, TARGET, blob(TARGET, 1500, 0.55, 30), 2.6),
                    Piece(0.14, other, blob(other, 900, 0.4, 70), 0.8),
                ),
            ),
        ),
        bearings=tuple(
            BearingVerdict(sender, 0.31 if sender == "Dunlin" else 0.96, 0.01, 0.03, 1.5)
            for sender in SENDERS
        ),
        p_all_good=0.62,
        chi2=5.1,
        degrees_of_freedom=4,
        p_chi2=0.28,
        ellipse=ErrorEllipse(610.0, 330.0, 30.0),
        shape="point",
        findings=(
            "Most likely within 600 m of the best point; 2 places are possible.",
            "81 % for the western place, 14 % for the one 4.3 km east of it.",
            "Dunlin's bearing is probably wrong: ask for it again, and from which north.",
        ),
    )


def example_picture():
    places = [
        position(
            1, 300, "Fox Spring", "place", offset(CENTRE, 330, 3000), 10.0, "Fox Spring is at"
        ),
        position(2, 300, "Old Mill", "place", offset(CENTRE, 150, 2500), 10.0, "Old Mill is at"),
        position(
            3, 300, "Chapel Hut", "place", offset(CENTRE, 60, 3600), 100.0, "Chapel Hut is at"
        ),
    ]
    stations = [
        position(4 + i, 55 - 9 * i, name, "station", place, 100.0, f"{name} in position")
        for i, (name, place) in enumerate(STATIONS.items())
    ]
    moves = [
        position(
            10 + i, 190 - 40 * i, "Heron", "station", offset(CENTRE, 20 + 9 * i, 2000 + 1500 * i)
        )
        for i in range(3)
    ]
    subjects = [
        position(20, 100, "Two walkers", "subject", offset(CENTRE, 185, 1500), 1000.0,
                 "two walkers, one hurt, square of a kilometre", sender="Base Ivy"),
        position(21, 35, "Red tent", "subject", offset(CENTRE, 80, 5000), 100.0, "red tent seen",
                 others=(offset(CENTRE, 300, 5200),),
                 questions=("Two squares fit: ask for the second letter.",), sender="Plover"),
    ]  # fmt: skip
    aims = [("Kestrel", 2, 4), ("Plover", -3, 6), ("Heron", 1, 4), ("Dunlin", 24, 6)]
    bearings = [
        bearing(
            30 + i, 31 - 3 * i, name, STATIONS[name],
            true_bearing(STATIONS[name], TARGET) + error, sigma, "true" if i == 2 else "magnetic",
        )
        for i, (name, error, sigma) in enumerate(aims)
    ]  # fmt: skip
    ivy, second = STATIONS["Base Ivy"], offset(CENTRE, 200, 3100)
    ask = ("North not stated: ask.",)
    bearings += [
        bearing(34, 15, "Base Ivy", ivy, true_bearing(ivy, TARGET), 8, None, ask),
        bearing(35, 9, "Kestrel", second, true_bearing(second, TARGET), 4),
    ]
    fog = said(40, 7, "Base Ivy", "fog coming up the valley, all stations confirm batteries")
    notes = [NoteReport(fog)]
    broken = said(41, 5, "Dunlin", "at grid three two tango kilo ... broken")
    shapeless = said(42, None, "?", "13;;;20 no columns")
    unread = [
        UnreadReport(broken, "no grid reference could be read: ask for it again"),
        UnreadReport(shapeless, "the time '13;;;20' is not a time; use 13:20"),
    ]
    return Picture(
        "Missing party above Fox Spring",
        tuple(places + stations + moves + subjects),
        tuple(bearings),
        tuple(notes),
        tuple(unread),
    )
