"""What a stated ± means through the commands: an opinion, `exact`, and `--trust-errors`."""

import json

import pytest
from fix_families import TRUTH, ahead, azimuth

from plotter.cli import main
from plotter.errors import FormatError
from plotter.reports.words import words_of

POSTS = [ahead(TRUTH, b, 3000.0) for b in (180.0, 270.0, 10.0)]


def reports(ending=""):
    lines = ["time_utc,sender,subject,report"]
    lines += [
        f"2026-03-14T09:0{i}Z,Post {i},,{p.lat_deg:.6f}N {p.lon_deg:.6f}E"
        for i, p in enumerate(POSTS, 1)
    ]
    lines += [
        f"09:10,Post {i},beacon,bearing {azimuth(p, TRUTH) % 360:.1f} true ± 5{ending}"
        for i, p in enumerate(POSTS, 1)
    ]
    return "\n".join(lines) + "\n"


@pytest.fixture
def data_of(tmp_path, capsys):
    def run(text, *options):
        path = tmp_path / "reports.csv"
        path.write_text(text, encoding="utf-8")
        with pytest.raises(SystemExit) as caught:
            main(["fix", str(path), "--json", *options])
        assert caught.value.code == 0
        return json.loads(capsys.readouterr().out)

    return run


def test_exact_bearings_and_trust_errors_are_the_same_and_smaller(data_of):
    plain, exact = data_of(reports()), data_of(reports(" exact"))
    trusted = data_of(reports(), "--trust-errors")
    for key in ("regions", "bearings", "findings"):
        assert exact[key] == trusted[key]
    area, smaller = (each["regions"][1]["area_km2"] for each in (plain, exact))
    assert 1.4 * smaller < area < 3.0 * smaller
    assert plain["otherwise_km2"] == pytest.approx(smaller, rel=0.1)
    assert exact["otherwise_km2"] == pytest.approx(area, rel=0.15)


def test_the_answer_says_which_trust_it_has(data_of):
    assert any("half trusted" in said for said in data_of(reports())["findings"])
    assert any("trusts the stated ±" in said for said in data_of(reports(" exact"))["findings"])


def test_exact_needs_its_figures():
    assert words_of("bearing 245 true ± 1 exact from the hut").exact
    assert not words_of("bearing 245 true ± 1 from the hut").exact
    with pytest.raises(FormatError, match="within how many degrees"):
        words_of("bearing 245 true exact")
