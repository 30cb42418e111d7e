"""Fonts of the map, from packages: which file has a letter, and its faces for shaping and drawing.

This module alone knows where they come from, so that another source can take their place.
"""

import unicodedata
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

from plotter.errors import TileError

__all__ = ["Face", "face_of", "faces", "missing_library", "script_of"]

_PACKAGES: Final = ("manimgx_fonts", "manimgx_fonts_cjk")
# Asked first for every letter; the italic and the picture letters never.
_FIRST: Final = "NotoSans["
_NEVER: Final = ("Italic", "Emoji")
_WEIGHT: Final = 600.0  # thin letters are lost on a ground of lines


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One font.

    Parameters
    ----------
    name : str
        Its file.
    shaper, drawn : object
        The same face for uharfbuzz and for skia.
    letters : frozenset of int
        Code points that it has.
    units : int
        To its em.
    """

    name: str
    shaper: Any
    drawn: Any
    letters: frozenset[int]
    units: int


@cache
def faces() -> tuple[Face, ...]:
    """Every font that is installed, in the order in which they are asked.

    Raises
    ------
    TileError
        If a library or every font is missing.
    """
    files = [
        path
        for package in _PACKAGES
        for path in sorted(_folder(package))
        if not any(word in path.name for word in _NEVER)
    ]
    files.sort(key=lambda path: not path.name.startswith(_FIRST))
    if not files:
        raise TileError("the letters of the map need the extra: pip install 'plotter[maps]'")
    return tuple(_opened(path) for path in files)


def face_of(letter: int) -> int | None:
    """Number of the first face that has a letter; None if none has."""
    return next((n for n, face in enumerate(faces()) if letter in face.letters), None)


def script_of(letter: str) -> str:
    """Script of a letter by the first word of its Unicode name, as 'ARABIC'."""
    return unicodedata.name(letter, "UNKNOWN").split()[0]


def _folder(package: str) -> list[Path]:
    spec = find_spec(package)
    if spec is None or spec.origin is None:
        return []
    folder = Path(spec.origin).parent
    return [*folder.glob("*.ttf"), *folder.glob("*.ttc")]


def _opened(path: Path) -> Face:
    try:
        import skia
        import uharfbuzz
    except ImportError as error:
        raise TileError(missing_library(error)) from error
    face = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(path)))
    shaper = uharfbuzz.Font(face)
    shaper.set_variations({"wght": _WEIGHT})
    told = skia.FontArguments.VariationPosition
    # Kept by name: the library points to it and does not hold it.
    axes = told.Coordinates([told.Coordinate(_axis("wght"), _WEIGHT)])
    position = told(axes)
    plain = skia.Typeface.MakeFromFile(str(path), 0)
    drawn = plain.makeClone(skia.FontArguments().setVariationDesignPosition(position))
    return Face(path.name, shaper, drawn, frozenset(face.unicodes), face.upem)


def _axis(name: str) -> int:
    return int.from_bytes(name.encode("ascii"), "big")


def missing_library(error: ImportError) -> str:
    """What to do where a library that draws cannot be loaded."""
    if "libGL" in str(error) or "libEGL" in str(error):
        return (
            "drawing maps needs two libraries of the system that every desktop has: "
            f"apt-get install libgl1 libegl1 ({error})"
        )
    return "drawing maps needs the extra: pip install 'plotter[maps]'"
