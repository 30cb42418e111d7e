"""GeoJSON, RFC 7946, in and out."""

import json
from collections.abc import Iterator, Sequence
from typing import Any, Final

from plotter.errors import LogError
from plotter.exchange.features import Feature, entry_of_fields, fields_of, placed_entry
from plotter.exchange.guarded import cleaned, decoded
from plotter.geodesy.position import Position
from plotter.log.events.event import Entry, Source

__all__ = ["feature_geometry", "read_geojson", "write_geojson"]

_DIGITS: Final = 8


def read_geojson(data: bytes, name: str, *, sender: str = "") -> list[Entry]:
    """Entries of a GeoJSON file: features of ours as they were, points of others as places.

    Lines and areas of others are kept as notes.

    Parameters
    ----------
    data, name, sender
        As for `plotter.exchange.gpx.read_gpx`.

    Raises
    ------
    LogError
        If it is no GeoJSON.
    """
    try:
        # Numbers as they stand: their figures say how exact they are.
        found: Any = json.loads(decoded(data), parse_float=str, parse_int=str)
    except (ValueError, RecursionError) as error:
        raise LogError(f"{name!r} is not whole JSON: {error}") from error
    entries: list[Entry] = []
    who = sender or name
    for number, feature in enumerate(_features(found, name), start=1):
        source = Source(name, number)
        properties = feature.get("properties")
        fields = properties if isinstance(properties, dict) else {}
        if "report" in fields and "kind" in fields:
            entry = entry_of_fields(fields, source)
            entries += [entry] if entry else []
            continue
        geometry = feature.get("geometry")
        kind = geometry.get("type") if isinstance(geometry, dict) else None
        at = geometry.get("coordinates") if isinstance(geometry, dict) else None
        points = [at] if kind == "Point" else at if kind == "MultiPoint" else None
        if isinstance(points, list) and points and all(_is_place(each) for each in points):
            title = next((str(fields[k]) for k in ("name", "title", "id") if fields.get(k)), "")
            time = next((str(fields[k]) for k in ("time", "time_utc") if fields.get(k)), "")
            entries += [
                placed_entry(each[1], each[0], source, name=cleaned(title), time=time, sender=who)
                for each in points
            ]  # fmt: skip
        else:
            words = cleaned(json.dumps(feature, ensure_ascii=False))[:2_000]
            entries.append(Entry("note", words, sender=who, source=source))
    return entries


def _features(found: object, name: str) -> Iterator[dict[str, Any]]:
    if not isinstance(found, dict):
        raise LogError(f"{name!r} is JSON, but not GeoJSON: expected an object with a type")
    kind = found.get("type")
    if kind == "FeatureCollection" and isinstance(found.get("features"), list):
        yield from (each for each in found["features"] if isinstance(each, dict))
    elif kind == "Feature":
        yield found
    elif isinstance(kind, str) and "coordinates" in found:
        yield {"type": "Feature", "properties": {}, "geometry": found}
    else:
        raise LogError(f"{name!r} is JSON, but not GeoJSON: its type is {kind!r}")


def _is_place(at: object) -> bool:
    return isinstance(at, list) and len(at) >= 2 and all(isinstance(each, str) for each in at[:2])


def write_geojson(features: Sequence[Feature]) -> bytes:
    """Write features as GeoJSON.

    Parameters
    ----------
    features : sequence of Feature
        From `plotter.exchange.features.features_of`.

    Returns
    -------
    bytes
        UTF-8; longitude first, rings by the right-hand rule, lines and areas cut at 180 degrees, as
        RFC 7946 has it. A report without a place has no geometry.
    """
    rows = [
        {"type": "Feature", "properties": fields_of(feature), "geometry": feature_geometry(feature)}
        for feature in features
    ]
    whole = {"type": "FeatureCollection", "features": rows}
    return json.dumps(whole, ensure_ascii=False, indent=1).encode()


def feature_geometry(feature: Feature) -> dict[str, Any] | None:
    """Geometry of a feature, longitude first; None where it has no place."""
    if feature.shape == "none":
        return None
    if feature.shape == "point":
        return {"type": "Point", "coordinates": _pair(feature.places[0][0])}
    return _cut(feature)


def _pair(place: Position) -> list[float]:
    return [round(place.lon_deg, _DIGITS), round(place.lat_deg, _DIGITS)]


def _unrolled(ring: Sequence[Position]) -> list[tuple[float, float]]:
    """Corners whose longitudes run on past 180 degrees."""
    out: list[tuple[float, float]] = []
    for place in ring:
        lon = place.lon_deg
        if out:
            lon += 360.0 * round((out[-1][0] - lon) / 360.0)
        out.append((lon, place.lat_deg))
    return out


def _cut(feature: Feature) -> dict[str, Any]:
    """Cut a line or an area where it crosses 180 degrees."""
    import shapely

    first = _unrolled(feature.places[0])
    whole: Any
    if feature.shape == "line":
        whole = shapely.LineString(first)
    else:
        holes = [_unrolled(ring) for ring in feature.places[1:]]
        turned = [
            [(lon + 360.0 * round((first[0][0] - hole[0][0]) / 360.0), lat) for lon, lat in hole]
            for hole in holes
        ]
        whole = shapely.make_valid(shapely.Polygon(first, turned))
    parts: list[Any] = []
    for turn in (-360.0, 0.0, 360.0):
        part = whole.intersection(shapely.box(turn - 180.0, -90.0, turn + 180.0, 90.0))
        part = shapely.transform(part, lambda xy, turn=turn: xy - [turn, 0.0])
        kind = "LineString" if feature.shape == "line" else "Polygon"
        parts += [
            each for each in shapely.get_parts(part) if each.geom_type == kind and not each.is_empty
        ]
    lists = [_coordinates(part) for part in parts]
    name = "LineString" if feature.shape == "line" else "Polygon"
    if len(lists) == 1:
        return {"type": name, "coordinates": lists[0]}
    return {"type": f"Multi{name}", "coordinates": lists}


def _coordinates(part: Any) -> list[Any]:  # noqa: ANN401 - a shapely line or polygon
    import shapely

    def rounded(ring: Any) -> list[list[float]]:  # noqa: ANN401
        return [[round(x, _DIGITS), round(y, _DIGITS)] for x, y in ring.coords]

    if part.geom_type == "LineString":
        return rounded(part)
    part = shapely.geometry.polygon.orient(part, 1.0)
    return [rounded(part.exterior), *(rounded(hole) for hole in part.interiors)]
