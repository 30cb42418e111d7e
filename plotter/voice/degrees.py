"""Degrees without marks, "48 30 45", read in every way that the bare figures leave open."""

import re
from collections.abc import Iterator
from functools import cache
from typing import Final

from plotter.errors import FormatError
from plotter.formats.registry import FORMATS
from plotter.formats.result import Reading
from plotter.geodesy.position import Area

__all__ = ["degrees_every_way"]

_LABEL: Final = r"(?:(?:latitude|longitude|lat|long|lon)\s+)?"
_GAP: Final = r"(?:[\s,;/]|\band\b)"
_SIDE: Final = r"(?:north|south|east|west|[nsew])"


@cache
def _pair(figures: str) -> tuple[re.Pattern[str], ...]:
    """Patterns of two angles: sides before the figures; else after them, or none."""
    one, two = (figures.replace("#", number) for number in "12")
    label = f"-?{_LABEL}-?"
    before = (
        rf"(?P<before1>{label}{_SIDE}\s*){one}(?P<after1>){_GAP}+"
        rf"(?P<before2>{label}{_SIDE}\s*){two}(?P<after2>)"
    )
    after = (
        rf"(?P<before1>{label}){one}\s*(?P<after1>{_SIDE}){_GAP}*"
        rf"(?P<before2>{label}){two}\s*(?P<after2>{_SIDE})"
    )
    bare = (
        rf"(?P<before1>{label}){one}(?P<after1>){_GAP}+"
        rf"(?P<before2>{label}){two}(?P<after2>)"
    )
    return tuple(re.compile(p, re.IGNORECASE | re.ASCII) for p in (before, after, bare))


_THREE: Final = r"(?P<d#>\d{1,3})\s+(?P<m#>\d{1,2})\s+(?P<s#>\d{1,2})"
_TWO: Final = r"(?P<d#>\d{1,3})\s+(?P<m#>\d{1,2})"
# Said figure by figure: two figures of latitude, two or three of longitude, then two each.
_RUN: Final = r"(?P<run#>\d{4,7})"
_BOTH_SIDED: Final = r"(?i)(north|south|east|west|[nsew])\b"
# "38 25 south": one latitude, or a longitude and a latitude of whole degrees?
_ONE_OR_TWO: Final = rf"\d{{1,3}}\s+\d{{1,2}}(?:\.\d+)?\s*{_SIDE}"
_NOT_SAID: Final = "the words were not said"
_FULL: Final = (
    ("degrees, minutes and seconds", "{d}°{m}'{s}\""),
    ("degrees and minutes with decimals", "{d}°{m}.{s}'"),
    ("degrees with decimals", "{d}.{m}{s}°"),
)
_SHORT: Final = (("degrees and minutes", "{d}°{m}'"), ("degrees with decimals", "{d}.{m}°"))


def degrees_every_way(text: str, area: Area | None, *, spoken: bool) -> list[Reading]:
    """Readings of two angles whose parts carry no mark and no decimal point.

    Parameters
    ----------
    text : str
        Two angles of two or three parts each, such as ``48 30 45 N 2 17 40 E``.
    area : Area or None
        As for any reader.
    spoken : bool
        Whether to take apart figures that run together, too: said one by one they come without
        the gaps that a writer leaves. Typed, they are degrees, minutes and seconds by standard.

    Returns
    -------
    list of Reading
        Degrees, minutes and seconds first; then degrees and decimal minutes; then decimal degrees.
        Ways that cannot be (minutes of 60 and more) are left out. Empty for a text of another
        kind.

    Raises
    ------
    FormatError
        If the text may be one angle or two.
    """
    if re.fullmatch(_ONE_OR_TWO, text.strip(), re.IGNORECASE | re.ASCII):
        raise FormatError(
            f"{text!r} may be one angle of degrees and minutes, or two: ask for latitude and "
            "longitude, each with its side",
            text,
        )
    # The patterns are compiled only for a text that could be two angles at all.
    if len(re.findall(r"\d+", text)) < (2 if spoken else 4):
        return []
    found: list[Reading] = []
    for way, written in _ways(text.strip(), spoken=spoken):
        try:
            readings = FORMATS["latlon"].readings(written, area)
        except FormatError:
            continue
        found += [
            Reading(each.format, each.square, (f"{way}: {_NOT_SAID}", *each.assumed))
            for each in readings
        ]
    return found


def _matched(figures: str, text: str) -> re.Match[str] | None:
    return next((match for each in _pair(figures) if (match := each.fullmatch(text))), None)


def _ways(text: str, *, spoken: bool) -> Iterator[tuple[str, str]]:
    """Each way in words, and the text with the marks of that way."""
    if match := _matched(_THREE, text):
        first, second = ((match[f"d{n}"], match[f"m{n}"], match[f"s{n}"]) for n in (1, 2))
    elif match := _matched(_TWO, text):
        first, second = ((match[f"d{n}"], match[f"m{n}"], "") for n in (1, 2))
    elif spoken and (match := _matched(_RUN, text)):
        runs = _run_parts(match, 1), _run_parts(match, 2)
        if runs[0] is None or runs[1] is None:
            return
        first, second = runs[0], runs[1]
    else:
        return
    if bool(first[2]) != bool(second[2]):
        return
    for name, form in _FULL if first[2] else _SHORT:
        yield (
            name,
            " ".join(
                f"{match[f'before{n}']}{form.format(d=d, m=m, s=s)}{match[f'after{n}']}"
                for n, (d, m, s) in ((1, first), (2, second))
            ),
        )


def _run_parts(match: re.Match[str], number: int) -> tuple[str, str, str] | None:
    """Degrees, minutes and seconds of figures run together; None where they do not fit."""
    run: str = match[f"run{number}"]
    side = re.search(_BOTH_SIDED, f"{match[f'before{number}']} {match[f'after{number}']}")
    if side is None:
        return None
    longitude = side[1][0].lower() in "ew"
    if len(run) % 2 and not longitude:
        return None
    whole = 3 if len(run) % 2 else 2
    if int(run[whole : whole + 2]) >= 60 or int(run[whole + 2 :] or 0) >= 60:
        return None  # not these groups: which ones, only the sender knows
    return run[:whole], run[whole : whole + 2], run[whole + 2 :]
