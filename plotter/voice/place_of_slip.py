"""Naming the one character in which two texts differ: "the third figure of the easting"."""

import re
from typing import Final

__all__ = ["figure_words"]

_ORDINALS: Final = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
)  # fmt: skip
_MGRS: Final = re.compile(r"\s*(\d{1,2})\s*([A-Z])\s*([A-Z])\s*([A-Z])\s*(\d*)\s*(\d*)\s*")
_UTM: Final = re.compile(r"\s*(\d{1,2})\s*([A-Z])?\D*?(\d{5,7})(?:\.\d+)?\D+(\d{6,7})(?:\.\d+)?\D*")
_LOCATOR: Final = re.compile(r"\s*([A-R]{2})(\d\d)([A-X]{2})?(\d\d)?([A-X]{2})?\s*")


def figure_words(received: str, meant: str) -> str:
    """Name the place of the first difference between what was received and what may be meant.

    Parameters
    ----------
    received, meant : str
        Two texts of a position, upper case.

    Returns
    -------
    str
        As in "the second letter of the square"; empty where there is no difference.

    Examples
    --------
    >>> figure_words("31U DQ 48251 11932", "31U DR 48251 11932")
    'the second letter of the square'
    """
    at = next(
        (i for i, (a, b) in enumerate(zip(received, meant, strict=False)) if a != b),
        min(len(received), len(meant)),
    )
    if received == meant:
        return ""
    at = min(at, len(received) - 1)
    if match := _MGRS.fullmatch(received):
        return _in_mgrs(match, at)
    if match := _LOCATOR.fullmatch(received):
        return f"the {_ordinal(len(received[:at].strip()))} character of the locator"
    if match := _UTM.fullmatch(received):
        names = {1: "the zone", 2: "the band letter"}
        for group, name in names.items():
            if match.start(group) <= at < match.end(group):
                return name
        for group, name in ((3, "easting"), (4, "northing")):
            if match.start(group) <= at < match.end(group):
                return f"the {_ordinal(at - match.start(group))} figure of the {name}"
    return _in_numbers(received, at)


def _in_mgrs(match: re.Match[str], at: int) -> str:
    for group, name in (
        (1, "the zone"),
        (2, "the band letter"),
        (3, "the first letter of the square"),
        (4, "the second letter of the square"),
    ):
        if match.start(group) <= at < match.end(group):
            return name
    before = len(re.sub(r"\D", "", match.string[match.start(5) : at]))
    half = len(match[5] + match[6]) // 2
    if match[6]:
        half = len(match[5])
    if before < half:
        return f"the {_ordinal(before)} figure of the easting"
    return f"the {_ordinal(before - half)} figure of the northing"


def _in_numbers(text: str, at: int) -> str:
    """Which figure of the latitude or the longitude, counted through its degrees and minutes."""
    figures = [i for i, character in enumerate(text) if character.isdigit()]
    if not figures:
        return ""
    numbers = list(re.finditer(r"[\d.]+(?:[\s°'\"]+[\d.]+)*", text))
    for index, match in enumerate(numbers):
        if match.start() <= at <= match.end():
            # The letter of an angle stands behind it, or before it where none stands behind.
            letters = re.findall("[NSEW]", text[match.end() : match.end() + 3])
            letters += re.findall("[NSEW]", text[max(match.start() - 2, 0) : match.start()])
            latitude = letters[0] in "NS" if letters else index == 0
            count = sum(match.start() <= i < at for i in figures)
            which = "latitude" if latitude else "longitude"
            return f"the {_ordinal(count)} figure of the {which}"
    return "the hemisphere"


def _ordinal(index: int) -> str:
    return _ORDINALS[index] if index < len(_ORDINALS) else f"{index + 1}th"
