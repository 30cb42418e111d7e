"""Grid references from characters as heard: without labels, in other groups, with the zone last."""

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.result import Reading
from plotter.geodesy.position import Area
from plotter.voice.hear import Heard
from plotter.voice.near_words import nearly_a_figure

__all__ = ["meanings_of"]

# The side behind an easting or a northing: 448251 east 5411932 north.
_SIDES_LAST: Final = re.compile(r"(?<![\d.])(\d{6,7}(?:\.\d+)?) (east|north)\b")
_LABELS: Final = re.compile(r"\b(?:latitude|longitude|easting|northing|zone|utm|ups|mgrs)\b")
# Zone and band, or a polar letter, and all the figures in one run.
_RUN: Final = re.compile(
    r"(?:(?:zone )?(?P<zone>\d{1,2}) ?(?P<band>[A-Z]?)|(?P<polar>[ABYZ])) ?(?P<side>north|south|) ?"
    r"(?P<figures>\d{13,14})"
)
_LOCATOR_BEGUN: Final = re.compile(r"[A-Ra-r]{2}\d\d[A-Xa-x]{2}(?:\d\d)? \S")
_TWO_LOCATORS: Final = re.compile(r"[A-Ra-r]{2}\d\d(?:[A-Xa-x]{2})? [A-Ra-r]{2}\d\d")
_ZONE_LAST: Final = re.compile(
    r"(?i:(?P<grid>(?:easting )?\d+(?:m?[en])? (?:northing )?\d+(?:m?[en])?) (?:zone )?)"
    r"(?P<zone>\d{1,2} ?[A-Z]?)"
)


def meanings_of(heard: Heard, area: Area | None, *, opened: bool) -> list[Reading]:
    """Readings of characters as heard, in every form that a grid reference is written in.

    Raises
    ------
    FormatError
        If they make none, or may be anything.
    """
    # Letters alone may be a name, as Hotel Lima: only with the name of a format they are more.
    if not any(character.isdigit() or character.islower() for character in heard.text):
        raise FormatError(f"no figures in {heard.said[:80]!r}: ask for the figures", heard.said)
    bare = not re.search(r"[A-Za-z°.]", heard.text)
    if bare and (heard.unknown_after or (heard.unknown and not opened)):
        # "Hill 4812" is a name with a number, "1430 hours" a time.
        raise FormatError(
            f"cannot tell what {heard.unknown[-1]!r} stands for beside {heard.text!r}: say 'grid' "
            "before the figures and nothing after them",
            heard.said,
        )
    lost = next(
        (word for word in heard.unknown if heard.unknown_after and nearly_a_figure(word)), None
    )
    if lost is not None:
        raise FormatError(
            f"{lost!r} in {heard.said[:120]!r} sounds like a figure: ask for the reference again",
            heard.said,
        )
    if re.search(r"\.\d+\.", heard.text):
        raise FormatError(
            f"heard {heard.text!r} with two decimal points in one number: ask for latitude and "
            "longitude apart",
            heard.said,
        )
    groups = re.findall(r"\d+", re.sub(r"^.*[A-Za-z]", "", heard.text))
    if len(groups) > 2 and max(map(len, groups)) > 1 and re.search(r"\d\s*[,;]", heard.said):
        raise FormatError(
            f"heard {heard.text!r} with a pause among its figures in {heard.said[:80]!r}: a time "
            "or a count may be among them; ask for the reference alone",
            heard.said,
        )
    error: FormatError | None = None
    for written, why in _variants(heard.text):
        failed: FormatError | None = None
        found: list[Reading] = []
        try:
            found = list(reading(written, area, leave_out=("latlon",)))
        except FormatError as caught:
            failed = caught
        if "geohash" not in written:
            # Nearly any run of characters is one: only where it was said to be.
            found = [each for each in found if each.format != "geohash"]
        if found and failed is None:
            notes = (_meant(heard), *heard.assumed, *why)
            return [replace(each, assumed=notes + each.assumed) for each in found]
        error = error or failed
    raise FormatError(f"heard {heard.text!r} in {heard.said[:120]!r}: {error}", heard.said)


def _meant(heard: Heard) -> str:
    """What a line was taken to mean, and every word of it that was left out."""
    dropped = ", ".join(repr(word) for word in heard.dropped)
    return f"the words mean {heard.text!r}" + (f", leaving out {dropped}" if dropped else "")


def _variants(text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The characters as heard; without labels that a format has no place for; in other groups."""
    yield text, ()
    if _SIDES_LAST.search(text):
        text = _SIDES_LAST.sub(lambda match: f" {match[1]}{match[2][0]}", text)
        yield text, ()
    bare = text
    if _LABELS.search(text):
        if 0 <= text.find("northing") < text.find("easting"):
            return  # without the words the figures would change places
        bare = " ".join(_LABELS.sub(" ", text).split())
        yield bare, ()
    if re.search(r"\w-\w", bare):
        # A dash between two groups; one before a number is a minus, which no grid has.
        bare = " ".join(re.sub(r"(?<=\w)-(?=\w)", " ", bare).split())
        yield bare, ()
    if match := _ZONE_LAST.fullmatch(text):
        yield f"{match['zone']} {match['grid']}", ("the zone was said last",)
    together = re.sub(r"(?<=\d) (?=\d)", "", bare)
    if match := _RUN.fullmatch(together):
        east = 7 if match["polar"] else 6
        if len(match["figures"]) == east + 7:
            head = f"{match['zone'] or ''}{match['band'] or match['polar'] or ''} {match['side']}"
            yield (
                f"{head} {match['figures'][:east]} {match['figures'][east:]}",
                (f"easting of {east} figures, northing of 7: the gap between them was not heard",),
            )
    groups = re.findall(r"\d+", re.sub(r"^.*[A-Za-z]", "", bare))
    if len(groups) > 2 and max(map(len, groups)) > 1:
        return  # a time or a count may be among them
    if len(groups) == 2 and len(groups[0]) != len(groups[1]):
        return
    if _TWO_LOCATORS.match(bare):
        return  # "JN47 JN48": two places, or one of eight characters
    if _LOCATOR_BEGUN.match(bare):
        return  # what follows a whole locator may be no part of it
    tight = bare.replace(" ", "")
    if tight.replace("+", "").isalnum() and tight != bare:
        yield tight, ()
