"""Naming a slip, and the one character to ask for: "the third figure of the easting"."""

import re
from collections.abc import Mapping
from typing import Final

from plotter.voice.fields import Field, Fields, fields_of

__all__ = ["figure_words", "slip_words", "spot_of", "whole_field"]

_ORDINALS: Final = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
)  # fmt: skip
_HEMISPHERE: Final = "the hemisphere"


def figure_words(received: str, meant: str) -> str:
    """Name the place of the first difference between what was received and what may be meant.

    Parameters
    ----------
    received, meant : str
        Two texts of a position.

    Returns
    -------
    str
        As in "the second letter of the square"; empty where there is no difference, or no telling.

    Examples
    --------
    >>> figure_words("31U DQ 48251 11932", "31U DR 48251 11932")
    'the second letter of the square'
    """
    ours, theirs = fields_of(received), fields_of(meant)
    if ours is None or theirs is None:
        return ""
    return spot_of(ours, {each.name: each.text for each in theirs.fields})


def spot_of(fields: Fields, meant: Mapping[str, str]) -> str:
    """Name the first character that differs, in the words of the format that was received.

    Parameters
    ----------
    fields : Fields
        What was received, taken apart.
    meant : mapping of str to str
        What may have been meant, by the names of the fields.
    """
    for each in fields.fields:
        other = meant.get(each.name, each.text)
        if other == each.text:
            continue
        if each.name.endswith("side"):
            return _HEMISPHERE
        ours, theirs = (re.sub(r"[^A-Z0-9]", "", text) for text in (each.text, other))
        if ours == theirs:
            continue
        at = next(
            (i for i, (a, b) in enumerate(zip(ours, theirs, strict=False)) if a != b),
            min(len(ours), len(theirs)),
        )
        return _character(fields, each, min(at, len(ours) - 1))
    return ""


def whole_field(spot: str) -> str:
    """The field that a place is in: "the easting" of "the third figure of the easting"."""
    return f"the {spot.rpartition(' of the ')[2].removeprefix('the ')}"


def _character(fields: Fields, field: Field, at: int) -> str:
    if field.name == "locator":
        return f"the {_ordinal(at)} character of the locator"
    if field.name == "prefix":
        return _in_prefix(field.text, at, grid=fields.format == "mgrs")
    if field.name == "figures":
        half = (len(field.text) + 1) // 2
        name = "easting" if at < half else "northing"
        return f"the {_ordinal(at % half)} figure of the {name}"
    return f"the {_ordinal(at)} figure of the {field.name}"


def _in_prefix(text: str, at: int, *, grid: bool) -> str:
    figures = sum(character.isdigit() for character in text)
    letters = text[figures:]
    if at < figures:
        return "the zone"
    square = len(letters) - 2 if grid and len(letters) > 1 else len(letters)
    if at - figures < square:
        return "the band letter"
    return f"the {_ordinal(at - figures - square)} letter of the square"


def slip_words(fields: Fields, meant: Mapping[str, str]) -> str:
    """The slips that turn what may have been meant into what was received, in words.

    Parameters
    ----------
    fields : Fields
        What was received, taken apart.
    meant : mapping of str to str
        What may have been meant, by the names of the fields.

    Examples
    --------
    >>> slip_words(fields_of("31U DQ 88251 11932"), {"easting": "48251"})
    'misheard figure: 4 was heard as 8'
    """
    found = []
    for each in fields.fields:
        other = meant.get(each.name, each.text)
        if each.name.endswith("side"):
            if other != each.text:
                found.append(_side_words(each, other))
            continue
        ours, theirs = (re.findall(r"[A-Z0-9]+", text) for text in (each.text, other))
        if len(ours) != len(theirs):
            ours, theirs = ["".join(ours)], ["".join(theirs)]
        for a, b in zip(ours, theirs, strict=True):
            if a != b:
                found.append(_run_words(a, b))
    return "; and ".join(found)


def _side_words(field: Field, meant: str) -> str:
    if field.text and meant and field.text != "-":
        return f"wrong hemisphere: {meant} was said as {field.text}"
    said = "with the minus" if field.text else "without the minus"
    return f"wrong hemisphere: the {field.name.removesuffix(' side')} was said {said}"


def _run_words(received: str, meant: str) -> str:
    kind = "figure" if (received + meant).isdigit() else "letter"
    if len(received) == len(meant):
        at = [i for i, (a, b) in enumerate(zip(received, meant, strict=True)) if a != b]
        if len(at) == 1:
            a, b = received[at[0]], meant[at[0]]
            return f"misheard {'figure' if b.isdigit() else 'letter'}: {b} was heard as {a}"
        first, last = at[0], at[-1] + 1
        ours, theirs = received[first:last], meant[first:last]
        if len(at) == 2 and ours == theirs[::-1]:
            kind = "neighbours" if len(ours) == 2 else f"{kind}s"
            return f"swapped {kind}: {theirs} was written {ours}"
        return f"two {kind}s: {theirs} was heard as {ours}"
    if len(meant) == len(received) + 1:
        for i, character in enumerate(meant):
            if meant[:i] + meant[i + 1 :] == received:
                kind = "figure" if character.isdigit() else "letter"
                return f"dropped {kind}: a {character} was left out"
    if len(received) == len(meant) + 1:
        for i, character in enumerate(received):
            if received[:i] + received[i + 1 :] == meant:
                kind = "figure" if character.isdigit() else "letter"
                if character in (received[i - 1 : i], received[i + 1 : i + 2]):
                    return f"doubled {kind}: {character} was said once and written twice"
                return f"added {kind}: {character} was put in"
    return f"two {kind}s: {meant} was received as {received}"


def _ordinal(index: int) -> str:
    return _ORDINALS[index] if index < len(_ORDINALS) else f"{index + 1}th"
