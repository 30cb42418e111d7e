"""Scanned maps and elevation models as they lie under a block of tiles, warped to web mercator."""

import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from plotter.errors import FormatError, TileError
from plotter.geodesy.arrays import FloatArray
from plotter.tiles.grid import WEB_MERCATOR_MAX_LAT_DEG, WEB_MERCATOR_RADIUS_M, Box

if TYPE_CHECKING:
    import rasterio

__all__ = [
    "Elevation", "Rasters", "Scan", "Window", "is_raster", "known_heights", "reach",
    "read_rasters", "unknown_mark",
]  # fmt: skip

# No driver that may follow a reference out of the file, to another file or to a network.
_DRIVERS: Final = {
    ".tif": "GTiff", ".tiff": "GTiff", ".hgt": "SRTMHGT",
    ".dt0": "DTED", ".dt1": "DTED", ".dt2": "DTED",
}  # fmt: skip
_ELEVATION_TYPES: Final = frozenset({"int16", "uint16", "int32", "float32", "float64"})
_TO_METRES: Final = {
    "": 1.0, "m": 1.0, "metre": 1.0, "meter": 1.0, "metres": 1.0, "meters": 1.0,
    "ft": 0.3048, "foot": 0.3048, "feet": 0.3048,
    "us survey foot": 1200.0 / 3937.0, "us-ft": 1200.0 / 3937.0,
}  # fmt: skip
# Land, with room: the Dead Sea's shore is near −430 m, the highest summit near 8849 m. What lies
# outside is sea floor, or a mark for "unknown" that the file does not declare.
_LOWEST_M: Final = -500.0
_HIGHEST_M: Final = 9000.0
_UNKNOWN: Final = -32768  # as SRTM and DTED write it
_PALETTE_FINE: Final = 4
_LOOKED_AT: Final = 512  # cells each way in which a mark for unknown is looked for


@dataclass(frozen=True, slots=True)
class Window:
    """A square of web-mercator pixels.

    Parameters
    ----------
    zoom : int
        The level; its tiles have 256 pixels.
    left, top : int
        First pixel, from 180 degrees west and from the north edge.
    pixels : int
        On each side.
    """

    zoom: int
    left: int
    top: int
    pixels: int

    def transform(self, count: int) -> tuple[float, ...]:
        """Affine coefficients (EPSG:3857, metres) of `count` samples on each side."""
        half = np.pi * WEB_MERCATOR_RADIUS_M
        pixel = 2.0 * half / (256 << self.zoom)
        step = pixel * self.pixels / count
        return (step, 0.0, self.left * pixel - half, 0.0, -step, half - self.top * pixel)


@dataclass(frozen=True, slots=True)
class Scan:
    """A scanned or rectified map.

    Parameters
    ----------
    path : Path
        Its file.
    """

    path: Path

    def image(self, window: Window) -> NDArray[np.uint8]:
        """Red, green, blue and cover (0 where there is no map), (pixels, pixels, 4)."""
        with _opened(self.path) as source:
            palette = _palette(source)
            if palette is None:
                bands = _covered(source, window, window.pixels, "bilinear")
                colours = bands[:-1] if len(bands) > 3 else np.repeat(bands[:1], 3, axis=0)
                return np.dstack((*colours[:3], bands[-1])).astype(np.uint8)
            # Numbers of colours cannot be averaged: taken finely, looked up, and then averaged.
            numbers = _covered(source, window, window.pixels * _PALETTE_FINE, "nearest")
        fine = palette[numbers[0].astype(int)].astype(np.float64)
        cover = (fine[..., 3] * (numbers[-1] / 255.0))[..., None]
        shape = (window.pixels, _PALETTE_FINE, window.pixels, _PALETTE_FINE, -1)
        weight = cover.reshape(shape).mean(axis=(1, 3))
        colour = (fine[..., :3] * cover).reshape(shape).mean(axis=(1, 3)) / np.maximum(weight, 1e-9)
        return np.dstack((colour, weight)).round().astype(np.uint8)


@dataclass(frozen=True, slots=True)
class Elevation:
    """A model of the ground's height.

    Parameters
    ----------
    path : Path
        Its file.
    to_metres : float
        Factor from its unit.
    """

    path: Path
    to_metres: float

    def heights_m(self, window: Window, count: int) -> FloatArray:
        """Heights at the middles of `count` cells on each side; NaN where unknown."""
        with _opened(self.path) as source:
            bands = _warped(
                source, window, count, "bilinear",
                src_nodata=unknown_mark(source), nodata=_UNKNOWN, dtype="float32",
            )  # fmt: skip
        heights = bands[0].astype(np.float64) * self.to_metres
        return known_heights(heights)


@dataclass(frozen=True, slots=True)
class Rasters:
    """What lies under the features.

    Parameters
    ----------
    scans : tuple of Scan
        Maps, the first on top.
    elevations : tuple of Elevation
        Models of height; where the first knows nothing, the next is asked.
    credit : str
        Whom to credit by what the files say of themselves; empty where they say nothing.
    """

    scans: tuple[Scan, ...] = ()
    elevations: tuple[Elevation, ...] = ()
    credit: str = ""

    def image(self, window: Window) -> NDArray[np.uint8]:
        """All scans as one, (pixels, pixels, 4)."""
        from PIL import Image

        whole = Image.new("RGBA", (window.pixels, window.pixels))
        for scan in reversed(self.scans):
            whole.alpha_composite(Image.fromarray(scan.image(window)))
        return np.asarray(whole)

    def heights_m(self, window: Window, count: int) -> FloatArray:
        """All elevations as one, (count, count); NaN where unknown."""
        heights = np.full((count, count), np.nan)
        for model in self.elevations:
            unknown = np.isnan(heights)
            if unknown.any():
                heights = np.where(unknown, model.heights_m(window, count), heights)
        return heights


def unknown_mark(source: "rasterio.DatasetReader") -> float | None:
    """Value that marks unknown heights: the one declared, else one that no height on Earth has.

    An undeclared mark would be averaged with true heights beside it; it is looked for in a small
    copy of the model.
    """
    if source.nodata is not None:
        return float(source.nodata)
    shape = (min(source.height, _LOOKED_AT), min(source.width, _LOOKED_AT))
    few = source.read(1, out_shape=shape).astype(np.float64)
    for odd in (few[few <= _LOWEST_M / 0.3048], few[few >= _HIGHEST_M / 0.3048]):
        if len(odd):
            return float(odd[np.argmax(np.abs(odd))])
    kind = np.dtype(source.dtypes[0])
    return float(np.iinfo(kind).max if kind.kind == "u" else _UNKNOWN)


def known_heights(heights_m: FloatArray) -> FloatArray:
    """Heights with NaN where they are none on land."""
    there = (heights_m > _LOWEST_M) & (heights_m < _HIGHEST_M)
    return np.where(there, heights_m, np.nan)


def is_raster(path: Path) -> bool:
    """Whether a file's ending is that of a raster, and not of a layer of features."""
    return path.suffix.lower() in _DRIVERS


def read_rasters(paths: Sequence[Path]) -> Rasters:
    """Look at raster files: a map, or one band of heights.

    Parameters
    ----------
    paths : sequence of Path
        GeoTIFF (also cloud-optimised), SRTM .hgt or DTED. One band of int16, uint16, int32,
        float32 or float64 is an elevation model; 8-bit bands, or numbers of colours, are a map.

    Returns
    -------
    Rasters
        In the order of the files.

    Raises
    ------
    TileError
        If a file is missing, cannot be read, or does not say where on Earth it lies.
    """
    scans: list[Scan] = []
    elevations: list[Elevation] = []
    credits_said: list[str] = []
    for path in paths:
        with _opened(path) as source:
            _check_place(path, source)
            kinds = set(source.dtypes)
            if source.count == 1 and kinds <= _ELEVATION_TYPES:
                elevations.append(Elevation(path, _unit(path, source)))
            elif kinds == {"uint8"} and source.count in {1, 2, 3, 4}:
                scans.append(Scan(path))
            else:
                raise TileError(
                    f"{str(path)!r} has {source.count} bands of {', '.join(sorted(kinds))}; "
                    "expected a map of 8-bit colours, or one band of heights (int16, uint16, "
                    "float32)"
                )
            credits_said.append(str(source.tags().get("TIFFTAG_COPYRIGHT", "")).strip())
    said = "; ".join(dict.fromkeys(credit for credit in credits_said if credit))
    return Rasters(tuple(scans), tuple(elevations), said)


def reach(path: Path) -> tuple[Box, float]:
    """Box of a raster in latitude and longitude, and its pixel in metres of web mercator.

    Raises
    ------
    TileError
        If it cannot be read, or its box cannot be told.
    """
    from rasterio.errors import CRSError
    from rasterio.warp import calculate_default_transform, transform_bounds

    with _opened(path) as source:
        _check_place(path, source)
        try:
            west, south, east, north = transform_bounds(source.crs, "EPSG:4326", *source.bounds)
            south = max(south, -WEB_MERCATOR_MAX_LAT_DEG)
            north = min(north, WEB_MERCATOR_MAX_LAT_DEG)
            pixel = calculate_default_transform(
                source.crs, "EPSG:3857", source.width, source.height, *source.bounds
            )[0]
            return Box(south, west, north, east), float(abs(pixel.a))
        except (CRSError, FormatError) as error:
            raise TileError(
                f"where {str(path)!r} lies cannot be told ({error}); warp it to EPSG:3857 first"
            ) from error


@contextmanager
def _opened(path: Path) -> Iterator["rasterio.DatasetReader"]:
    if not path.is_file():
        raise TileError(f"there is no map at {str(path)!r}; check the path")
    try:
        import rasterio  # loaded late: only building a map needs it
    except ImportError as error:
        raise TileError("building a map needs the extra: pip install 'plotter[maps]'") from error
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a file without a place is refused in words
            with rasterio.open(path, driver=_DRIVERS.get(path.suffix.lower(), "GTiff")) as source:
                yield source
    except rasterio.errors.RasterioError as error:
        raise TileError(f"{str(path)!r} cannot be read as a map: {error}") from error


def _check_place(path: Path, source: "rasterio.DatasetReader") -> None:
    if source.crs is None or source.transform.is_identity:
        raise TileError(
            f"{str(path)!r} does not say where on Earth it lies, in which system of coordinates; "
            "rectify it first (a GeoTIFF with its system and corners)"
        )


def _unit(path: Path, source: "rasterio.DatasetReader") -> float:
    unit = str(source.units[0] or "").strip().lower()
    if unit not in _TO_METRES:
        raise TileError(f"{str(path)!r} has heights in {unit!r}; expected metres or feet")
    return _TO_METRES[unit]


def _palette(source: "rasterio.DatasetReader") -> NDArray[np.uint8] | None:
    if source.count != 1 or source.colorinterp[0].name != "palette":
        return None
    table = np.zeros((256, 4), dtype=np.uint8)
    for number, colour in source.colormap(1).items():
        if 0 <= number < len(table):
            table[number] = colour
    return table


def _warped(
    source: "rasterio.DatasetReader",
    window: Window,
    count: int,
    resampling: str,
    **more: float | str | None,
) -> NDArray[Any]:
    """All bands on the window's own grid: (bands, count, count)."""
    from rasterio.enums import Resampling
    from rasterio.transform import Affine
    from rasterio.vrt import WarpedVRT

    with WarpedVRT(
        source,
        crs="EPSG:3857",
        transform=Affine(*window.transform(count)),
        width=count,
        height=count,
        resampling=Resampling[resampling],
        **more,
    ) as warped:
        bands: NDArray[Any] = warped.read()
    return bands


def _covered(
    source: "rasterio.DatasetReader", window: Window, count: int, resampling: str
) -> NDArray[Any]:
    """All bands of a map, the last of them its cover (0 to 255)."""
    from rasterio.enums import ColorInterp

    has_cover = ColorInterp.alpha in source.colorinterp
    return _warped(source, window, count, resampling, add_alpha=not has_cover)
