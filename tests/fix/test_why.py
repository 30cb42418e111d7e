"""Why a fix is where it is: leaving each report out, checked against fixes made by hand."""

import pytest
from fix_families import TRUTH, ahead, azimuth, distance

from plotter.fix import Bearing, Listening, Range, Support, fix
from plotter.fix.why import reason_words, why

SUPPORT = Support(30e3, TRUTH)
POSTS = [ahead(TRUTH, b, 5000.0) for b in (10.0, 130.0, 250.0, 300.0)]


def test_each_report_is_left_out_in_turn():
    errors = (0.0, 0.0, 0.0, 9.0)
    bearings = [
        Bearing(p, azimuth(p, TRUTH) + e, 3.0, f"Post {i}")
        for i, (p, e) in enumerate(zip(POSTS, errors, strict=True), start=1)
    ]
    answer, reasons = why(bearings, SUPPORT)
    assert answer.best == fix(bearings, SUPPORT).best
    for i, reason in enumerate(reasons):
        without = fix([b for k, b in enumerate(bearings) if k != i], SUPPORT)
        assert reason.best_without == without.best
        assert reason.area_without_km2 == without.regions[1].area_km2
        assert reason.pull_m == pytest.approx(distance(without.best, answer.best), abs=1e-3)
        assert reason.residual == answer.bearings[i].residual_deg
    assert max(reasons, key=lambda r: abs(r.residual)).name == "Post 4"
    assert "pulls the best point" in reason_words(answer, reasons[3])


def test_a_single_report_has_nothing_without_it():
    answer, (reason,) = why([Bearing(POSTS[0], 190.0, 5.0, "Post")], SUPPORT)
    assert reason.best_without is None
    assert "without it there is no fix" in reason_words(answer, reason)


def test_watches_and_distances_have_their_reasons_too():
    evidence = [
        Listening(POSTS[3], False, 4000.0, sender="Ear"),
        Bearing(POSTS[0], azimuth(POSTS[0], TRUTH), 5.0, "Post"),
        Range(POSTS[1], 5000.0, sigma_m=300.0, sender="Meter"),
    ]
    answer, reasons = why(evidence, SUPPORT)
    assert [r.name for r in reasons] == ["Post", "Meter", "Ear"]
    assert [r.unit for r in reasons] == ["deg", "m", ""]
    assert reasons[2].p_good is None
    assert "(not heard)" in reason_words(answer, reasons[2])
