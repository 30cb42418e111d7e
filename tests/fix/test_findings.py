import re
from dataclasses import replace

import pytest
from fix_families import BY_NAME, TRUTH, ahead, azimuth

from plotter.fix import Bearing, Support, fix
from plotter.fix.meeting import meeting
from plotter.geodesy.position import Position

SUPPORT = Support(30e3, TRUTH)


def post(name, place_km_deg, bearing_deg, sigma_deg=5.0, **kwargs):
    distance_km, angle = place_km_deg
    return Bearing(
        ahead(TRUTH, angle, 1000.0 * distance_km), bearing_deg, sigma_deg, name, **kwargs
    )


GOOD_CROSS = [
    post("Ash", (5, 180), 4.0),
    post("Birch", (5, 270), 88.0),
    post("Cedar", (5, 0), 177.0),
]
TWO = [
    post("Ash", (5, 150), 330.0, 2.0, exact=True),
    post("Birch", (5, 210), 30.0, 2.0, exact=True),
]
DIVERGING = [post("Ash", (5, 270), 357.0), post("Birch", (5, 90), 2.0)]
CONTRADICTING = [post("Ash", (5, 150), 150.0), post("Birch", (5, 210), 30.0)]
ONE = [post("Ash", (5, 180), 0.0)]
DISAGREEING = [
    post("Ash", (5, 180), 50.0),
    post("Birch", (5, 270), 90.0),
    post("Cedar", (5, 0), 180.0),
]
TORN = [replace(b, exact=True) for b in (post("Ash", (5, 180), 60.0, 3.0), *DISAGREEING[1:])]
NARROW = [
    post("Ash", (10, 177), 357.0, 3.0),
    post("Birch", (10, 183), 3.0, 3.0),
    post("Cedar", (10, 180), 0.5, 3.0),
]
UNSTATED = [replace(GOOD_CROSS[0], other_true_deg=14.0), *GOOD_CROSS[1:]]
RECIPROCAL = [
    post("Ash", (5, 150), 150.0),
    post("Birch", (5, 200), 22.0),
    post("Cedar", (5, 250), 69.0),
    post("Dogwood", (5, 320), 141.0),
]
ALL = [
    GOOD_CROSS,
    TWO,
    DIVERGING,
    CONTRADICTING,
    ONE,
    DISAGREEING,
    NARROW,
    UNSTATED,
    RECIPROCAL,
    TORN,
]


def said(bearings, support=SUPPORT):
    return fix(bearings, support).findings


def area_km2(words):
    value, unit = words.split()
    return float(value) * {"km²": 1.0, "ha": 0.01}[unit]


@pytest.mark.parametrize("bearings", ALL)
def test_house_style(bearings):
    for sentence in said(bearings):
        assert sentence[0].isupper() or sentence[0].isdigit()
        assert sentence.endswith(".")
        assert "!" not in sentence
        # A three-figure bearing never stands without its north.
        assert not re.search(r"\d{3}°(?! true)", sentence)
        assert len(sentence) < 300


def test_three_that_agree():
    first, second, third, trust = said(GOOD_CROSS)
    assert re.fullmatch(
        r"95 % region [\d.]+ km²; best point [45]\.\d km from \w+ on \d{3}° true\.", first
    )
    assert second.startswith("Search the 50 % region first")
    assert "one time in four" in third
    assert trust.startswith("The ± of the bearings are half trusted")
    face_value = [replace(b, exact=True) for b in GOOD_CROSS]
    stated = area_km2(re.search(r"would be about ([\d.]+ \S+)\.$", trust)[1])
    assert stated == pytest.approx(fix(face_value, SUPPORT).regions[1].area_km2, rel=0.08)
    otherwise = area_km2(re.search(r"would be about ([\d.]+ \S+)\.$", said(face_value)[-1])[1])
    assert otherwise == pytest.approx(fix(GOOD_CROSS, SUPPORT).regions[1].area_km2, rel=0.15)


def test_two_bearings_have_a_headline_and_a_doubt():
    headline, doubt, what_to_do, trust = said(TWO)
    assert headline.startswith("If both bearings are right: 95 % region ")
    stated = float(re.search(r"region ([\d.]+) ha", headline)[1])
    # Two lines at 60°, 5 km, 2°: 5.991 π (σd)² / sin 60° = 0.662 km².
    assert stated == pytest.approx(66.2, rel=0.05)
    chance, area = re.search(r"chance of (\d+) % .* 95 % lie in (\d+) km²", doubt).groups()
    # 1 − 0.93² = 13.5 % before the two are seen to meet.
    assert 5 <= int(chance) <= 40
    assert int(area) > 30
    assert what_to_do.startswith("Ask for a third bearing")
    assert trust.startswith("This region trusts the stated ± fully")


def test_one_bearing_is_a_direction():
    answer = fix(ONE)
    assert answer.sector
    assert answer.shape == "wedge"
    assert "a direction, not a point" in answer.findings[0]
    assert re.search(r"(000|001|359)° true ± [5-7]° from Ash", answer.findings[0])
    near, middle, far = re.search(
        r"within ([\d.]+), ([\d.]+) and ([\d.]+) km", answer.findings[0]
    ).groups()
    assert float(near) < float(middle) < float(far) < 256


def test_narrow_base_is_a_direction_and_asks_for_the_side():
    answer = fix(NARROW, SUPPORT)
    assert answer.sector
    assert answer.findings[0].startswith(("A strip, not a point", "A direction, not a point"))
    assert "well off to the side" in answer.findings[1]


def test_lines_that_spread_within_their_error():
    """5° between them, z = 5/√50 = 0.7: far away, north."""
    first, second = said(DIVERGING, None)[:2]
    assert re.match(
        r"The bearings of Ash and Birch spread apart by 5°, within the stated error; far away "
        r"towards (35\d|00\d)° true ± \d+° from (Ash|Birch), beyond [\d.]+ km\.",
        first,
    )
    assert "side" in second


def test_lines_that_contradict_ask_for_the_reciprocal():
    first, *rest = said(CONTRADICTING)
    assert "contradict each other: check for a reciprocal, check the north reference" in first
    assert re.match(
        r"If Ash gave the reciprocal, they meet [45]\.\d km from (Ash|Birch) on ", rest[0]
    )
    assert not any(s.startswith("If Birch gave") for s in rest)


def test_three_that_disagree_blame_nobody():
    answer = fix(DISAGREEING, SUPPORT)
    assert any("too few to say which one is wrong" in s for s in answer.findings)
    weights = []
    for name in ("Ash", "Birch", "Cedar"):
        (line,) = [s for s in answer.findings if s.startswith(f"If {name} alone is wrong (")]
        assert re.search(r"\((under |over )?\d+ %\)", line)
        weights.append(line)
    assert not any("looks like" in s for s in answer.findings)
    # Without Ash the other two meet at the truth, 5 km from both.
    assert re.search(r"5\.\d km from (Birch on 090|Cedar on 180)° true", weights[0])


def test_reciprocal_of_four_is_named_with_what_it_looks_like():
    (line,) = [s for s in said(RECIPROCAL) if s.startswith("Ash gave")]
    assert "150° true" in line
    assert "looks like the reciprocal of a good one" in line
    assert "Ask Ash to repeat it" in line


def test_unstated_north_asks_which():
    assert "Ash did not state the north: 004° true or 014° true. Ask which." in said(UNSTATED)


@pytest.mark.parametrize("bearings", [CONTRADICTING, TORN])
def test_separate_pieces_are_listed_with_their_shares(bearings):
    answer = fix(bearings, SUPPORT)
    pieces = [p for p in answer.regions[1].pieces if p.share >= 0.05]
    (line,) = [s for s in answer.findings if "separate pieces" in s]
    assert len(pieces) > 1
    assert f"{len(pieces)} separate pieces" in line
    for piece in pieces:
        assert f"{100 * piece.share:.0f} %" in line


def test_a_sender_heard_twice_is_told_apart():
    bearings = [*RECIPROCAL[:3], replace(RECIPROCAL[3], sender="Ash")]
    assert any(s.startswith("Ash on 150° true gave") for s in said(bearings))


def test_nameless_observers_are_numbered():
    nameless = [replace(b, sender="") for b in RECIPROCAL]
    assert any(s.startswith("Observer 1 gave") for s in said(nameless))


@pytest.mark.parametrize(
    ("first_deg", "second_deg", "divergence"),
    [(45, 315, 0), (0, 0, 0), (350, 10, 20), (90, 270, 0), (270, 90, 180), (80, 200, 10)],
)
def test_meeting_on_the_equator(first_deg, second_deg, divergence):
    """Second observer due east of the first: plane angles by hand."""
    west, east = Position(0.0, 0.0), Position(0.0, 0.1)
    found = meeting(Bearing(west, first_deg, 5.0), Bearing(east, second_deg, 5.0))
    # The triangle on the Earth has a little more than 180°.
    assert found.divergence_deg == pytest.approx(divergence, abs=0.01)


def test_meeting_from_one_place():
    both = [Bearing(TRUTH, b, 5.0) for b in (355.0, 5.0)]
    assert meeting(*both).same_place
    assert meeting(*both).divergence_deg == pytest.approx(10.0)


def test_families_point_where_they_say():
    """The scenes above stand on geodesics: Ash of the good cross looks at the truth."""
    family = BY_NAME["good cross"]
    assert azimuth(family.observers[0], TRUTH) == pytest.approx(0.0, abs=1e-6)
