# ruff: noqa: INP001 - a script beside the data it makes, not a module of the package
"""Pack the world's country borders from world-atlas: run by hand, output kept beside this file.

    npm pack world-atlas@2.0.2 && tar xzf world-atlas-2.0.2.tgz
    python make_borders.py package/countries-50m.json borders-50m.bin

The packed form is what `plotter.tiles.borders` reads: see its docstring.
"""

import hashlib
import json
import sys
import zlib
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["borders", "main", "pack"]

FloatArray = NDArray[np.float64]

UNITS_PER_DEGREE = 500
# The file this was made from; another one is refused, so that the README stays true.
SOURCE_SHA256 = "04342cdc1e3016bcd7db1630de95684d67b79fe3c8c460321e87aef469502394"


def borders(topology: dict[str, Any]) -> list[FloatArray]:
    """Unfold the arcs that two countries share: each (n, 2) latitude and longitude."""
    scale, shift = topology["transform"]["scale"], topology["transform"]["translate"]
    owners: dict[int, set[int]] = defaultdict(set)
    for number, country in enumerate(topology["objects"]["countries"]["geometries"]):
        many = country.get("arcs", [])
        for polygon in many if country["type"] == "MultiPolygon" else [many]:
            for ring in polygon:
                # A negative index is the one's complement of an arc that runs backwards.
                for index in ring:
                    owners[index if index >= 0 else ~index].add(number)
    shared = sorted(index for index, countries in owners.items() if len(countries) > 1)
    return [
        (np.cumsum(topology["arcs"][index], axis=0) * scale + shift)[:, ::-1] for index in shared
    ]


def pack(lines: list[FloatArray]) -> bytes:
    """Quantise, take differences, and compress."""
    kept = []
    for line in lines:
        whole = np.round(line * UNITS_PER_DEGREE).astype(np.int32)
        moved = np.append(True, np.any(np.diff(whole, axis=0) != 0, axis=1))
        if moved.sum() >= 2:
            kept.append(whole[moved])
    steps = np.diff(np.concatenate(kept), axis=0, prepend=np.zeros((1, 2), np.int32))
    numbers = np.concatenate(
        [[UNITS_PER_DEGREE, len(kept)], [len(line) for line in kept], steps.T.ravel()]
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
    packed = pack(borders(json.loads(text)))
    target.write_bytes(packed)
    digest = hashlib.sha256(packed).hexdigest()
    sys.stdout.write(f"{target}: {len(packed)} bytes, SHA-256 {digest}\n")


if __name__ == "__main__":
    main()
