"""Grid references and locators as people write them, with the place that each was made from.

The references are written by other libraries (mgrs, utm, maidenhead); how they are spaced, cased,
joined and named is common practice, no source.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass

import maidenhead
import mgrs
import utm

__all__ = ["GridSample", "grid_texts"]

_MGRS = mgrs.MGRS()


@dataclass(frozen=True)
class GridSample:
    """A text, the place that was written, and the side of its square, metres."""

    text: str
    lat_deg: float
    lon_deg: float
    size_m: float


def grid_texts(seed: int, count: int) -> Iterator[GridSample]:
    """Samples of all three kinds."""
    rng = random.Random(seed)  # noqa: S311 - a test needs to be repeatable, not secret
    done = 0
    while done < count:
        lat, lon = rng.uniform(-79.5, 83.5), rng.uniform(-179.9, 179.9)
        kind = rng.choice([_mgrs_text, _utm_text, _locator_text])
        text, size = kind(rng, lat, lon)
        if text:
            done += 1
            yield GridSample(text, lat, lon, size)


def _cased(rng: random.Random, text: str) -> str:
    return rng.choice([text, text, text.lower()])


def _mgrs_text(rng: random.Random, lat: float, lon: float) -> tuple[str, float]:
    figures = rng.randint(1, 5)
    whole = _MGRS.toMGRS(lat, lon, MGRSPrecision=figures)
    zone, square, rest = whole[: -2 * figures - 2], whole[-2 * figures - 2 : -2 * figures], ""
    east, north = whole[-2 * figures : -figures], whole[-figures:]
    zone = rng.choice([zone, zone.lstrip("0")])
    joint = rng.choice(["", " ", "  ", ", "])
    text = rng.choice([
        f"{zone}{square}{east}{north}", f"{zone} {square} {east} {north}",
        f"{zone}{square} {east} {north}", f"{zone} {square}{east}{north}",
        f"MGRS {zone} {square} {east}{joint or ' '}{north}", f"{zone}{rest} {square} {east}{north}",
        f"USNG: {zone} {square} {east} {north}",
    ])  # fmt: skip
    return _cased(rng, text), 10.0 ** (5 - figures)


def _utm_text(rng: random.Random, lat: float, lon: float) -> tuple[str, float]:
    east, north, zone, band = utm.from_latlon(lat, lon)
    if band == "S" or not 166_000 < east < 834_000:
        return "", 0.0  # S may be the hemisphere, and is asked about
    e, n = int(east), int(north)
    side = "north" if lat >= 0 else "south"
    text = rng.choice([
        f"{zone}{band} {e} {n:07d}", f"{zone} {band} {e} {n:07d}", f"{zone:02d}{band} {e} {n:07d}",
        f"UTM {zone}{band} {e} {n:07d}", f"UTM zone {zone} {side} {e} {n:07d}",
        f"{zone}{band} {e}E {n:07d}N", f"{zone}{band} {e}mE {n:07d}mN",
        f"{zone}{band} E {e} N {n:07d}",
        f"zone {zone}{band}, easting {e}, northing {n:07d}", f"{zone}{band}; {e}; {n:07d}",
        f"{zone}{band} N {n:07d} E {e}",
    ])  # fmt: skip
    return text, 1.0


def _locator_text(rng: random.Random, lat: float, lon: float) -> tuple[str, float]:
    pairs = rng.choice([2, 3, 3, 4])
    text = maidenhead.to_maiden(lat, lon, precision=pairs)
    text = rng.choice([text, text.upper(), text[:4].upper() + text[4:].lower(), f"locator {text}"])
    return text, {2: 222_000.0, 3: 9_300.0, 4: 930.0}[pairs]
