"""Style and types: ruff and mypy as configured in pyproject.toml."""

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    "command",
    [("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy",)],
    ids=" ".join,
)
def test_clean(command, repository):
    result = subprocess.run(
        [sys.executable, "-m", *command],
        cwd=repository,
        capture_output=True,
        text=True,
        check=False,
    )
    # By its code alone: to show the whole result of a bad run would take all memory there is.
    code, said = result.returncode, result.stdout[-4000:] + result.stderr[-2000:]
    assert code == 0, said
