"""What a grid reference without its zone, or without its letters, costs beside a full one.

python -m pytest -m slow -s tests/benchmarks/test_short_references.py
"""

import time

import numpy as np
import pytest

from plotter.errors import FormatError
from plotter.formats.mgrs import format_mgrs
from plotter.formats.reading import reading
from plotter.geodesy.geodesic import destination
from plotter.geodesy.position import Area, Position
from plotter.voice.doubt import Context, weigh

pytestmark = pytest.mark.slow


def texts(radius_m, seed, count=60):
    """An area, and the full texts of places within it."""
    rng = np.random.default_rng(seed)
    area = Area(Position(rng.uniform(-50, 55), rng.uniform(-180, 180)), radius_m)
    full = []
    for _ in range(count):
        place = destination(area.centre, rng.uniform(0, 360), radius_m * np.sqrt(rng.uniform()))
        code = format_mgrs(place)
        full.append(f"{code[:3]} {code[3:5]} {code[5:10]} {code[10:]}")
    return area, full


def seconds(call, given):
    """Least time of three passes over some texts."""
    least = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        for each in given:
            try:
                call(each)
            except FormatError:
                continue
        least = min(least, time.perf_counter() - start)
    return least


@pytest.mark.parametrize("radius_m", [30_000.0, 2_000_000.0])
@pytest.mark.parametrize("cut", [4, 7], ids=["letters", "figures alone"])
@pytest.mark.parametrize("door", ["reading", "doubt"])
def test_a_short_reference_costs_at_most_three_full_ones(radius_m, cut, door):
    ratios = []
    for seed in range(5):
        area, full = texts(radius_m, seed)
        short = [each[cut:] for each in full]
        if door == "reading":
            ratios.append(
                seconds(lambda t, a=area: reading(t, a), short)
                / seconds(lambda t, a=area: reading(t, a), full)
            )
        else:
            context = Context(area)
            ratios.append(
                seconds(lambda t, c=context: weigh(t, c), short[:8])
                / seconds(lambda t, c=context: weigh(t, c), full[:8])
            )
    print(f"\n{door}, {radius_m / 1000:.0f} km, {'figures' if cut == 7 else 'letters'}: {ratios}")
    assert np.median(ratios) <= 3.0
