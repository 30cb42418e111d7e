"""Doubt: what is plausible, what else may have been meant, what to ask; a small seeded run."""

import json

import numpy as np
import pytest
import slips
import slips_of_hand
from doubt_trials import trials

from plotter.cli import main
from plotter.errors import FormatError
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.voice.doubt import Context, plausibility, weigh
from plotter.voice.mistakes import slip_chance
from plotter.voice.place_of_slip import figure_words

AREA = Area(Position(48.85, 2.30), 20_000)
# On foot, ten minutes after it was at the place that is meant below.
NEAR = Context(AREA, Position(48.8582, 2.2945), 600, 3.0)
MEANT = "31U DQ 48251 11932"


@pytest.mark.parametrize(
    ("received", "meant", "kind", "ask"),
    [
        ("31U DQ 88251 11932", MEANT, "misheard figure", "the first figure of the easting"),
        ("31U DQ 48251 51932", MEANT, "misheard figure", "the first figure of the northing"),
        ("31U BQ 48251 11932", MEANT, "misheard letter", "the first letter of the square"),
        ("31U DU 48251 11932", MEANT, "misheard letter", "the second letter of the square"),
        ("31U DQ 84251 11932", MEANT, "swapped neighbours", "the first figure of the easting"),
        ("32U DQ 48251 11932", MEANT, "wrong zone or band", "the zone"),
        ("31T DQ 48251 11932", MEANT, "wrong zone or band", "the band letter"),
        ("31U DQ 482251 11932", "31U DQ 48251 11932", "doubled figure", "the"),
        ("31U DQ 11932 48251", MEANT, "easting and northing swapped", "which number"),
        ("2.2945N 48.8582E", "48.8582N 2.2945E", "latitude and longitude swapped", "which number"),
        ("48.8582S 2.2945E", "48.8582N 2.2945E", "wrong hemisphere", "hemisphere"),
        ("48.8582N 2.2945W", "48.8582N 2.2945E", "wrong hemisphere", "hemisphere"),
        ("48.5149N 2.1767E", "48 51.49N 2 17.67E", "decimal degrees for minutes", "decimal"),
        ("31U 448251 5451932", "31U 448251 5411932", "misheard figure", "of the northing"),
        ("JN18DP55", "JN18DU55", "misheard letter", "the sixth character of the locator"),
    ],
)  # fmt: skip
def test_a_slip_is_named_and_the_question_settles_it(received, meant, kind, ask):
    found = weigh(received, NEAR)
    assert all(fit < 0.5 for fit in found.doubt.plausibility)
    texts = [each.text for each in found.doubt.alternatives[:3]]
    assert meant in texts, texts
    best = found.doubt.alternatives[texts.index(meant)]
    assert best.mistake.startswith(kind)
    assert ask in found.doubt.ask


def test_the_as_said_reading_is_never_replaced():
    found = weigh("31U DQ 88251 11932", NEAR)
    assert [r.square.size_m for r in found.readings] == [1.0]
    assert found.readings[0].square.centre.lon_deg > 2.8


def test_a_plausible_reading_stays_first_and_the_stake_is_said():
    found = weigh(MEANT, NEAR)
    assert found.doubt.plausibility == (1.0,)
    assert found.doubt.ask is None
    assert found.doubt.stake.startswith("If the ")
    assert "km off and still fits: read it back" in found.doubt.stake
    assert sum(each.probability for each in found.doubt.alternatives) < 0.2


def test_two_plausible_meanings_are_asked_about():
    south = Area(Position(0.0, 33.0), 300_000)
    found = weigh("36 500000 100000", Context(south))
    assert found.doubt.ask is None  # north only: 100 km from the south pole's side is no northing
    both = weigh("1.5 33.1", Context(south))
    assert len(both.readings) == 2
    assert "hemisphere" in both.doubt.ask


def test_an_unreadable_text_is_explained_or_refused():
    found = weigh("31U DQ 4825 11932", NEAR)
    assert found.readings == ()
    assert "9 figures" in found.error
    assert found.doubt.alternatives
    with pytest.raises(FormatError, match="cannot read"):
        weigh("up the hill", NEAR)


def test_plausibility_falls_with_distance_and_knows_the_sender():
    here = weigh(MEANT, Context(AREA)).readings[0]
    assert plausibility(here, Context(AREA)) == 1
    far = Context(AREA, Position(48.95, 2.30), 60, 1.5)
    assert plausibility(here, far) < 0.01
    assert plausibility(here, Context(AREA, Position(48.95, 2.30), 3600, 10.0)) == 1


def test_slip_chances_are_chances_and_work_both_ways():
    for kind, alphabet in (("figure", "0123456789"), ("letter", "ABCDEFGHJKLMNPQRSTUVWXYZ")):
        for meant in alphabet:
            total = sum(slip_chance(meant, h, kind) for h in alphabet if h != meant)
            assert 0.9 < total <= 1.0 + 1e-12
    # Common practice, no source: five and nine are the figures most often taken for each other.
    assert max("012346789", key=lambda h: slip_chance("5", h, "figure")) == "9"


@pytest.mark.parametrize(
    ("received", "meant", "words"),
    [
        (MEANT, "32U DQ 48251 11932", "the zone"),
        (MEANT, "31U DQ 48251 11832", "the third figure of the northing"),
        ("48.8582N 2.2945E", "48.8582N 3.2945E", "the first figure of the longitude"),
        ("48 51.49N 2 17.67E", "48 31.49N 2 17.67E", "the third figure of the latitude"),
        (MEANT, MEANT, ""),
    ],
)
def test_the_place_of_a_slip_in_words(received, meant, words):
    assert figure_words(received, meant) == words


def run(capsys, *arguments):
    """Exit status, stdout and stderr of the command line."""
    with pytest.raises(SystemExit) as caught:
        main(list(arguments))
    found = capsys.readouterr()
    return caught.value.code, found.out, found.err


def test_command_line_contract(capsys):
    status, out, _ = run(
        capsys, "convert", "31U DQ 88251 11932", "--area", "48.85,2.3,20", "--json",
        "--last", MEANT, "--minutes", "10", "--top-speed-kmh", "10",
    )  # fmt: skip
    assert status == 3
    data = json.loads(out)
    assert not data["plausible"]
    assert data["readings"][0]["plausibility"] < 0.5
    best = data["alternatives"][0]
    assert {"lat_deg", "lon_deg", "size_m", "mistake", "probability", "as"} <= set(best)
    assert best["as"]["mgrs"] == "31UDQ4825111932"
    assert data["ask"] == "Ask for the first figure of the easting."
    # 8 for 4 in the first figure is 40 km east, and the area ends 20 km from its middle.
    assert 19_000 < data["against"]["outside_m"] < 20_500
    assert 85 < data["against"]["bearing_true_deg"] < 91
    assert data["against"]["swapped_outside_m"] > 6_000_000
    whole = [each["probability"] for each in (*data["readings"], *data["alternatives"])]
    assert sum(whole) + data["other_probability"] == pytest.approx(1.0)


def test_the_first_line_says_what_to_do_and_the_next_why(capsys):
    status, out, err = run(capsys, "convert", "31U DQ 88251 11932", "--area", "48.85,2.3,20")
    lines = err.splitlines()
    assert status == 3
    assert lines[0] == "Ask for the first figure of the easting."
    assert "19.6 km outside the area of operations, to the east of it" in lines[1]
    assert "area's own latitude and longitude swapped" in lines[2]
    shares = [line.split()[0] for line in out.splitlines() if line[:6].strip(" <>").isdigit()]
    assert 95 <= sum(int(each.strip("<>")) for each in shares) <= 105
    assert any(line.endswith("as said") for line in out.splitlines())


@pytest.mark.parametrize(
    ("text", "status", "first"),
    [
        (MEANT, 0, "If the "),
        ("31U DQ 88251 11932", 3, "Ask for the first figure of the easting."),
        ("31U DQ 4825 11932", 3, "Ask for "),
        ("2.2945N 48.8582E", 3, "Ask which number was which"),
        ("up the hill", 1, "plotter: cannot read"),
    ],
)
def test_exit_status_says_whether_it_is_plausible(capsys, text, status, first):
    got, _, err = run(capsys, "convert", text, "--area", "48.85,2.3,20")
    assert got == status
    assert err.startswith(first)


def test_an_area_given_the_other_way_round_is_said(capsys):
    status, _, err = run(capsys, "convert", MEANT, "--area", "2.3,48.85,20")
    assert status == 3
    assert "it would lie inside: check how the area was given" in err


@pytest.mark.parametrize(
    ("received", "spot"),
    [
        ("31U E448251 N5451932", "the third figure of the northing"),
        ("31U 448251E 5451932N", "the third figure of the northing"),
        ("31U 448251mE 5451932mN", "the third figure of the northing"),
        ("31U 498251 5411932", "the second figure of the easting"),
        ("UTM 31U 488251 5411932", "the second figure of the easting"),
        ("31UDQ8825111932", "the first figure of the easting"),
        ("DQ 88251 11932", "the first figure of the easting"),
        ("48°51'29\"N 5°17'40\"E", "the first figure of the longitude"),
        ("lat 43.8582 lon 2.2945", "the second figure of the latitude"),
    ],
)
def test_the_question_names_the_figure_of_the_format_that_was_said(received, spot):
    assert spot in weigh(received, NEAR).doubt.ask


@pytest.mark.parametrize("generate", [slips.message, slips_of_hand.message])
def test_probabilities_add_up_to_one(generate):
    rng = np.random.default_rng(77)
    for count in (0, 1, 1, 2, 2) * 6:
        sent = generate(rng, 20_000, count)
        try:
            found = weigh(sent.received, sent.context).doubt
        except FormatError:
            continue
        shares = [*found.as_said, *(each.probability for each in found.alternatives), found.other]
        assert all(0.0 <= share <= 1.0 for share in shares)
        assert sum(shares) == pytest.approx(1.0)


def test_alternatives_lie_apart_where_several_places_are_likely():
    found = weigh("31U DQ 88251 11932", Context(AREA)).doubt.alternatives[:3]
    for i, one in enumerate(found):
        for other in found[i + 1 :]:
            assert geodesic(one.reading.square.centre, other.reading.square.centre).distance_m > 1e3


# Bounds of the runs in tests/benchmarks/test_doubt_rates.py less two standard errors of these
# smaller sets: sqrt(p q / n) of some 130 tellable messages is .02 at .95, .03 at .88.
@pytest.mark.parametrize("generate", [slips.message, slips_of_hand.message])
def test_small_seeded_run(generate):
    clean = trials(generate, 60, radius_m=20_000, slips=0, seed=1)
    assert (clean.truth_first, clean.warned) == (60, 0)
    one = trials(generate, 200, radius_m=20_000, slips=1, seed=4)
    assert one.share("first") >= 0.88 - 2 * 0.03
    assert one.share("third") >= 0.95 - 2 * 0.02
    assert one.kept_first >= 0.9 * one.plausible
    assert one.staked >= 0.9 * one.plausible
    two = trials(generate, 100, radius_m=5_000, slips=2, seed=5)
    assert two.share("near") >= 0.85 - 2 * 0.04


def test_an_old_datum_is_a_hypothesis_where_its_maps_are_used():
    found = weigh("48.8582N 2.2945E", NEAR)
    by_kind = {each.mistake: each for each in found.doubt.alternatives}
    shifted = by_kind["wrong datum: it was on ED50"]
    assert shifted.text == "48.8582N 2.2945E ED50"
    # ED50 lies some 130 to 150 m off WGS 84 in Paris (table 07 has the sizes of such shifts).
    moved = geodesic(shifted.reading.square.centre, Position(48.8582, 2.2945)).distance_m
    assert 100 < moved < 200
    assert not any("NAD27" in mistake for mistake in by_kind)
    assert found.doubt.ask is None
