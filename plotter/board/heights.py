"""Heights of the ground for the readout: an elevation model made small enough for the page."""

import base64
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from plotter.errors import BoardError
from plotter.geodesy.arrays import FloatArray
from plotter.tiles.grid import Box

__all__ = ["DEFAULT_HEIGHT_BUDGET_BYTES", "Heights", "heights_of"]

DEFAULT_HEIGHT_BUDGET_BYTES: Final = 500_000
_UNKNOWN: Final = -32768
_MOST_NODES: Final = 1_000
_LEAST_NODES: Final = 8
# Where the small model is compared with the whole one.
_CHECKED: Final = 4_000


@dataclass(frozen=True, slots=True)
class Heights:
    """A net of heights, ready to stand in the page.

    Parameters
    ----------
    data : dict
        JSON values; `assets/heights.js` reads them.
    packed_bytes : int
        What it adds to the page.
    step_m : float
        From one node of the net to the next, north to south.
    strays_m : float
        95 % of what is read off the net lie no farther than this from the model itself.
    source : str
        Whose heights they are.
    """

    data: dict[str, Any]
    packed_bytes: int
    step_m: float
    strays_m: float
    source: str

    def in_words(self) -> str:
        """Say what is on board and how well it stands for the model."""
        off = (
            ""
            if np.isnan(self.strays_m)
            else (f", within {self.strays_m:.0f} m of that model in 95 of 100 places")
        )
        return (
            f"Heights: {self.source}; every {self.step_m:.0f} m{off}; "
            f"{self.packed_bytes / 1e6:.2f} MB."
        )


def heights_of(
    path: Path, area: Box, *, budget_bytes: int = DEFAULT_HEIGHT_BUDGET_BYTES
) -> Heights:
    """Take the heights of an area from an elevation model, as finely as a budget allows.

    Parameters
    ----------
    path : Path
        Elevation model of one band, metres, in any reference system that the file states.
    area : Box
        The ground.
    budget_bytes : int
        Most that they may add to the page.

    Returns
    -------
    Heights
        A net of nodes in latitude and longitude, whole metres, between which the page interpolates.

    Raises
    ------
    BoardError
        If the file cannot be read, states no reference system, or knows nothing of the area.

    Accuracy
    --------
    `strays_m` is measured against the file at random places. What the file itself is worth, and
    from what level its heights count, is for its maker to say.
    """
    try:
        import rasterio
    except ImportError as error:
        raise BoardError(
            "heights need rasterio: pip install 'plotter[maps]', or leave --heights out"
        ) from error
    try:
        with rasterio.open(path) as model:
            if model.crs is None:
                raise BoardError(f"{str(path)!r} states no reference system: rectify it first")
            rights = model.tags().get("TIFFTAG_COPYRIGHT", "")
            return _fitted(model, area, budget_bytes, f"{path.name} {rights}".strip())
    except rasterio.errors.RasterioIOError as error:
        raise BoardError(f"cannot read heights from {str(path)!r}: {error}") from error


def _fitted(model: Any, area: Box, budget_bytes: int, source: str) -> Heights:  # noqa: ANN401 - rasterio has no types
    rows, columns = _native_nodes(model, area)
    while True:
        net = _net(model, area, rows, columns)
        if np.isnan(net).all():
            raise BoardError(f"{source!r} has no heights of the area: choose one that covers it")
        packed = _packed(net)
        if len(packed) <= budget_bytes or min(rows, columns) <= _LEAST_NODES:
            break
        shrink = 0.95 * (budget_bytes / len(packed)) ** 0.5
        rows, columns = (max(int(count * shrink), _LEAST_NODES) for count in (rows, columns))
    step_deg = (area.north_deg - area.south_deg) / (rows - 1)
    strays = _strays(model, area, net)
    data = {
        "north": area.north_deg, "west": area.west_deg, "south": area.south_deg,
        "east": area.east_deg, "rows": rows, "columns": columns, "packed": packed,
        "source": source, "step": round(step_deg * 111_200),
        "strays": None if np.isnan(strays) else round(strays, 1),
    }  # fmt: skip
    return Heights(data, len(packed), step_deg * 111_200.0, strays, source)


def _native_nodes(model: Any, area: Box) -> tuple[int, int]:  # noqa: ANN401 - rasterio has no types
    from rasterio.warp import calculate_default_transform

    step, _, _ = calculate_default_transform(
        model.crs, "EPSG:4326", model.width, model.height, *model.bounds
    )
    high = (area.north_deg - area.south_deg) / abs(step.e)
    wide = (area.east_deg - area.west_deg) / step.a
    rows, columns = (int(min(max(n + 1, _LEAST_NODES), _MOST_NODES)) for n in (high, wide))
    return rows, columns


def _window(model: Any, area: Box) -> tuple[tuple[int, int], tuple[int, int]]:  # noqa: ANN401 - rasterio has no types
    """First and last row and column, to be left out, of the cells about an area."""
    from rasterio.warp import transform_bounds
    from rasterio.windows import from_bounds

    edges = (area.west_deg, area.south_deg, area.east_deg, area.north_deg)
    there = from_bounds(*transform_bounds("EPSG:4326", model.crs, *edges), model.transform)
    spans = []
    for first, length, whole in (
        (there.row_off, there.height, model.height),
        (there.col_off, there.width, model.width),
    ):
        start = min(max(int(first), 0), whole - 1)
        spans.append((start, max(min(int(np.ceil(first + length)), whole), start + 1)))
    return spans[0], spans[1]


def _net(model: Any, area: Box, rows: int, columns: int) -> FloatArray:  # noqa: ANN401 - rasterio has no types
    """Heights at the nodes; NaN where the model knows none."""
    import rasterio
    from rasterio.transform import Affine
    from rasterio.warp import Resampling, reproject

    from plotter.tiles.build.rasters import known_heights, unknown_mark

    high = (area.north_deg - area.south_deg) / (rows - 1)
    wide = (area.east_deg - area.west_deg) / (columns - 1)
    net = np.full((rows, columns), np.nan)
    reproject(
        rasterio.band(model, 1),
        net,
        dst_transform=Affine(
            wide, 0.0, area.west_deg - wide / 2, 0.0, -high, area.north_deg + high / 2
        ),
        dst_crs="EPSG:4326",
        src_nodata=unknown_mark(model),
        dst_nodata=np.nan,
        resampling=Resampling.bilinear,
    )
    return known_heights(net)


def _packed(net: FloatArray) -> str:
    """Whole metres as steps along each row, the two bytes of each apart, compressed."""
    whole = np.where(np.isnan(net), _UNKNOWN, np.clip(np.rint(net), -32_000, 32_000))
    steps = np.diff(whole.astype(np.int16).ravel(), prepend=np.int16(0)).astype("<i2")
    planes = steps.view(np.uint8).reshape(-1, 2).T
    return base64.b64encode(zlib.compress(planes.tobytes(), 9)).decode("ascii")


def _strays(model: Any, area: Box, net: FloatArray) -> float:  # noqa: ANN401 - rasterio has no types
    """How far 95 % of the interpolated heights lie from the model's own cells at most."""
    from rasterio.warp import transform

    from plotter.tiles.build.rasters import known_heights

    random = np.random.default_rng(0)  # the same places every time
    rows, columns = _window(model, area)
    row = random.integers(*rows, _CHECKED)
    column = random.integers(*columns, _CHECKED)
    xs, ys = model.xy(row, column)
    lon, lat = (np.asarray(v) for v in transform(model.crs, "EPSG:4326", list(xs), list(ys)))
    found = [value[0] for value in model.sample(zip(xs, ys, strict=True), masked=True)]
    truth = known_heights(np.ma.filled(np.ma.array(found, dtype=float), np.nan))
    down = (area.north_deg - lat) / (area.north_deg - area.south_deg) * (net.shape[0] - 1)
    along = (lon - area.west_deg) / (area.east_deg - area.west_deg) * (net.shape[1] - 1)
    inside = (down >= 0) & (down < net.shape[0] - 1) & (along >= 0) & (along < net.shape[1] - 1)
    if not inside.any():
        return float("nan")
    i, j = down[inside].astype(int), along[inside].astype(int)
    u, v = down[inside] - i, along[inside] - j
    read = (1 - u) * ((1 - v) * net[i, j] + v * net[i, j + 1]) + u * (
        (1 - v) * net[i + 1, j] + v * net[i + 1, j + 1]
    )
    apart = np.abs(np.rint(read) - truth[inside])
    return float(np.nanquantile(apart, 0.95)) if np.isfinite(apart).any() else float("nan")
