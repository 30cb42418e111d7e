"""A million texts under a coverage-guided fuzzer, and no time that grows faster than the text.

    python -m pytest -m slow -s tests/benchmarks/test_fuzz_reader.py

FUZZ_TEXTS in the environment sets how many, 1 000 000 unless given (about forty minutes).
"""

import contextlib
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from plotter.errors import PlotterError
from plotter.formats.reading import reading
from plotter.voice.spoken import spoken_reading

pytestmark = pytest.mark.slow
SCRIPT = Path(__file__).resolve().parent.parent / "fuzz_reader.py"


def test_a_million_texts(tmp_path):
    pytest.importorskip("atheris", reason="atheris has no wheel for this Python")
    texts = os.environ.get("FUZZ_TEXTS", "1000000")
    result = subprocess.run(
        [sys.executable, str(SCRIPT), f"-runs={texts}", "-seed=1", f"-artifact_prefix={tmp_path}/"],
        cwd=SCRIPT.parent.parent, capture_output=True, text=True, check=False,
    )  # fmt: skip
    print("\n" + "\n".join(result.stderr.splitlines()[-3:]))
    assert result.returncode == 0, result.stderr[-3000:]
    assert f"Done {texts} runs" in result.stderr


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
