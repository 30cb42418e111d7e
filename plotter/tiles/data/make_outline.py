# ruff: noqa: INP001 - a script beside the data it makes, not a module of the package
"""Pack the world's land outline from world-atlas: run by hand, output kept beside this file.

    npm pack world-atlas@2.0.2 && tar xzf world-atlas-2.0.2.tgz
    python make_outline.py package/land-50m.json land-50m.bin

The packed form is what `plotter.tiles.outline` reads: see its docstring.
"""

import hashlib
import json
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["main", "polygons"]

FloatArray = NDArray[np.float64]

UNITS_PER_DEGREE = 500
# The file this was made from; another one is refused, so that the README stays true.
SOURCE_SHA256 = "619477ff690c086885e45cb91707d783805561bd75ae8e437b7d4694b0204e0f"


def polygons(topology: dict[str, Any]) -> list[list[FloatArray]]:
    """Unfold a TopoJSON topology: each polygon a list of rings, each ring (n, 2) lat, lon."""
    scale, shift = topology["transform"]["scale"], topology["transform"]["translate"]
    arcs = [np.cumsum(arc, axis=0) * scale + shift for arc in topology["arcs"]]

    def ring(indices: list[int]) -> FloatArray:
        # A negative index is the one's complement of an arc that runs backwards; arcs share
        # their end points, so the last point of each is left to the next.
        parts = [(arcs[i] if i >= 0 else arcs[~i][::-1])[:-1] for i in indices]
        return np.concatenate(parts)[:, ::-1]

    found: list[list[FloatArray]] = []
    for geometry in topology["objects"]["land"]["geometries"]:
        many = geometry["arcs"] if geometry["type"] == "MultiPolygon" else [geometry["arcs"]]
        found.extend([ring(indices) for indices in polygon] for polygon in many)
    return found


def cut_at_180(rings: list[FloatArray]) -> Iterator[list[FloatArray]]:
    """Cut a polygon at 180 degrees; the source lets its rings run across, and round the pole."""
    outer, *holes = (_running_on(ring) for ring in rings)
    whole = shapely.Polygon(outer, [_beside(hole, outer) for hole in holes])
    if not whole.is_valid:
        whole = whole.buffer(0)
    for turn in (-360.0, 0.0, 360.0):
        part = shapely.box(-180.0 + turn, -90.0, 180.0 + turn, 90.0).intersection(whole)
        for piece in shapely.get_parts(part):
            if piece.geom_type == "Polygon":
                edges = [piece.exterior, *piece.interiors]
                points = [shapely.get_coordinates(edge)[:-1] - (turn, 0.0) for edge in edges]
                yield [ring[:, ::-1] for ring in points]


def _running_on(ring: FloatArray) -> FloatArray:
    """Return (n, 2) longitude, latitude without jumps; a ring round a pole goes through it."""
    lat = np.append(ring[:, 0], ring[0, 0])
    lon = np.unwrap(np.append(ring[:, 1], ring[0, 1]), period=360.0)
    if abs(lon[-1] - lon[0]) > 180.0:
        pole = np.sign(lat.mean()) * 90.0
        lat, lon = np.append(lat, [pole, pole]), np.append(lon, [lon[-1], lon[0]])
        # Left and right of the seam as well, so that each of three worlds gets its whole share.
        turn = 360.0 * np.sign(lon[-2] - lon[-1])
        lon = np.concatenate([lon[:-3] - turn, lon[:-3], lon[:-3] + turn])
        lat = np.concatenate([lat[:-3]] * 3)
        lon, lat = np.append(lon, [lon[-1], lon[0]]), np.append(lat, [pole, pole])
    return np.column_stack([lon, lat])


def _beside(hole: FloatArray, outer: FloatArray) -> FloatArray:
    turns = round(float(outer[:, 0].mean() - hole[:, 0].mean()) / 360.0)
    moved: FloatArray = hole + np.array([360.0 * turns, 0.0])
    return moved


def pack(found: list[list[FloatArray]]) -> bytes:
    """Quantise, take differences, and compress."""
    lengths: list[int] = []
    rings_in: list[int] = []
    points: list[NDArray[np.int32]] = []
    for polygon in found:
        kept = []
        for ring in polygon:
            whole = np.round(ring * UNITS_PER_DEGREE).astype(np.int32)
            moved = np.any(whole != np.roll(whole, 1, axis=0), axis=1)
            whole = whole[moved]
            if len(whole) >= 3:
                kept.append(whole)
        if kept:
            rings_in.append(len(kept))
            lengths.extend(len(ring) for ring in kept)
            points.extend(kept)
    steps = np.diff(np.concatenate(points), axis=0, prepend=np.zeros((1, 2), np.int32))
    numbers = np.concatenate(
        [[UNITS_PER_DEGREE, len(rings_in), len(lengths)], rings_in, lengths, steps.T.ravel()]
    ).astype("<i4")
    # Bytes of equal weight side by side: the upper ones are nearly all alike and vanish.
    planes = numbers.view(np.uint8).reshape(-1, 4).T
    return zlib.compress(planes.tobytes(), 9)


def main() -> None:
    """Read the file named first and write the file named second."""
    source, target = Path(sys.argv[1]), Path(sys.argv[2])
    text = source.read_bytes()
    digest = hashlib.sha256(text).hexdigest()
    if digest != SOURCE_SHA256:
        sys.exit(f"{source} has SHA-256 {digest}, expected {SOURCE_SHA256}")
    whole = (part for land in polygons(json.loads(text)) for part in cut_at_180(land))
    packed = pack(list(whole))
    target.write_bytes(packed)
    digest = hashlib.sha256(packed).hexdigest()
    sys.stdout.write(f"{target}: {len(packed)} bytes, SHA-256 {digest}\n")


if __name__ == "__main__":
    main()
