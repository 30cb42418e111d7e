"""What may have been meant: every text that one likely slip turns into the one that was received.

Kinds: a figure or a letter that sounds like another, neighbours swapped, a figure dropped or
doubled, easting and northing swapped, latitude and longitude swapped, the wrong hemisphere, the
wrong zone or band, decimal degrees said for degrees and minutes.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from plotter.formats.zones import BANDS

__all__ = ["Meant", "kind_rate", "meant_texts", "slip_chance"]

_TABLE: Final = Path(__file__).resolve().parent / "data" / "slips_english.json"
_FIGURES: Final = "0123456789"
_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
# Zone, band, and the rest of an MGRS or UTM reference.
_ZONED: Final = re.compile(r"\s*(?:ZONE\s*)?(\d{1,2})(\s*)([C-X])(?![A-Z]{3})(.*)", re.DOTALL)
_SQUARE: Final = re.compile(r"(\s*\d{1,2}\s*[A-Z]\s*[A-Z]\s*[A-Z]\s*|\s*[A-Z]\s*[A-Z]\s*)([\d\s]+)")
_TWO_NUMBERS: Final = re.compile(r"(.*?)(\d{5,7}(?:\.\d+)?)(\D+)(\d{5,7}(?:\.\d+)?)(.*)", re.DOTALL)
_TWO_ANGLES: Final = re.compile(
    r"([NSEW]?\s*-?)([\d.]+(?:\s[\d.]+){0,2})(\D*?[\s,NSEW]\D*?)([\d.]+(?:\s[\d.]+){0,2})(\s*[NSEW]?)"
)
_DECIMAL: Final = re.compile(r"(?<![\d.\s])(\d{1,3})\.(\d{2})(\d*)|(?<=\s)(\d{1,3})\.(\d{2})(\d*)")
_MINUTES: Final = re.compile(r"(\d{1,3})\s(\d{2})\.(\d+)")
_HEMISPHERES: Final = {"N": "S", "S": "N", "E": "W", "W": "E"}


@dataclass(frozen=True, slots=True)
class Meant:
    """A text that may have been meant, and the slip that would explain what was received.

    Parameters
    ----------
    text : str
        What was meant.
    kind : str
        Name of the slip.
    words : str
        The slip in words.
    chance : float
        Chance of this slip, given that there was one and that this was meant.
    """

    text: str
    kind: str
    words: str
    chance: float


def meant_texts(received: str) -> Iterator[Meant]:
    """Every text that one slip turns into the received one; some will not be positions at all.

    Parameters
    ----------
    received : str
        The position as received, in characters.
    """
    text = received.upper()
    plain = [i for i in range(len(text)) if _is_code(text, i)]
    figures = [i for i in plain if text[i] in _FIGURES]
    letters = [i for i in plain if text[i] in _LETTERS]
    yield from _alike(text, figures, _FIGURES, "figure")
    yield from _alike(text, letters, _LETTERS, "letter")
    yield from _swapped(text, plain)
    yield from _dropped(text, figures)
    yield from _doubled(text, figures)
    yield from _exchanged(text)
    yield from _other_hemisphere(text)
    yield from _other_zone(text)
    yield from _degrees_for_minutes(text)


def slip_chance(meant: str, heard: str, kind: str) -> float:
    """Chance that one figure or letter, if it is misheard at all, is heard as another."""
    table = _table()[f"{kind}s"]
    alphabet = _FIGURES if kind == "figure" else _LETTERS
    total = sum(_pair(table, meant, other) for other in alphabet if other != meant)
    return _pair(table, meant, heard) / total


def _pair(table: dict[str, Any], a: str, b: str) -> float:
    pairs: dict[str, float] = table["pairs"]
    return pairs.get(a + b, pairs.get(b + a, float(table["other"])))


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = json.loads(_TABLE.read_text(encoding="utf-8"))
    return table


def kind_rate(kind: str) -> float:
    """Share of a kind among all slips."""
    return float(_table()["kinds"][kind])


def _is_code(text: str, at: int) -> bool:
    """Whether a character is a figure, or a letter of a code; not a hemisphere and not a word."""
    character = text[at]
    if character in _FIGURES:
        return True
    if character not in _LETTERS:
        return False
    run = re.search(r"[A-Z]*$", text[: at + 1])
    start = at + 1 - len(run[0]) if run else at
    tail = re.match(r"[A-Z]*", text[at:])
    word = text[start : at + len(tail[0] if tail else "")]
    beside_point = "." in text or "°" in text
    lone = word in _HEMISPHERES and (beside_point or not re.match(r"\s*\d{1,2}\s*[A-Z]", text))
    return len(word) <= 3 and not lone and word not in {"UTM", "LAT", "LON", "UPS"}


def _alike(text: str, places: list[int], alphabet: str, kind: str) -> Iterator[Meant]:
    for i in places:
        for other in alphabet:
            if other != text[i]:
                chance = kind_rate(kind) / len(places) * slip_chance(other, text[i], kind)
                words = f"{other} was heard as {text[i]}"
                yield Meant(text[:i] + other + text[i + 1 :], f"misheard {kind}", words, chance)


def _swapped(text: str, places: list[int]) -> Iterator[Meant]:
    pairs = [
        i
        for i in places
        if i + 1 in places
        and (text[i] in _FIGURES) == (text[i + 1] in _FIGURES)
        and text[i] != text[i + 1]
    ]
    for i in pairs:
        meant = text[:i] + text[i + 1] + text[i] + text[i + 2 :]
        words = f"{text[i + 1]}{text[i]} was written {text[i]}{text[i + 1]}"
        chance = kind_rate("swapped neighbours") / len(pairs)
        yield Meant(meant, "swapped neighbours", words, chance)


def _dropped(text: str, figures: list[int]) -> Iterator[Meant]:
    chance = kind_rate("dropped figure") / (10 * (len(figures) + 1))
    seen = {text}
    for i in [*figures, *(i + 1 for i in figures if i + 1 not in figures)]:
        for figure in _FIGURES:
            meant = text[:i] + figure + text[i:]
            if meant not in seen:
                seen.add(meant)
                yield Meant(meant, "dropped figure", f"a {figure} was left out", chance)


def _doubled(text: str, figures: list[int]) -> Iterator[Meant]:
    runs = [i for i in figures if i + 1 in figures and text[i] == text[i + 1]]
    for i in runs:
        words = f"{text[i]} was said once and written twice"
        chance = kind_rate("doubled figure") / len(figures)
        yield Meant(text[:i] + text[i + 1 :], "doubled figure", words, chance)


def _exchanged(text: str) -> Iterator[Meant]:
    """Easting and northing, or latitude and longitude, the other way round."""
    rate = kind_rate("easting and northing")
    if match := _SQUARE.fullmatch(text):
        figures = re.sub(r"\s", "", match[2])
        half = len(figures) // 2
        if half and len(figures) % 2 == 0 and figures[:half] != figures[half:]:
            meant = f"{match[1]}{figures[half:]} {figures[:half]}"
            words = "northing said before easting"
            yield Meant(meant, "easting and northing swapped", words, rate)
    elif match := _TWO_NUMBERS.fullmatch(text):
        meant = match[1] + match[4] + match[3] + match[2] + match[5]
        yield Meant(meant, "easting and northing swapped", "northing said before easting", rate)
    if match := _TWO_ANGLES.fullmatch(text):
        meant = match[1] + match[4] + match[3] + match[2] + match[5]
        words = "longitude said before latitude"
        rate = kind_rate("latitude and longitude")
        yield Meant(meant, "latitude and longitude swapped", words, rate)


def _other_hemisphere(text: str) -> Iterator[Meant]:
    spots = list(re.finditer(r"\b(NORTH|SOUTH|EAST|WEST)\b|(?<![A-Z])([NSEW])(?![A-Z])", text))
    whole = {"NORTH": "SOUTH", "SOUTH": "NORTH", "EAST": "WEST", "WEST": "EAST", **_HEMISPHERES}
    for match in spots:
        other = whole[match[0]]
        words = f"{other.lower() if len(other) > 1 else other} was said as {match[0]}"
        meant = text[: match.start()] + other + text[match.end() :]
        yield Meant(meant, "wrong hemisphere", words, kind_rate("hemisphere") / len(spots))
    if not spots and (signs := list(re.finditer(r"(?<!\d)-?\d+\.\d+", text))):
        for match in signs:
            number = match[0]
            other = number[1:] if number.startswith("-") else f"-{number}"
            meant = text[: match.start()] + other + text[match.end() :]
            words = f"{other} was said as {number}"
            yield Meant(meant, "wrong hemisphere", words, kind_rate("hemisphere") / len(signs))


def _other_zone(text: str) -> Iterator[Meant]:
    match = _ZONED.fullmatch(text)
    if match is None or match[3] not in BANDS:
        return
    zone, band = int(match[1]), BANDS.index(match[3])
    near = [(zone - 1, band), (zone + 1, band), (zone, band - 1), (zone, band + 1)]
    for other_zone, other_band in near:
        if 0 <= other_band < len(BANDS):
            other = f"{(other_zone - 1) % 60 + 1:02d}{match[2]}{BANDS[other_band]}"
            words = f"{other} was said as {match[1]}{match[2]}{match[3]}"
            meant = other + match[4]
            yield Meant(meant, "wrong zone or band", words, kind_rate("zone or band") / len(near))


def _degrees_for_minutes(text: str) -> Iterator[Meant]:
    rate = kind_rate("degrees for minutes") / 2
    decimals = list(_DECIMAL.finditer(text))
    if len(decimals) == 2:
        meant = _DECIMAL.sub(
            lambda m: f"{m[1] or m[4]} {m[2] or m[5]}.{(m[3] or m[6] or '') or '0'}", text
        )
        words = "degrees and minutes were written as decimal degrees"
        yield Meant(meant, "decimal degrees for minutes", words, rate)
    if len(list(_MINUTES.finditer(text))) == 2:
        meant = _MINUTES.sub(lambda m: f"{m[1]}.{m[2]}{m[3]}", text)
        words = "decimal degrees were written as degrees and minutes"
        yield Meant(meant, "minutes for decimal degrees", words, rate)
