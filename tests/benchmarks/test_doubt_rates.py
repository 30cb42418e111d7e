"""How often the doubt finds what was meant: with no, one and two slips, by kind.

    python -m pytest -m slow -s tests/benchmarks/test_doubt_rates.py

DOUBT_MESSAGES in the environment sets how many messages a set has, 3000 unless given.
"""

import os

import pytest
from doubt_trials import table, trials

pytestmark = pytest.mark.slow
MESSAGES = int(os.environ.get("DOUBT_MESSAGES", "3000"))


def test_no_slip():
    result = trials(MESSAGES, radius_m=20_000, slips=0, seed=1)
    print(f"\nno slip, 20 km: as-said first {result.first:.4f}, warned {result.warned:.4f}")
    assert result.first >= 0.995
    assert result.warned <= 0.01


def test_one_slip():
    result = trials(MESSAGES, radius_m=20_000, slips=1, seed=2)
    print("\n" + table("one slip, 20 km", result))
    assert result.noticed_top3 >= 0.97
    assert result.noticed_first >= 0.85
    print(
        f"still plausible: as-said first {result.plausible_first:.4f}, "
        f"stake or question said {result.plausible_staked:.4f}"
    )
    assert result.plausible_first >= 0.99


def test_two_slips():
    result = trials(MESSAGES // 3, radius_m=60_000, slips=2, seed=3)
    print("\n" + table("two slips, 60 km", result))
