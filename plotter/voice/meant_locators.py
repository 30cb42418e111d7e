"""What a garbled locator may have meant: cells in or near the area."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.formats.squares import metres_per_degree
from plotter.geodesy.arrays import IntArray
from plotter.geodesy.position import Area
from plotter.voice.candidates import Candidates, distances_m, reach_of
from plotter.voice.channel import Meant, meant_runs
from plotter.voice.fields import Fields

__all__ = ["locator_candidates"]

# Letters and figures of a locator in turn, and how many values each character has.
_BASES: Final = (18, 10, 24, 10, 24)
_TENS: Final = 10
_PAIR: Final = 2


def locator_candidates(fields: Fields, area: Area) -> Iterator[Candidates]:
    """Places in or near an area that a garbled locator may have meant.

    Parameters
    ----------
    fields : Fields
        The text taken apart.
    area : Area
        The area of operations.
    """
    field = fields.get("locator")
    if field is None:
        return
    per_lat, per_lon = metres_per_degree(area.centre.lat_deg)
    received = len(field.text)
    for length in {received} if received % _PAIR == 0 else {received - 1, received + 1}:
        runs = meant_runs(field.text, length, fields.characters())
        ok = np.ones(runs.slips.shape, dtype=bool)
        lat, lon = np.full(ok.shape, -90.0), np.full(ok.shape, -180.0)
        height, width = 180.0, 360.0
        for pair, base in zip(range(length // _PAIR), _BASES, strict=False):
            height, width = height / base, width / base
            east, north = (
                runs.codes[:, _PAIR * pair + at] - (0 if base == _TENS else _TENS) for at in (0, 1)
            )
            ok &= (east >= 0) & (east < base) & (north >= 0) & (north < base)
            lat, lon = lat + north * height, lon + east * width
        lat, lon = lat + height / 2.0, lon + width / 2.0
        size_m = max(height * per_lat, width * per_lon)
        ok &= distances_m(area.centre, lat, lon) <= reach_of(area) + size_m
        keep = np.flatnonzero(ok)
        yield Candidates(
            lat[keep],
            lon[keep],
            runs.chance[keep],
            runs.slips[keep],
            height * per_lat * width * per_lon,
            "",
            _Texts(runs, keep),
        )


@dataclass(frozen=True, slots=True)
class _Texts:
    """What stands in the field of each candidate."""

    runs: Meant
    rows: IntArray

    def __call__(self, at: int) -> dict[str, str]:
        return {"locator": self.runs.text(int(self.rows[at]))}
