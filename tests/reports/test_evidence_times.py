"""At which times what moves is fixed, and that each fix is the one of its time."""

import datetime as dt
from itertools import pairwise

import pytest

from plotter.fix import fix
from plotter.geodesy.position import Area, Position
from plotter.reports.evidence import MOST_TIMES, cases, fixes, fixes_before
from plotter.reports.replay import replay
from plotter.reports.report import Said

NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
MOVING = [
    (0, "A", "", "47.000N 8.000E"),
    (0, "B", "", "47.000N 8.050E"),
    (1, "A", "boat", "moving walker"),
    (10, "A", "boat", "bearing 045 true ± 3"),
    (20, "B", "boat", "bearing 315 true ± 3"),
    (55, "A", "boat", "bearing 055 true ± 3"),
    (65, "B", "boat", "bearing 325 true ± 3"),
]


def picture(lines):
    said = [
        Said(i, NOON + dt.timedelta(minutes=minutes), sender, subject, text)
        for i, (minutes, sender, subject, text) in enumerate(lines, start=1)
    ]
    return replay(said, area=Area(Position(47.0, 8.0), 30e3))


def minutes(times):
    return [(time - NOON).total_seconds() / 60 for time in times]


def test_times_run_from_the_first_report_to_the_last_in_whole_minutes():
    case = cases(picture(MOVING))["boat"]
    found = minutes(case.times_utc())
    assert len(found) == MOST_TIMES
    assert (found[0], found[-1]) == (10, 65)
    assert all(minute == int(minute) for minute in found)
    steps = [b - a for a, b in pairwise(found)]
    assert max(steps) - min(steps) <= 1
    assert minutes(case.times_utc(2)) == [10, 65]


@pytest.mark.parametrize(("last", "wanted"), [(0, [0]), (1, [0, 1]), (3, [0, 1, 2, 3])])
def test_a_short_while_has_few_times(last, wanted):
    lines = [
        *MOVING[:3],
        (0, "A", "boat", "bearing 045 true"),
        (last, "B", "boat", "bearing 315 true"),
    ]
    assert minutes(cases(picture(lines))["boat"].times_utc()) == wanted


def test_what_stands_still_has_no_times():
    still = picture([line for line in MOVING if "moving" not in line[3]])
    assert cases(still)["boat"].times_utc() == ()
    assert fixes_before(still, fixes(still)[0]) == {}


def test_each_time_has_its_own_fix_and_the_latest_is_the_one_already_there():
    told = picture(MOVING)
    found, _ = fixes(told)
    case = cases(told)["boat"]
    ((name, over),) = fixes_before(told, found).items()
    assert name == "boat"
    assert tuple(time for time, _ in over) == case.times_utc()
    assert over[-1][1] is found[0][1]
    for time, at_that_time in (over[0], over[4]):
        alone = fix(case.evidence, case.support, motion=case.motion, at_utc=time)
        assert at_that_time.best == alone.best
    # By hand, on the plane: 045 and 315 cross midway between the two, 1.9 km east of A; 055 and
    # 325 cross at x = y tan 55 = 3.8 km - y tan 35, 2.5 km east of it.
    assert over[-1][1].best.lon_deg > over[0][1].best.lon_deg + 0.005


def test_several_that_move_share_the_times():
    second = [(m, s, "raft" if subject else "", text) for m, s, subject, text in MOVING]
    told = picture([*MOVING, *second[2:]])
    found, _ = fixes(told)
    over = fixes_before(told, found)
    assert set(over) == {"boat", "raft"}
    assert sum(len(times) for times in over.values()) <= MOST_TIMES
    assert all(len(times) >= 2 for times in over.values())
