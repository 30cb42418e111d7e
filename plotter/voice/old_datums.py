"""Degrees that may have been taken from an old map: the same figures on every datum used there."""

from collections.abc import Iterator, Sequence
from typing import Final

from plotter.formats.on_datum import shifted
from plotter.formats.result import Reading
from plotter.voice.mistakes import kind_rate

__all__ = ["on_another_datum"]

# Datums of maps that are still about; a shift of less than a metre is none for this purpose.
_OLD: Final = (
    "ED50", "NAD27", "OSGB36", "TOKYO", "AGD66", "NZGD49", "SAD69", "PSAD56", "PULKOVO1942",
    "CH1903",
)  # fmt: skip
# Coarser figures than these cannot tell one datum from another.
_FINE_M: Final = 300.0


def on_another_datum(
    text: str, readings: Sequence[Reading]
) -> Iterator[tuple[str, float, Reading]]:
    """What degrees would mean on each old datum that is meant for the place.

    Parameters
    ----------
    text : str
        The position as received.
    readings : sequence of Reading
        What it admits on WGS 84.

    Yields
    ------
    name, share, reading : str, float, Reading
        The datum, its share among all slips, and the place on it.
    """
    fine = [r for r in readings if r.format == "latlon" and r.square.size_m < _FINE_M]
    if not fine or any("datum" in why or "good to" in why for r in fine for why in r.assumed):
        return
    # Loaded late: most positions are grid references, which are not shifted.
    from plotter.geodesy.datum import DATUMS, operation_from

    centre = fine[0].square.centre
    covering = [
        name for name in _OLD if operation_from(DATUMS[name], centre.lon_deg, centre.lat_deg).covers
    ]
    for name in covering:
        reading = shifted(fine[0], (name, DATUMS[name]), text)
        yield name, kind_rate("wrong datum") / len(covering), reading
