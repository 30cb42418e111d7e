"""Reading a text of unknown format: every meaning it admits, or what is wrong or missing."""

from collections.abc import Collection, Sequence
from dataclasses import replace

from plotter.errors import FormatError
from plotter.formats.on_datum import shifted, split_datum
from plotter.formats.registry import FORMATS, formats_that_may_read
from plotter.formats.result import Reading
from plotter.formats.zones import inside
from plotter.geodesy.position import Area, Position

__all__ = ["in_all_formats", "in_all_formats_of", "may_be_data_line", "reading", "settled"]

_LONGEST = 200
_LONGEST_SHORT = 40
# What every answer is written in; the other formats are read, and written when asked for.
_ANSWERED = ("latlon", "utm", "mgrs", "maidenhead")


def reading(
    text: str, area: Area | None = None, *, leave_out: Collection[str] = ()
) -> tuple[Reading, ...]:
    """Every reading that a text admits.

    Parameters
    ----------
    text : str
        A position as somebody wrote or said it.
    area : Area or None
        The area of operations; completes a reference that lacks its zone, its square letters or
        its hemisphere, and settles which of several meanings is meant where only some lie in it.
    leave_out : collection of str
        Formats that are not asked.

    Returns
    -------
    tuple of Reading
        At least one; each with its format, square, and what it assumes.

    Raises
    ------
    FormatError
        If no format reads the text: what is wrong with it, or what is missing.

    Examples
    --------
    >>> [(r.format, r.square.size_m) for r in reading("38S MB 44 88")]
    [('mgrs', 1000.0)]
    """
    plain = text.strip().rstrip(".;,")
    if not plain:
        raise FormatError("no position given: expected a text such as 31U DQ 48251 11932", text)
    if may_be_data_line(text):
        from plotter.formats.carried import carried_reading, is_data_line

        if is_data_line(text):
            return (carried_reading(text),)
    if len(plain) > _LONGEST:
        raise FormatError(
            f"{plain[:40]!r}... is {len(plain)} characters long, too long for a position: give the "
            "position alone",
            text,
        )
    plain, datum = split_datum(plain)
    found: list[Reading] = []
    wrong: list[str] = []
    for each in formats_that_may_read(plain, area=area is not None):
        if each.name in leave_out:
            continue
        try:
            meanings = each.readings(plain, area)
            found += [shifted(one, datum, text) for one in meanings] if datum else meanings
        except FormatError as error:
            wrong.append(str(error))
    if area is not None and datum is None and "latlon" not in leave_out:
        # Beside what the text means as it stands: only the sender knows which was meant.
        bare = all(each.unstated & {"lat side", "lon side"} for each in found)
        if bare and not any(inside(each.square.centre, area) for each in found):
            as_it_stands = (*found, *_shortened(plain, area))
            if as_it_stands:
                return as_it_stands
    if found:
        return settled(found, area)
    if wrong:
        raise FormatError("; or: ".join(dict.fromkeys(wrong)), text)
    examples = ", ".join(repr(FORMATS[name].example) for name in (*_ANSWERED, "ups"))
    raise FormatError(
        f"cannot read {text!r} as a position: expected something like {examples}", text
    )


def _shortened(text: str, area: Area) -> list[Reading]:
    """What a shortened text means in an area."""
    if len(text) > _LONGEST_SHORT or not any(character.isdigit() for character in text):
        return []
    from plotter.formats.shorthand import completed_readings

    return completed_readings(text, area)


def settled(found: Sequence[Reading], area: Area | None) -> tuple[Reading, ...]:
    """The meanings that an area leaves: those in it, where some are and others are not.

    Each says how many meanings there were. Where none lies in the area, or all do, all stay.

    Examples
    --------
    >>> area = Area(Position(-12.5, -77.2), 9_000.0)
    >>> [each.assumed[-1] for each in reading("12 30 S 77 15 O", area)]
    ['of 4 meanings the only one in the area of operations']
    """
    if area is None or len(found) < 2:
        return tuple(found)
    fitting = [each for each in found if inside(each.square.centre, area)]
    if not fitting or len(fitting) == len(found):
        return tuple(found)
    share = "the only one" if len(fitting) == 1 else f"one of {len(fitting)}"
    said = f"of {len(found)} meanings {share} in the area of operations"
    return tuple(replace(each, assumed=(*each.assumed, said)) for each in fitting)


def may_be_data_line(text: str) -> bool:
    """A cheap look, so that reading one position loads no more than it needs."""
    head = text.lstrip()[:64]
    return head[:1] in {"$", "!"} or ">" in text[:24] or (head[:1] in {"+", "-"} and "CRS" in head)


def in_all_formats(position: Position, size_m: float = 1.0) -> dict[str, str]:
    """A place written in the four formats of every answer.

    Parameters
    ----------
    position : Position
        The place.
    size_m : float
        How finely: each format takes its coarsest cells that are no larger than this.

    Returns
    -------
    dict
        Keys ``latlon``, ``utm``, ``mgrs``, ``maidenhead``; near the poles ``utm`` holds UPS.

    Examples
    --------
    >>> in_all_formats(Position(48.8582, 2.2945))["mgrs"]
    '31UDQ4825111932'
    """
    utm = "utm" if FORMATS["utm"].covers(position) else "ups"
    return {
        name: FORMATS[utm if name == "utm" else name].write(position, size_m) for name in _ANSWERED
    }


def in_all_formats_of(found: Reading) -> dict[str, str]:
    """A reading's centre in the same four formats: its own at its size, the others a figure finer.

    The finer figure keeps the loss of a conversion below a tenth of the square, but no text is
    written finer than a metre unless it was said finer. The square itself stays as large as it was
    said.
    """
    size_m = found.square.size_m
    texts = in_all_formats(found.square.centre, max(size_m / 10.0, min(size_m, 1.0)))
    key = "utm" if found.format == "ups" else found.format
    if key in _ANSWERED:
        texts[key] = FORMATS[found.format].write(found.square.centre, size_m)
    return texts
