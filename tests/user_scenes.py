"""Scenes as a coordinator types them: a report file, read and fixed by what the command calls.

Truth and observers are laid out by PROJ's geodesics, in proportion to a scale; what the fix is told
is the file alone.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from fix_families import TRUTH, ahead, azimuth

from plotter.cli.incident import picture_of
from plotter.fix import Fix
from plotter.geodesy.position import Position
from plotter.reports.evidence import fixes

SCALES_M = (400.0, 1e3, 3e3, 8e3, 25e3, 60e3, 200e3)
P_GROSS, P_RECIPROCAL = 0.05, 0.02
World = Callable[[np.random.Generator, float, list[Position], Position], np.ndarray]


@dataclass(frozen=True)
class Scene:
    """One scene and what really happened in it."""

    truth: Position
    posts: list[Position]
    said_deg: list[float]
    off_deg: list[float]
    wrong: list[bool]
    sigma_deg: float


def in_disc(rng: np.random.Generator, middle: Position, radius_m: float) -> Position:
    return ahead(middle, rng.uniform(0.0, 360.0), radius_m * math.sqrt(rng.uniform()))


def as_stated(rng, sigma_deg, posts, _truth):
    return rng.normal(0.0, sigma_deg, len(posts))


def scene(
    rng: np.random.Generator,
    scale_m: float,
    count: int,
    *,
    narrow: bool = False,
    sigma_deg: float = 5.0,
    world: World = as_stated,
    faults: bool = True,
) -> Scene:
    """Observers within three quarters of the scale (an eighth where narrow), truth within it."""
    truth = in_disc(rng, TRUTH, scale_m)
    posts = [in_disc(rng, TRUTH, scale_m * (0.125 if narrow else 0.75)) for _ in range(count)]
    errors = world(rng, sigma_deg, posts, truth)
    said, off, wrong = [], [], []
    for post, error in zip(posts, errors, strict=True):
        kind = rng.uniform() if faults else 1.0
        right = azimuth(post, truth)
        bearing = right + error
        if kind < P_GROSS:
            bearing = rng.uniform(0.0, 360.0)
        elif kind < P_GROSS + P_RECIPROCAL:
            bearing += 180.0
        said.append(bearing % 360.0)
        off.append((bearing - right + 180.0) % 360.0 - 180.0)
        wrong.append(kind < P_GROSS + P_RECIPROCAL)
    return Scene(truth, posts, said, off, wrong, sigma_deg)


def report_file(given: Scene, *more: str) -> str:
    lines = ["time_utc,sender,subject,report"]
    lines += [
        f"2026-03-14T09:00Z,Post {i},,{p.lat_deg:.7f}N {p.lon_deg:.7f}E"
        for i, p in enumerate(given.posts, 1)
    ]
    lines += [
        f"09:05,Post {i},signal,bearing {b % 360.0:.2f} true ± {given.sigma_deg:g}"
        for i, b in enumerate(given.said_deg, 1)
    ]
    return "\n".join([*lines, *more]) + "\n"


def fix_of_file(path: Path, text: str, *, trust_errors: bool = False, **options: object) -> Fix:
    """What `plotter fix` says of a file; `options` as for `fixes`."""
    path.write_text(text, encoding="utf-8")
    picture = picture_of(path, None, None, trust_errors=trust_errors)
    assert not picture.unread, picture.unread
    found, failed = fixes(picture, **options)  # type: ignore[arg-type]
    assert not failed, failed
    return found[0][1]


def bound_km2(given: Scene) -> float:
    """Ground of the 95 % ellipse of the bound, by finite differences of geodesic azimuths."""
    rows = []
    for post in given.posts:
        ends = [azimuth(post, ahead(given.truth, b, 1.0)) for b in (90.0, 270.0, 0.0, 180.0)]
        slopes = [(d + 180.0) % 360.0 - 180.0 for d in (ends[0] - ends[1], ends[2] - ends[3])]
        rows.append([s / 2.0 / given.sigma_deg for s in slopes])
    jacobian = np.asarray(rows)
    determinant = float(np.linalg.det(jacobian.T @ jacobian))
    if not determinant > 0.0:
        return math.inf
    return math.pi * -2.0 * math.log(0.05) / math.sqrt(determinant) / 1e6
