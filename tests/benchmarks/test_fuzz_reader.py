"""A million texts under a coverage-guided fuzzer, and no time that grows faster than the text.

    python -m pytest -m slow -s tests/benchmarks/test_fuzz_reader.py

A million seeded random texts (FUZZ_TEXTS, about ten minutes), and 100 000 found by coverage under
atheris (ATHERIS_TEXTS, about ten minutes).
"""

import contextlib
import os
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest
from pyproj.database import get_codes
from pyproj.enums import PJType
from random_texts import run

from plotter.errors import PlotterError
from plotter.formats.projected import check_grid
from plotter.formats.reading import reading
from plotter.voice.spoken import spoken_reading

pytestmark = pytest.mark.slow
SCRIPT = Path(__file__).resolve().parent.parent / "fuzz_reader.py"


def test_a_million_random_texts():
    count = int(os.environ.get("FUZZ_TEXTS", "1000000"))
    seeds = range(20)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        results = list(pool.map(run, [(seed, -(-count // 20)) for seed in seeds]))
    done, readings = (sum(column) for column in zip(*results, strict=True))
    print(f"\n{done} random texts, {readings} readings, all within the laws")
    assert done >= count


def test_texts_found_by_coverage(tmp_path):
    pytest.importorskip("atheris", reason="atheris has no wheel for this Python")
    texts = os.environ.get("ATHERIS_TEXTS", "100000")
    result = subprocess.run(
        [sys.executable, str(SCRIPT), f"-runs={texts}", "-seed=1", f"-artifact_prefix={tmp_path}/"],
        cwd=SCRIPT.parent.parent, capture_output=True, text=True, check=False,
    )  # fmt: skip
    print("\n" + "\n".join(result.stderr.splitlines()[-3:]))
    assert result.returncode == 0, result.stderr[-3000:]
    assert f"Done {texts} runs" in result.stderr


def test_every_grid_of_the_registry():
    """Each code is a grid, or is refused with our own error."""
    codes = get_codes("EPSG", PJType.PROJECTED_CRS, allow_deprecated=True)
    taken = refused = 0
    for code in codes:
        try:
            check_grid(int(code))
            taken += 1
        except PlotterError:
            refused += 1
    print(f"\n{taken} grids can be read, {refused} are refused")
    assert taken > refused


@pytest.mark.parametrize("read", [reading, spoken_reading])
@pytest.mark.parametrize("piece", ["9", "48 ", "N", "31U DQ ", "48.5,", "niner ", "double ", "- "])
def test_time_grows_no_faster_than_the_text(read, piece):
    def seconds(length: int) -> float:
        text = (piece * length)[:length]
        least = float("inf")
        for _ in range(5):
            start = time.perf_counter()
            with contextlib.suppress(PlotterError):
                read(text)
            least = min(least, time.perf_counter() - start)
        return least

    seconds(1_000)
    short, long = seconds(1_000), seconds(10_000)
    print(f"\n{read.__name__} {piece!r}: {1e3 * short:.2f} ms, {1e3 * long:.2f} ms for ten times")
    # Ten times the text in at most ten times the time, and a floor for what a clock can tell.
    assert long <= 10 * max(short, 1e-4) * 1.5
    assert long <= 0.05
