"""Makes the demo's reports: three invented hours by radio, with the usual mistakes in them.

Run from the top of the checkout, after `make_island.py`::

    python demo_scenario/make_reports.py

The bearings are taken from invented places towards a known true place, with errors drawn from one
seed; the true place goes to `truth.json`, which only the demo's last lines read.
"""

import csv
import datetime as dt
import json
from pathlib import Path

import numpy as np

from plotter.formats import FORMATS
from plotter.formats.latlon import format_latlon
from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.mgrs import format_mgrs
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.north import bearing_magnetic_from_true_deg
from plotter.geodesy.position import Position

SEED = 314
HERE = Path(__file__).parent
START = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
TRUTH = Position(-38.3745, -22.4180)

PLACES = {
    "Port Ellery quay": Position(-38.46655, -22.23860),
    "Quern chapel": Position(-38.42932, -22.34008),
    "Tern Point light": Position(-38.40662, -22.19658),
    "Kestle bridge": Position(-38.40710, -22.46380),
    "Sallow school": Position(-38.36122, -22.31594),
    "Dunmarrow hall": Position(-38.46932, -22.39597),
}
NORTH_TEAM = Position(-38.36420, -22.35310)
RIDGE_TEAM = Position(-38.40460, -22.35890)
HARBOUR_TEAM = Position(-38.44970, -22.27250)
WEST_TEAM = Position(-38.41920, -22.47380)
BOAT = Position(-38.33350, -22.40700)
CLINIC = Position(-38.42860, -22.33850)


def mgrs_spoken(place: Position, figures: int = 5) -> str:
    """Reference in spoken groups."""
    text = format_mgrs(place, figures)
    return f"{text[:3]} {text[3:5]} {text[5 : 5 + figures]} {text[5 + figures :]}"


def utm(place: Position) -> str:
    """UTM as our own formatter writes it."""
    return FORMATS["utm"].write(place, 1.0)


def bearing(rng: np.random.Generator, observer: Position, sigma_deg: float, north: str) -> str:
    """A bearing from an observer to the true place, with its error, as said."""
    true = geodesic(observer, TRUTH).bearing_true_deg + rng.normal(0, sigma_deg)
    said = true
    if north == "magnetic":
        said = bearing_magnetic_from_true_deg(true, observer, START.date())
    return f"{round(said) % 360:03d}"


def reports() -> list[tuple[int, str, str, str]]:
    """Minutes after nine, sender, subject, report."""
    rng = np.random.default_rng(SEED)
    north = bearing(rng, NORTH_TEAM, 5, "magnetic")
    ridge = bearing(rng, RIDGE_TEAM, 5, "magnetic")
    harbour = bearing(rng, HARBOUR_TEAM, 5, "magnetic")
    west = bearing(rng, WEST_TEAM, 5, "magnetic")
    boat = bearing(rng, BOAT, 4, "true")
    clinic = bearing(rng, CLINIC, 5, "magnetic")
    reciprocal = f"{(int(west) + 180) % 360:03d}"
    moved_ridge = destination(RIDGE_TEAM, 300, 900)
    moved_west = destination(WEST_TEAM, 25, 1300)
    moved_harbour = destination(HARBOUR_TEAM, 320, 2100)
    misheard = mgrs_spoken(moved_harbour)
    # One figure of the northing misheard, five for nine or the like: tens of kilometres off.
    at = misheard.rindex(" ") + 1
    misheard = misheard[:at] + {"4": "0", "5": "9"}.get(misheard[at], "0") + misheard[at + 1 :]
    places = list(PLACES.items())
    walkers = Position(-38.43900, -22.41120)
    return [
        (0, "Desk", "", "incident Storm Brannock, Isle of Varrow"),
        (0, "Desk", "", "area 25 km around 38.42S 22.35W"),
        (1, "Desk", places[0][0], f"place {mgrs_spoken(places[0][1])}"),
        (1, "Desk", places[1][0], f"place {format_latlon(places[1][1], 'ddm', 3)}"),
        (2, "Desk", places[2][0], f"place {format_latlon(places[2][1], 'dms', 1)}"),
        (2, "Desk", places[3][0], f"place {utm(places[3][1])}"),
        (3, "Desk", places[4][0], f"place {format_latlon(places[4][1], 'dd', 5)}"),
        (3, "Desk", places[5][0], f"place {format_maidenhead(places[5][1], 10)}"),
        (6, "Harbour team", "", mgrs_spoken(HARBOUR_TEAM)),
        # No grid zone: completed from the area of operations, and asked.
        (8, "North team", "", mgrs_spoken(NORTH_TEAM)[4:]),
        (11, "Ridge team", "", format_latlon(RIDGE_TEAM, "ddm", 2)),
        # The S is taken for the southern hemisphere, which it is here.
        (14, "West team", "", utm(WEST_TEAM).replace("27H", "27S")),
        (17, "Clinic", "", "at Quern chapel"),
        (20, "Boat Two", "", f"{-BOAT.lat_deg:.4f} S, {-BOAT.lon_deg:.4f} W"),
        (22, "Desk", "", "note weak signal heard by several stations, no position given"),
        (24, "North team", "weak station", f"bearing {north} magnetic ± 5"),
        (27, "Ridge team", "weak station", f"bearing {ridge} magnetic"),
        (30, "Clinic", "injured man", "2.4 km on 240 magnetic from Quern chapel"),
        # The north is not stated.
        (33, "Harbour team", "weak station", f"bearing {harbour} ± 5"),
        # The opposite direction.
        (37, "West team", "weak station", f"bearing {reciprocal} magnetic ± 5"),
        (41, "Boat Two", "weak station", f"bearing {boat} true ± 4"),
        (45, "Clinic", "weak station", f"bearing {clinic} magnetic ± 6 from Quern chapel"),
        (48, "Ridge team", "", mgrs_spoken(moved_ridge, 4)),
        (52, "North team", "two walkers", f"{-walkers.lat_deg:.3f}, {-walkers.lon_deg:.3f}"),
        (55, "Desk", "", "note ask Harbour team which north, ask West team for the sense"),
        # Said north for south.
        (58, "Boat Two", "", "38 19.80N 022 26.10W"),
        (63, "Boat Two", "", "38 19.80S 022 26.10W"),
        (67, "Harbour team", "", misheard),
        (71, "Harbour team", "", mgrs_spoken(moved_harbour)),
        (75, "West team", "", utm(moved_west)),
        (80, "Ridge team", "blocked road", "600 m on 045 true from Kestle bridge"),
        (84, "Clinic", "", "note two stretchers ready"),
        # Nothing that can be plotted, and not marked as a note.
        (88, "North team", "", "somewhere past the old quarry, cannot see anything"),
        (93, "Desk", "family of four", f"{format_maidenhead(Position(-38.4702, -22.3302), 6)}"),
        (98, "North team", "", mgrs_spoken(destination(NORTH_TEAM, 250, 1500), 4)),
        (104, "Boat Two", "drifting boat", "3 nm on 250 true from Tern Point light"),
        (111, "Ridge team", "", mgrs_spoken(destination(moved_ridge, 290, 1200))),
        (120, "West team", "", "note slope above the river is moving, keeping off it"),
        (128, "Clinic", "injured man", mgrs_spoken(Position(-38.4311, -22.3655), 3)),
        (139, "Harbour team", "", "at Quern chapel"),
        (150, "Boat Two", "", "38-20.15S 022-27.40W"),
        (163, "Ridge team", "smoke", "bearing 310 magnetic ± 10"),
        (171, "Desk", "", "note next radio check 12:15"),
    ]


def main() -> None:
    """Write the reports and the truth."""
    with (HERE / "reports.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["time_utc", "sender", "subject", "report"])
        for minutes, sender, subject, report in reports():
            when = START + dt.timedelta(minutes=minutes)
            writer.writerow([f"{when:%Y-%m-%dT%H:%MZ}", sender, subject, report])
    truth = {"weak station": {"lat_deg": TRUTH.lat_deg, "lon_deg": TRUTH.lon_deg}}
    (HERE / "truth.json").write_text(json.dumps(truth, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
