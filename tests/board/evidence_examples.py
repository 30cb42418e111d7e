"""A small invented incident with every kind of report about the things that are looked for."""

import datetime as dt

from plotter.geodesy.position import Area, Position
from plotter.reports.replay import replay
from plotter.reports.report import Said

NINE = dt.datetime(2026, 5, 14, 9, 0, tzinfo=dt.UTC)
# The ground is invented: only the figures are of this world.
HOME = Position(43.12, 6.03)
LINES = [
    (0, "Desk", "Fox Spring", "place 43.143N 6.010E"),
    (0, "Desk", "Old Mill", "place 43.100N 6.045E"),
    (1, "Kestrel", "", "43.0840N 5.9890E"),
    (2, "Plover", "", "43.1010N 6.1000E"),
    (3, "Heron", "", "43.1820N 6.0610E"),
    (4, "Dunlin", "", "43.1410N 5.9500E"),
    (5, "Desk", "Beacon", "moving walker"),
    (10, "Kestrel", "Beacon", "bearing 035 true ± 4"),
    (20, "Plover", "Beacon", "bearing 318 true ± 5"),
    (50, "Heron", "Beacon", "bearing 165 true ± 5"),
    (80, "Plover", "Beacon", "bearing 348 true ± 4"),
    (90, "Kestrel", "Beacon", "bearing 050 true ± 4"),
    (70, "Plover", "Whistle", "distance 3.4 km ± 200 m"),
    (72, "Kestrel", "Whistle", "distance 6 km guessed"),
    (73, "Heron", "Whistle", "bearing 200 true ± 8"),
    (75, "Dunlin", "Whistle", "not heard within 4 km"),
    (77, "Dunlin", "Whistle", "not heard within 4 km"),
    (85, "Heron", "Whistle", "heard within 5 km"),
    (91, "Desk", "Whistle", "searched 700 m around Old Mill 70 %"),
    (92, "Desk", "", "ruled out 1 km around Fox Spring"),
    (93, "Desk", "Whistle", "likely inside 43.12N 6.05E; 43.13N 6.09E; 43.11N 6.09E 3 times"),
]


def evidence_picture(lines=LINES, home=HOME):
    return replay(
        [
            Said(i, NINE + dt.timedelta(minutes=minutes), sender, subject, text)
            for i, (minutes, sender, subject, text) in enumerate(lines, start=1)
        ],
        title="Two signals above Fox Spring",
        area=Area(home, 40e3),
    )
