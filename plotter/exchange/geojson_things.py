"""Features of another program's GeoJSON as things: places in their own system, all members."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, Literal

from plotter.errors import FormatError
from plotter.exchange.guarded import cleaned
from plotter.exchange.others import Thing, words_of_fields
from plotter.exchange.systems import System, system_called, wgs84
from plotter.formats.stated import decimal_of

__all__ = ["NOT_SAID", "said_as_words", "things_of_feature"]

NOT_SAID: Final = object()
"""Stands for a member ``crs`` that is not there, which is not the same as one that is null."""

_TITLES: Final = ("name", "title", "id")
_TIMES: Final = ("time", "time_utc")
_AUTHORS: Final = ("author", "sender")
_OF_FEATURE: Final = frozenset({"type", "geometry", "properties", "bbox", "crs", "id"})


def said_as_words(value: object) -> str:
    """A member as words."""
    if value is None:
        return ""
    return cleaned(value if isinstance(value, str) else json.dumps(value, ensure_ascii=False))


def things_of_feature(
    feature: Mapping[str, Any], fields: Mapping[str, Any], number: int, crs: object
) -> list[Thing]:
    """A feature's geometries with all that it says.

    Parameters
    ----------
    feature : mapping
        With its geometry; numbers as texts.
    fields : mapping
        Its properties.
    number : int
        Its place in the file.
    crs : object
        The member ``crs`` that holds for it, if any.
    """
    title, time, author = (_first(fields, keys) for keys in (_TITLES, _TIMES, _AUTHORS))
    taken = {title[0], time[0], author[0]}
    drawn = decimal_of(str(fields.get("drawn_to_m") or ""))
    said = [(key, said_as_words(value)) for key, value in fields.items() if key not in taken]
    said += [
        (key, said_as_words(value)) for key, value in feature.items() if key not in _OF_FEATURE
    ]
    if feature.get("id") is not None:
        said.append(("id", said_as_words(feature["id"])))
    plain = Thing(
        number,
        "none",
        name=title[1],
        sender=author[1],
        time=time[1],
        words=words_of_fields(said),
        says=(title[1], *(value for _, value in said)),
        # Somewhere in the widest pixel that it was drawn with.
        good_to_m=float(drawn) / 2.0 if drawn is not None and 0 < drawn < _WIDEST_M else None,
        times_are_utc=False,
    )
    geometry = feature.get("geometry")
    found = list(_of_geometry(geometry, plain, crs, 0))
    if found or (not geometry and not plain.words and not plain.name):
        return found
    if geometry:
        why = f"its geometry is none that is known: {said_as_words(geometry)[:200]}"
        return [replace(plain, problem=why)]
    return [replace(plain, words="; ".join(filter(None, (plain.words, plain.time))))]


_WIDEST_M: Final = 1_000_000
_DEEPEST: Final = 8


def _first(fields: Mapping[str, Any], keys: Sequence[str]) -> tuple[str, str]:
    """The first of some members that says something."""
    return next(
        ((key, said_as_words(fields[key])) for key in keys if fields.get(key) not in (None, "")),
        ("", ""),
    )


def _of_geometry(geometry: object, plain: Thing, crs: object, depth: int) -> Iterator[Thing]:
    if not isinstance(geometry, dict) or depth > _DEEPEST:
        return
    crs = geometry.get("crs", crs)
    parts = geometry.get("geometries")
    if geometry.get("type") == "GeometryCollection" and isinstance(parts, list):
        for part in parts:
            yield from _of_geometry(part, plain, crs, depth + 1)
        return
    kind = _KINDS.get(str(geometry.get("type")))
    coordinates = geometry.get("coordinates")
    if kind is None or not isinstance(coordinates, list) or not coordinates:
        return
    try:
        system, assumed = _system(crs)
    except FormatError as error:
        yield replace(plain, words=_with_geometry(plain, geometry), problem=str(error))
        return
    shape, many, level = kind
    for each in coordinates if many else [coordinates]:
        rings = [[each]] if level == 0 else [each] if level == 1 else each
        if not _are_rings(rings):
            yield replace(
                plain, words=_with_geometry(plain, geometry),
                problem=f"its coordinates are no {geometry.get('type')}: expected numbers",
            )  # fmt: skip
            continue
        figures = [text for ring in rings for place in ring for text in place[:2]]
        first = rings[0][0]
        yield replace(
            plain,
            shape=shape,
            rings=tuple(tuple(system.pair(place[0], place[1]) for place in ring) for ring in rings),
            epsg=system.epsg,
            words="; ".join(filter(None, (plain.words, system.words))),
            # RFC 7946, 3.1.1: the third number is the height above the ellipsoid of WGS 84.
            height=first[2] if shape == "point" and len(first) > 2 and not system.words else "",
            good_to_m=plain.good_to_m or system.good_to_m(figures),
            assumed=assumed,
        )


_KINDS: Final[dict[str, tuple[Literal["point", "line", "area"], bool, int]]] = {
    "Point": ("point", False, 0), "MultiPoint": ("point", True, 0),
    "LineString": ("line", False, 1), "MultiLineString": ("line", True, 1),
    "Polygon": ("area", False, 2), "MultiPolygon": ("area", True, 2),
}  # fmt: skip


def _with_geometry(plain: Thing, geometry: Mapping[str, Any]) -> str:
    return "; ".join(filter(None, (plain.words, f"geometry {said_as_words(geometry)}")))


def _are_rings(rings: object) -> bool:
    """Whether this is a list of lists of places, each with its numbers."""
    return (
        isinstance(rings, list)
        and bool(rings)
        and all(
            isinstance(ring, list)
            and ring
            and all(
                isinstance(place, list)
                and len(place) >= 2
                and all(isinstance(text, str) for text in place[:3])
                for place in ring
            )
            for ring in rings
        )
    )


def _system(crs: object) -> tuple[System, tuple[str, ...]]:
    """The system of a member ``crs``, and what taking it so rests on."""
    if crs is NOT_SAID:
        return wgs84(), ()
    if crs is None:
        return wgs84(), ('that the places are on WGS 84: the file says "crs": null',)
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = (
        properties.get("name") or properties.get("code") if isinstance(properties, dict) else None
    )
    if isinstance(crs, dict) and crs.get("type") == "EPSG" and isinstance(name, str):
        name = f"EPSG:{name}"
    if not isinstance(name, str):
        raise FormatError(
            f"the file's crs {said_as_words(crs)[:120]} names no system that is known here"
        )
    return system_called(name), ()
