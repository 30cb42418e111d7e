"""What every coordinate format offers: the one small shape that each fills in its own file."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from plotter.formats.result import Reading, Squares
from plotter.geodesy.position import Area, Position

__all__ = ["Format", "Texts", "squares_one_by_one", "texts_one_by_one"]

Texts = NDArray[np.str_]


@dataclass(frozen=True, slots=True)
class Format:
    """One coordinate format.

    Parameters
    ----------
    name : str
        Its name in data.
    example : str
        One valid text, for error messages and help.
    readings : callable
        ``readings(text, area)``: every meaning of the text in this format; an empty list when the
        text does not have its shape. Raises `FormatError` when it has the shape but cannot be a
        place, or lacks something that only an area could give.
    write : callable
        ``write(position, size_m)``: the text of the place with cells no coarser than `size_m`
        where the format has such cells; grids truncate.
    read_array : callable
        ``read_array(texts)``: `Squares` of complete references.
    write_array : callable
        ``write_array(lat_deg, lon_deg, size_m)``: array of texts, shape (n,).
    covers : callable
        ``covers(position)``: whether the format has a text for the place.
    """

    name: str
    example: str
    readings: Callable[[str, Area | None], list[Reading]]
    write: Callable[[Position, float], str]
    read_array: Callable[[Sequence[str] | Texts], Squares]
    write_array: Callable[[ArrayLike, ArrayLike, float], Texts]
    covers: Callable[[Position], bool] = lambda _: True


def squares_one_by_one(
    texts: Sequence[str] | Texts, readings: Callable[[str, Area | None], list[Reading]]
) -> Squares:
    """Array form of a reader, for formats that gain nothing from vectors.

    A row is read only where the text has one meaning.
    """
    lat, lon, size = (np.full(len(texts), np.nan) for _ in range(3))
    reasons: dict[int, str] = {}
    for i, text in enumerate(texts):
        try:
            found = readings(str(text), None)
        except ValueError as error:
            reasons[i] = str(error)
            continue
        if len(found) == 1:
            square = found[0].square
            lat[i], lon[i], size[i] = square.centre.lat_deg, square.centre.lon_deg, square.size_m
        else:
            many = "more than one meaning in" if found else "not in this format:"
            reasons[i] = f"{many} {str(text)!r}"
    return Squares(lat, lon, size, reasons)


def texts_one_by_one(
    lat_deg: ArrayLike, lon_deg: ArrayLike, size_m: float, write: Callable[[Position, float], str]
) -> Texts:
    """Array form of a writer, for formats that gain nothing from vectors."""
    lat, lon = np.broadcast_arrays(
        np.asarray(lat_deg, dtype=float).ravel(), np.asarray(lon_deg, dtype=float).ravel()
    )
    return np.array(
        [write(Position(a, o), size_m) for a, o in zip(lat.tolist(), lon.tolist(), strict=True)],
        dtype=np.str_,
    )
