"""Positions read by the board's script in Chromium against the Python core: the same squares."""

import json
from importlib.resources import files

import numpy as np
import pytest
from board_examples import DAY

from plotter.board.instrument_data import instrument_data
from plotter.errors import FormatError
from plotter.formats import FORMATS, reading
from plotter.formats.latlon import format_latlon
from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.mgrs import format_mgrs
from plotter.formats.result import asks_of
from plotter.formats.utm import format_ups, format_utm
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.grid import zone_of
from plotter.geodesy.position import Position

pytestmark = pytest.mark.browser
NAMES = {
    "Latitude and longitude": "latlon",
    "MGRS": "mgrs",
    "UTM": "utm",
    "UPS": "ups",
    "Maidenhead": "maidenhead",
}
SCRIPTS = ("geodesic", "grids_of_place", "read_angles", "read_mgrs", "read_positions")
READ = """texts => texts.map(text => { try { return meaningsOf(text); }
  catch (error) { return error.constructor === Error ? error.message : "broken: " + error; } })"""


@pytest.fixture(scope="module")
def read(chromium):
    context = chromium.new_context(offline=True)
    page = context.new_page()
    scripts = "".join(
        files("plotter.board").joinpath("assets", f"{name}.js").read_text("utf-8")
        for name in SCRIPTS
    )
    page.add_script_tag(content=f"var figures = {json.dumps(instrument_data(DAY))};{scripts}")
    yield lambda texts: page.evaluate(READ, list(texts))
    context.close()


def core(text):
    """What the core reads in these five formats, or its refusal."""
    try:
        return [r for r in reading(text) if r.format in NAMES.values()]
    except FormatError as error:
        return str(error)


def apart_m(points, others):
    a, b = np.array(points, dtype=float), np.array(others, dtype=float)
    return inverse_arrays(a[:, 0], (a[:, 1] + 180) % 360 - 180, b[:, 0], b[:, 1])[0].max()


def assert_same(text, ours):
    theirs = core(text)
    if isinstance(theirs, str) or not theirs:
        assert isinstance(ours, str), text
        return
    if asks_of(theirs):  # what the core asks about, a page does not show
        assert isinstance(ours, str), (text, ours)
        return
    # The core reads degrees in more notations than a page does: there the page may refuse in words.
    if isinstance(ours, str) and {r.format for r in theirs} == {"latlon"}:
        assert ours.endswith("."), (text, ours)
        return
    assert not isinstance(ours, str), (text, ours)
    assert [NAMES[one["format"]] for one in ours] == [r.format for r in theirs], text
    for one, other in zip(ours, theirs, strict=True):
        corners = [(p.lat_deg, p.lon_deg) for p in other.square.corners]
        assert len(corners) == len(one["corners"]), text
        centre = (other.square.centre.lat_deg, other.square.centre.lon_deg)
        assert apart_m([one["centre"], *one["corners"]], [centre, *corners]) < 1e-3, text
        assert one["size"] == pytest.approx(other.square.size_m, rel=1e-9), text
        assert len(one["assumed"]) == len(other.assumed), text


def written(place, pick):
    """A place in one of many notations."""
    grid = format_utm if zone_of(place) else format_ups
    mgrs = format_mgrs(place, int(pick.integers(0, 6)))
    plain = grid(place, float(pick.choice([1.0, 0.1])))
    side = "north" if place.lat_deg >= 0 else "south"
    bare = " ".join(plain.replace(" north", "").split()[1:])
    notations = [
        format_latlon(place, "dd", int(pick.integers(0, 8))),
        format_latlon(place, "ddm", int(pick.integers(0, 4))),
        format_latlon(place, "dms", int(pick.integers(0, 3))),
        format_latlon(place, "dms", 0).replace("°", " ").replace("'", " ").replace('"', ""),
        f"{place.lat_deg:.5f}, {place.lon_deg:.5f}",
        f"{place.lat_deg:+08.4f}{place.lon_deg:+09.4f}/",
        f"geo:{place.lat_deg:.4f},{place.lon_deg:.4f}",
        f"Lat {place.lat_deg:.3f} Long {place.lon_deg:.3f}",
        mgrs,
        f" {mgrs.lower()[:5]} {mgrs[5:]}",
        plain,
        f"{zone_of(place)} {side} {bare}" if zone_of(place) else f"UPS {side} {bare}",
        f"zone {zone_of(place)} {bare}",
        plain.replace(" north", ""),
        format_maidenhead(place, int(pick.choice([2, 4, 6, 8, 10]))),
    ]
    return notations[int(pick.integers(0, len(notations)))]


def test_the_same_squares_as_the_core(read):
    """Random places in fifteen notations; zone edges, the poles, Norway and Svalbard among them."""
    pick = np.random.default_rng(7)
    lat = np.degrees(np.arcsin(pick.uniform(-1, 1, 1500)))
    lon = pick.uniform(-180, 180, 1500)
    lat[:100], lon[:100] = pick.uniform(72, 84, 100), pick.uniform(0, 42, 100)
    lat[100:160], lon[100:160] = pick.uniform(56, 64, 60), pick.uniform(0, 12, 60)
    lat[160:300] = pick.choice([-80.0001, -79.9999, 83.9999, 84.0001, -1e-7, 1e-7, 35.0, -5.0], 140)
    lon[300:400] = 6.0 * pick.integers(-30, 30, 100) + pick.normal(0, 1e-3, 100)
    lat[400:500] = pick.uniform(32, 40, 100)  # band S, or the southern hemisphere
    texts = [
        written(Position(a, (o + 180) % 360 - 180), pick)
        for a, o in zip(lat.tolist(), lon.tolist(), strict=True)
    ]
    found = read(texts)
    for text, ours in zip(texts, found, strict=True):
        assert_same(text, ours)
    assert sum(isinstance(ours, str) for ours in found) < 200
    assert sum(len(ours) == 2 for ours in found if not isinstance(ours, str)) > 3


@pytest.mark.parametrize(
    "text",
    [
        "18S 323483 4306479", "18 S 323483 8306479", "18S south 323483 4306479", "MB 44 88",
        "31U 448251 5411932", "31T 448251 5411932", "31 448251 5411932", "448251 5411932",
        "31U DQ 482 1193", "31U DQ 482", "31U IQ 48 11", "61U DQ 48 11", "32X MB 44 88",
        "31V EG 12345 67890", "ZAB 12345 67890", "Z 2663075 1930307", "A 2663075 1930307",
        "48 51 29N 2 17 40E", "48°51'29\"N, 2°17'40\"E", "S 33 51.5 E 151 12.9", "48,8582 2,2945",
        "2.2945E 48.8582N", "151.2 -33.8", "-33.8 151.2", "48.5N -2.5E", "48 61 N 2 E", "91N 2E",
        "48N 181E", "485129N 0021740E", "48.5N 2.5N", "12 34 56", "1.5.5 3", "JN58td", "JN 58 td",
        "SR99", "JN58zz", "RR99xx99xx", "48º 51′ 29″ N 2º 17′ 40″ E", "４８.５N ２.３E",
        "48.5N 2.3E WGS84",
        "38SMB4488", "38S MB 4 4 8 8", "usng 18S UJ 234 064", "MGRS: 31UDQ", "48.8582 2.2945.",
        "48.5sN 2 3 4sE", "48 30 15s 2 3 4w", "60X XX 12 34", "17N 500000 0", "17M 500000 9999999",
    ],
)  # fmt: skip
def test_chosen_texts(read, text):
    assert_same(text, read([text])[0])


@pytest.mark.parametrize(
    "text",
    [
        "48.8582N 2.2945E", "N48.8582 E2.2945", "48.8582 -2.2945", "48,8582 2,2945",
        "48.8582, 2.2945",
        "48 51.49N 2 17.67E", "48°51.49'N 2°17.67'E", "48 51 29N 2 17 40E", "485129N 0021740E",
        "48°51'29\"N, 2°17'40\"E", "S 33 51.5 E 151 12.9", "Lat: 48.8582, Long: -2.2945",
        "48.8582 north 2.2945 west", "+48.8582+002.2945/", "geo:48.8582,2.2945", "2.2945E 48.8582N",
    ],
)  # fmt: skip
def test_usual_notations_are_read_here_too(read, text):
    (found,) = read([text])
    assert not isinstance(found, str), found
    assert_same(text, found)


HOSTILE = [
    "", " ", "\x00", "\ud800", "<img src=x onerror=alert(1)>", "a" * 300, "9" * 200,
    "1" * 30 + " 2",
    "NNNN", "- -", "°°°°", "N S E W", "1e5 2e5", "Infinity NaN", "NaN, NaN", "constructor 1 2",
    "__proto__ 4", "48.5N 2.5E ED50", "on NAD27 48.5N 2.5E", "31UDQ4825111932 ED50", "٣٤.٥ ٤٤.٥",
    "18S 1e5 1e6", "31U 4482510000000 5411932000000", "((((((((((", "48.5;2.5;3.5", "48//2",
    "north south", "utm utm utm 1 2 3", "zone 31 east 448251 north 5411932", "\u202e48N 2E",
    "+" * 199, "0" * 199 + "N", "1 " * 99, "N1 " * 60, "JN58td JN58td", "00A AA 00", "0U DQ 1 1",
]  # fmt: skip


def test_hostile_texts_are_told_in_words_and_never_read_otherwise_than_by_the_core(read):
    pick = np.random.default_rng(8)
    letters = list("0123456789NSEW .,°'\"-+:/ABDQU\t")
    noise = ["".join(pick.choice(letters, int(pick.integers(1, 24)))) for _ in range(1500)]
    texts = HOSTILE + noise
    for text, ours in zip(texts, read(texts), strict=True):
        if isinstance(ours, str):
            assert not ours.startswith("broken")
            assert ours.endswith("."), (text, ours)
        # Figures of other scripts and the like may be refused here; nothing may be read otherwise.
        if text not in HOSTILE or not isinstance(ours, str):
            assert_same(text, ours)


def test_the_examples_that_are_named_are_read(read):
    from re import findall

    told = read(["what?"])[0]
    examples = told.split("such as ")[1].rstrip(".").replace(" or ", " ").split(", ")
    assert len(examples) == 6
    for text, ours in zip(examples, read(examples), strict=True):
        assert not isinstance(ours, str), ours
        assert len(ours) == 1
        assert findall(r"\d", text)
    assert set(NAMES.values()) <= set(FORMATS)
