"""Every coordinate format the plotter reads and writes, in the order in which they are tried.

A format's file is imported when a text may be in it, or when it is asked for by name: reading one
position must not wait for twenty formats.
"""

import importlib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from plotter.formats.protocol import Format

__all__ = ["FORMATS", "formats_that_may_read"]

_GRID: Final = re.compile(r"\s*\d{1,2}\s*[C-X]\s*[A-Z]{2}[\d\s,]*", re.ASCII)


@dataclass(frozen=True, slots=True)
class _Entry:
    """Where a format lives, and a cheap test that is never false for a text it could read.

    The test gets the text in upper case and whether an area of operations is known.
    """

    module: str
    may_read: Callable[[str, bool], bool]


def _always(_upper: str, _area: bool) -> bool:  # noqa: FBT001 - the signature of every test
    return True


def _long_figures(upper: str, _area: bool) -> bool:  # noqa: FBT001
    return sum(character.isdigit() for character in upper) >= 11


def _degrees(upper: str, _area: bool) -> bool:  # noqa: FBT001
    # A zone, its square and figures are a grid reference.
    return not _GRID.fullmatch(upper)


def _letters_first(upper: str, _area: bool) -> bool:  # noqa: FBT001
    return upper[:2].isalpha()


def _letters_or_area(upper: str, area: bool) -> bool:  # noqa: FBT001
    return area or upper[:2].isalpha()


def _figures_or_name(upper: str, _area: bool) -> bool:  # noqa: FBT001
    return upper[:3].isdigit() or upper[:4] == "GARS"


def _plus(upper: str, _area: bool) -> bool:  # noqa: FBT001
    return "+" in upper or upper[:1] == "O"


def _one_word(upper: str, _area: bool) -> bool:  # noqa: FBT001
    return upper[:7] == "GEOHASH" or upper.isalnum()


_ENTRIES: Final[dict[str, _Entry]] = {
    "mgrs": _Entry("mgrs", _always),
    "utm": _Entry("utm", _long_figures),
    "ups": _Entry("utm", _long_figures),
    "maidenhead": _Entry("maidenhead", _letters_first),
    "latlon": _Entry("latlon", _degrees),
    "gars": _Entry("gars", _figures_or_name),
    "georef": _Entry("georef", _letters_first),
    "olc": _Entry("olc", _plus),
    "geohash": _Entry("geohash", _one_word),
    "osgb": _Entry("lettered", _letters_or_area),
    "irish": _Entry("lettered", _letters_or_area),
    "rd": _Entry("national", _letters_first),
    "lv95": _Entry("national", _letters_first),
    "lv03": _Entry("national", _letters_first),
    "sweref99tm": _Entry("national", _letters_first),
    "tm35fin": _Entry("national", _letters_first),
    "nztm": _Entry("national", _letters_first),
    "itm": _Entry("national", _letters_first),
    "mga": _Entry("mga", _letters_first),
    "epsg": _Entry("epsg", _letters_first),
}


@cache
def _loaded(name: str) -> Format:
    module = importlib.import_module(f"plotter.formats.{_ENTRIES[name].module}")
    formats: tuple[Format, ...] = module.FORMATS
    return next(each for each in formats if each.name == name)


class _LateFormats(Mapping[str, Format]):
    """The formats by name; a format's file is imported when it is looked up."""

    def __getitem__(self, name: str) -> Format:
        return _loaded(name)

    def __iter__(self) -> Iterator[str]:
        return iter(_ENTRIES)

    def __len__(self) -> int:
        return len(_ENTRIES)


FORMATS: Final[Mapping[str, Format]] = _LateFormats()


def formats_that_may_read(text: str, *, area: bool) -> Iterator[Format]:
    """Formats that a text could be in, in their order; the others need not be loaded.

    Parameters
    ----------
    text : str
        A position in any notation.
    area : bool
        Whether an area of operations is known.
    """
    upper = text.upper()
    for name, entry in _ENTRIES.items():
        if entry.may_read(upper, area):
            yield FORMATS[name]
