"""GeoJSON, RFC 7946, in and out."""

import json
import re
from collections.abc import Iterator, Sequence
from typing import Any, Final

from plotter.errors import LogError
from plotter.exchange.features import Feature, fields_of, own_entry
from plotter.exchange.geojson_things import NOT_SAID, said_as_words, things_of_feature
from plotter.exchange.guarded import decoded
from plotter.exchange.others import Thing, entries_of_things, words_of_fields
from plotter.exchange.tally import Tally
from plotter.geodesy.position import Position
from plotter.log.events.event import Entry, Source

__all__ = ["feature_geometry", "read_geojson", "write_geojson"]

_DIGITS: Final = 8


def read_geojson(
    data: bytes, name: str, *, sender: str = "", tally: Tally | None = None
) -> list[Entry]:
    """Entries of a GeoJSON file: features of ours as they were, those of others with all they say.

    Parameters
    ----------
    data, name, sender, tally
        As for `plotter.exchange.gpx.read_gpx`.

    Raises
    ------
    LogError
        If it is no GeoJSON.

    Source
    ------
    RFC 7946; for the member ``crs`` its predecessor of 2008, where easting or longitude comes first
    whatever the system says.
    """
    tally = Tally() if tally is None else tally
    try:
        # Numbers as they stand: their figures say how exact they are.
        found: Any = json.loads(decoded(data), parse_float=str, parse_int=str)
    except (ValueError, RecursionError) as error:
        raise LogError(f"{name!r} is not whole JSON: {error}") from error
    own: list[Entry] = []
    things: list[Thing] = []
    for number, feature in enumerate(_features(found, name, tally), start=1):
        properties = feature.get("properties")
        fields = properties if isinstance(properties, dict) else {}
        if properties is not None and not isinstance(properties, dict):
            fields = {"properties": properties}
        if "report" in fields and "kind" in fields:
            entry = own_entry(fields, Source(name, number), tally, _point_of(feature))
            own += [entry] if entry else []
            continue
        above = feature["crs"] if "crs" in feature else found.get("crs", NOT_SAID)
        made = things_of_feature(feature, fields, number, above)
        tally.leave("features that say nothing", int(not made))
        things += made
    if not own and (words := _members(found, name)):
        things.append(Thing(len(things) + 1, "none", name=name, words=words))
    return own + entries_of_things(things, name, sender or name, tally)


_OF_FILE: Final = frozenset({"type", "features", "bbox", "crs", "geometry", "properties", "id",
                             "coordinates", "geometries"})  # fmt: skip


def _features(found: object, name: str, tally: Tally) -> Iterator[dict[str, Any]]:
    if not isinstance(found, dict):
        raise LogError(f"{name!r} is JSON, but not GeoJSON: expected an object with a type")
    kind = found.get("type")
    if kind == "FeatureCollection" and isinstance(found.get("features"), list):
        for each in found["features"]:
            if isinstance(each, dict):
                yield each
            else:
                tally.leave("members of the list that are no features")
    elif kind == "Feature":
        yield found
    elif isinstance(kind, str) and ("coordinates" in found or "geometries" in found):
        yield {"type": "Feature", "properties": {}, "geometry": found}
    else:
        raise LogError(f"{name!r} is JSON, but not GeoJSON: its type is {kind!r}")


def _point_of(feature: dict[str, Any]) -> object:
    """Longitude and latitude where a feature is drawn as a point."""
    geometry = feature.get("geometry")
    if not isinstance(geometry, dict) or geometry.get("type") != "Point":
        return None
    return geometry.get("coordinates")


def _members(found: dict[str, Any], name: str) -> str:
    """What a collection says of itself besides its features."""
    if found.get("type") != "FeatureCollection":
        return ""
    said = [(key, said_as_words(value)) for key, value in found.items() if key not in _OF_FILE]
    return words_of_fields([pair for pair in said if pair != ("name", name)])


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
    inside = ",\n".join(map(_row, features))
    return f'{{"type": "FeatureCollection", "features": [\n{inside}\n]}}'.encode()


def _row(feature: Feature) -> str:
    fields = json.dumps(fields_of(feature), ensure_ascii=False)
    geometry = _plain_numbers(feature_geometry(feature))
    return f' {{"type": "Feature", "properties": {fields}, "geometry": {geometry}}}'


def _plain_numbers(geometry: dict[str, Any] | None) -> str:
    """A geometry as JSON, its numbers without exponents, which some readers misread."""
    text = json.dumps(geometry)
    return re.sub(r"-?\d(?:\.\d+)?e-\d+", lambda found: f"{float(found[0]):.{_DIGITS}f}", text)


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
