"""A million rows end to end, against pandas reading and writing the same file in the same run."""

import time

import numpy as np
import pandas as pd
import pytest

from plotter.exchange.tables import convert_table
from plotter.formats import FORMATS
from plotter.geodesy.position import Area, Position

pytestmark = pytest.mark.slow

ROWS = 1_000_000


@pytest.fixture(scope="module")
def table(tmp_path_factory):
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-60, 60, ROWS), rng.uniform(-180, 180, ROWS)
    mgrs = FORMATS["mgrs"].write_array(lat, lon, 1.0)
    degrees = FORMATS["latlon"].write_array(lat, lon, 1.0)
    said = np.where(rng.random(ROWS) < 0.7, mgrs, degrees)
    path = tmp_path_factory.mktemp("speed") / "rows.csv"
    team = [f"team {i % 97}" for i in range(ROWS)]
    pd.DataFrame({"id": np.arange(ROWS), "said": said, "note": team}).to_csv(path, index=False)
    return path


def test_a_million_rows(table):
    ours, theirs = [], []
    for _ in range(3):
        start = time.perf_counter()
        pd.read_csv(table).to_csv(table.with_name("pandas.csv"), index=False)
        theirs.append(time.perf_counter() - start)
        start = time.perf_counter()
        counts = convert_table(table, "said", table.with_name("ours.csv"))
        ours.append(time.perf_counter() - start)
        assert (counts.rows, counts.unread) == (ROWS, 0)
    ratio = min(ours) / min(theirs)
    print(
        f"\n{ROWS} rows, CSV to CSV: {min(ours):.1f} s, pandas reading and writing "
        f"{min(theirs):.1f} s: {ratio:.2f} times"
    )
    assert ratio <= 3


@pytest.fixture(scope="module")
def mixed(tmp_path_factory):
    """The ten commonest notations, in equal shares."""
    rng = np.random.default_rng(7)
    lat, lon = rng.uniform(-79, 83, ROWS), rng.uniform(-179.9, 179.9, ROWS)
    mgrs = FORMATS["mgrs"].write_array(lat, lon, 1.0).tolist()
    rows = []
    for i, (a, o, grid) in enumerate(zip(lat.tolist(), lon.tolist(), mgrs, strict=True)):
        ns, ew, d, e = "NS"[a < 0], "EW"[o < 0], abs(a), abs(o)
        m, n = d % 1 * 60, e % 1 * 60
        s, t = (f"{minutes % 1 * 59.9:04.1f}" for minutes in (m, n))
        rows.append(
            (
                grid,
                f"{grid[:3]} {grid[3:5]} {grid[5:10]} {grid[10:]}",
                f"{a:.5f}, {o:.5f}",
                f"{d:.4f}{ns} {e:.4f}{ew}",
                f"Lat: {d:.4f} {ns}, Long: {e:.4f} {ew}",
                f"{int(d)}°{min(m, 59.999):06.3f}'{ns} {int(e)}°{min(n, 59.999):06.3f}'{ew}",
                f"{int(d):02d} {min(m, 59.99):05.2f}{ns} {int(e):03d} {min(n, 59.99):05.2f}{ew}",
                f"{int(d)}°{int(m):02d}'{s}\"{ns} {int(e)}°{int(n):02d}'{t}\"{ew}",
                f"{int(d):02d}-{int(m):02d}-{s}{ns} {int(e):03d}-{int(n):02d}-{t}{ew}",
                f"{a:+08.4f}{o:+09.4f}/" if i % 2 else f"geo:{a:.5f},{o:.5f}",
            )[i % 10]
        )  # fmt: skip
    # One row in twenty is a UTM reference, one a locator.
    for i in range(0, ROWS, 20):
        place = Position(lat[i], lon[i])
        rows[i] = FORMATS["utm"].write(place, 1.0)
        rows[i + 1] = FORMATS["maidenhead"].write(place, 100.0)
    path = tmp_path_factory.mktemp("mixed") / "rows.csv"
    team = [f"team {i % 97}" for i in range(ROWS)]
    pd.DataFrame({"id": np.arange(ROWS), "said": rows, "note": team}).to_csv(path, index=False)
    return path


def test_a_million_mixed_rows(mixed):
    ours, theirs = [], []
    for _ in range(3):
        start = time.perf_counter()
        pd.read_csv(mixed).to_csv(mixed.with_name("pandas.csv"), index=False)
        theirs.append(time.perf_counter() - start)
        start = time.perf_counter()
        counts = convert_table(mixed, "said", mixed.with_name("ours.csv"))
        ours.append(time.perf_counter() - start)
        assert (counts.rows, counts.unread) == (ROWS, 0)
    ratio = min(ours) / min(theirs)
    print(
        f"\n{ROWS} mixed rows, CSV to CSV: {min(ours):.1f} s, pandas reading and writing "
        f"{min(theirs):.1f} s: {ratio:.2f} times"
    )
    assert ratio <= 4


def test_an_area_that_every_row_lies_outside(table):
    """The worst case: a geodesic and a doubt for each of a million rows."""
    area = Area(Position(48.8, 2.3), 1_000.0)
    plain, doubted = [], []
    for _ in range(2):
        start = time.perf_counter()
        convert_table(table, "said", table.with_name("ours.csv"))
        plain.append(time.perf_counter() - start)
        start = time.perf_counter()
        counts = convert_table(table, "said", table.with_name("ours.csv"), area=area)
        doubted.append(time.perf_counter() - start)
        assert counts.outside == ROWS
    ratio = min(doubted) / min(plain)
    print(f"\n{ROWS} rows outside an area: {ratio:.2f} times the same without an area")
    assert ratio <= 2.5
