"""The published check values, row by row, for parametrised tests."""

import csv
import re
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "shared" / "check_values"


def rows(filename: str) -> list[dict[str, str]]:
    """All rows of one table: case, inputs, expected, tolerance, source, status."""
    with (FOLDER / filename).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def row(filename: str, case: str) -> dict[str, str]:
    """One row by its label."""
    return next(each for each in rows(filename) if each["case"] == case)


def cases(filename: str, pattern: str) -> list[dict[str, str]]:
    """The rows whose label matches a pattern from its beginning."""
    return [each for each in rows(filename) if re.match(pattern, each["case"])]


def label(each: dict[str, str]) -> str:
    """Test id of a row."""
    return each["case"]


def numbers(text: str) -> list[float]:
    """Every signed decimal number in a text."""
    return [float(n) for n in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e-?\d+)?", text)]


def sexagesimal(text: str) -> float:
    """Degrees from '37 57 03.72030S', '003:18:29.9', '-1 35 03.65', '54 06 28.992S'."""
    match = re.fullmatch(r"\s*([+-]?)(\d+)[ :](\d+)[ :](\d+(?:\.\d+)?)\s*([NSEW]?)\s*", text)
    if match is None:
        raise ValueError(text)
    sign, degrees, minutes, seconds, letter = match.groups()
    value = int(degrees) + int(minutes) / 60 + float(seconds) / 3600
    return -value if sign == "-" or letter in ("S", "W") else value


def latlon(text: str) -> tuple[float, float]:
    """Position from '40:38:23N 073:46:44W', '37 57 03.72030S 144 25 29.52440E' or '54N14.5E'."""
    found = re.findall(r"(\d+(?:\.\d+)?(?:[ :]\d+(?:\.\d+)?){0,2})\s*([NSEW])", text)
    values = []
    for figures, letter in found[:2]:
        parts = [float(p) for p in re.split(r"[ :]", figures)]
        value = sum(p / 60**i for i, p in enumerate(parts))
        values.append(-value if letter in "SW" else value)
    return values[0], values[1]
