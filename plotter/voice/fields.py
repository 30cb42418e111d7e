"""Taking a position's text apart: which characters are the zone, the easting, the latitude ...

Loosely, so that a text with a slip in it is still taken apart as the one that was meant would be.
"""

import re
from dataclasses import dataclass
from typing import Final

__all__ = ["Field", "Fields", "all_fields", "fields_of"]

_NAMES: Final = re.compile(r"\b(?:MGRS|USNG|UTM|GRID|POSITION|LOCATOR|MAIDENHEAD|ZONE)\b\W*")
_GRID: Final = re.compile(
    r"\s*(?P<prefix>(?:\d{0,3}\s*[A-Z]\s*[A-Z]?\s*[A-Z]?(?:\s*[A-Z])?)?)[\s,]*"
    r"(?P<east>\d{1,12})(?:[\s,/]+(?P<north>\d{1,7}))?[\s,]*"
)
_UTM: Final = re.compile(
    r"\s*(?P<prefix>\d{1,3}\s*[A-Z]?|[A-Z])(?:ORTH|OUTH)?[\s,]+"
    r"(?:NORTH|SOUTH)?[\s,]*(?:E|M|EAST|EASTING)?[\s:.]*"
    r"(?P<east>\d{4,8})(?P<east_part>\.\d*)?[^\d.]+(?P<north>\d{5,9})(?P<north_part>\.\d*)?[^\d]*"
)
_LOCATOR: Final = re.compile(r"\s*(?P<locator>(?=[A-Z]{0,4}\d)(?=.*[A-Z])(?:\s?[A-Z0-9]){3,11})\s*")
# Zone, easting and northing, one or two of them left out.
_UTM_FIGURES: Final = 11
_NUMBER: Final = re.compile(r"\d+(?:\.\d*)?|\.\d+")
_SIDE: Final = re.compile(r"\b(?:NORTH|SOUTH|EAST|WEST)\b|(?<![A-Z])[NSEW](?![A-Z])|(?<![\dA-Z.])-")


@dataclass(frozen=True, slots=True)
class Field:
    """A part of a text.

    Parameters
    ----------
    name : str
        ``prefix`` (zone, band and square letters), ``easting``, ``northing``, ``figures`` (both in
        one run), ``locator``, ``latitude``, ``longitude``, ``latitude side``, ``longitude side``.
    start, end : int
        Where it stands; a missing side stands where its letter would.
    text : str
        Its characters, upper case, without gaps.
    """

    name: str
    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True)
class Fields:
    """A text taken apart.

    Parameters
    ----------
    format : str
        Name of the format that it is in.
    text : str
        The whole text, upper case.
    fields : tuple of Field
        In order of the text.
    """

    format: str
    text: str
    fields: tuple[Field, ...]

    def get(self, name: str) -> Field | None:
        """One of the fields by its name."""
        return next((each for each in self.fields if each.name == name), None)

    def characters(self) -> int:
        """How many figures and letters they hold."""
        return max(sum(c.isalnum() for each in self.fields for c in each.text), 1)

    def with_texts(self, meant: dict[str, str], *, fresh: bool = False) -> str:
        """The text with other characters in some fields.

        Parameters
        ----------
        meant : dict of str to str
            What stands in a field, by its name.
        fresh : bool
            Whether the fields are in another notation; else gaps and marks stay as they are.
        """
        parts, at = [], 0
        for each in self.fields:
            parts.append(self.text[at : each.start])
            old = self.text[each.start : each.end]
            new = meant.get(each.name, each.text)
            parts.append(new if fresh else _in_place(old, new))
            at = each.end
        return "".join([*parts, self.text[at:]])


def _in_place(old: str, new: str) -> str:
    """New characters with the gaps and marks of the old ones, where they go into them."""
    runs_old, runs_new = (re.findall(r"[A-Z0-9]+", each) for each in (old, new))
    if len(runs_old) == len(runs_new):
        fresh = iter(runs_new)
        return re.sub(r"[A-Z0-9]+", lambda _: next(fresh), old) if runs_new else new
    plain = "".join(runs_new)
    if len("".join(runs_old)) != len(plain):
        return new
    characters = iter(plain)
    return "".join(next(characters) if c.isalnum() else c for c in old)


def fields_of(text: str) -> Fields | None:
    """The likeliest way to take a text apart; None where it looks like no position."""
    found = all_fields(text)
    return found[0] if found else None


def all_fields(text: str) -> tuple[Fields, ...]:
    """Every way to take a text apart, the likeliest first.

    Examples
    --------
    >>> [(each.name, each.text) for each in all_fields("31U DQ 48251 11932")[0].fields]
    [('prefix', '31UDQ'), ('easting', '48251'), ('northing', '11932')]
    """
    upper = text.upper().replace(",", ", ") if re.search(r"\d,\d", text) else text.upper()
    if len(upper) > len(text) and re.search(r"\d, \d+\D+\d+, \d", upper) and "." not in text:
        upper = text.upper().replace(",", ".")  # decimal commas, as a pair of them shows
    plain = _NAMES.sub(lambda match: " " * len(match[0]), upper).rstrip(" .;,")
    grid, utm = _GRID.fullmatch(plain), _UTM.fullmatch(plain)
    locator = _LOCATOR.fullmatch(plain)
    angles = _angles(plain)
    found = []
    if utm and sum(c.isdigit() for c in plain) >= _UTM_FIGURES:
        found.append(_from(utm, "utm", upper, ("prefix", "easting", "northing")))
    if locator and _alternates(re.sub(r"\s", "", locator["locator"])):
        field = Field("locator", *locator.span("locator"), _bare(locator["locator"]))
        found.append(Fields("maidenhead", upper, (field,)))
    if grid and not (angles and re.search(r"[.NSEW°]", plain.replace(grid["prefix"], "", 1))):
        found.append(_from(grid, "mgrs", upper, ("prefix", "easting", "northing")))
    if angles:
        sided = re.search(r"[.°'\"-]|\d\s*[NSEW]\b", plain)
        found.insert(0 if sided and not utm else len(found), Fields("latlon", upper, angles))
    return tuple(found)


def _bare(text: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", text)


def _alternates(locator: str) -> bool:
    """Whether characters look like pairs of letters and figures in turn, give or take a slip."""
    kinds = "".join("9" if c.isdigit() else "A" for c in locator)
    return re.fullmatch(r"A{1,3}9{1,3}(?:A{1,3}(?:9{1,3}(?:A{1,3})?)?)?", kinds) is not None


def _from(match: re.Match[str], name: str, upper: str, names: tuple[str, str, str]) -> Fields:
    fields = []
    for group, field in zip(("prefix", "east", "north"), names, strict=True):
        if match[group] is None:
            continue
        start, end = match.span(group)
        text = match[group]
        end -= len(text) - len(text.rstrip())
        alone = group == "east" and match["north"] is None
        fields.append(Field("figures" if alone else field, start, end, _bare(text)))
    return Fields(name, upper, tuple(fields))


def _angles(plain: str) -> tuple[Field, ...]:
    """Latitude and longitude with their sides; none where the numbers do not come in two lots."""
    if not re.fullmatch(r"[\d\s.,;:/°'\"NSEWNORTHSUEAWLDGIMC\-+]*", plain):
        return ()
    numbers = list(_NUMBER.finditer(plain))
    sides = [match for match in _SIDE.finditer(plain) if match[0] != "-"]
    signs = {match.end(): match for match in _SIDE.finditer(plain) if match[0] == "-"}
    if not 2 <= len(numbers) <= 6 or len(sides) not in (0, 2):
        return ()
    if sides:
        before = sides[0].start() < numbers[0].start()
        cut = sides[1].start() if before else sides[0].start()
        first = [n for n in numbers if n.start() < cut]
    else:
        first = numbers[: len(numbers) // 2]
    second = numbers[len(first) :]
    if not (1 <= len(first) <= 3 and 1 <= len(second) <= 3) or (
        not sides and len(first) != len(second)
    ):
        return ()
    lots = []
    for k, lot in enumerate((first, second)):
        sign = next((signs[at] for at in signs if at <= lot[0].start() <= at + 1), None)
        found = sides[k] if sides else sign
        spot = found.span() if found else (lot[0].start(), lot[0].start())
        lots.append((lot, spot, found[0] if found else ""))
    latitude_first = not plain.lstrip().startswith(("LON", "LNG"))
    if sides:
        latitude_first = sides[0][0][0] in "NS" or sides[1][0][0] in "EW"
    names = ("latitude", "longitude") if latitude_first else ("longitude", "latitude")
    fields = []
    for name, (lot, spot, mark) in zip(names, lots, strict=True):
        start, end = lot[0].start(), lot[-1].end()
        fields.append(Field(name, start, end, plain[start:end]))
        fields.append(Field(f"{name} side", *spot, mark[:1]))
    return tuple(sorted(fields, key=lambda each: (each.start, each.end)))
