"""GPX 1.1: waypoints, routes and tracks, in and out."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from plotter.errors import LogError
from plotter.exchange.features import (
    Feature,
    entry_of_fields,
    fields_of,
    placed_entry,
)
from plotter.exchange.guarded import cleaned, root_of_xml
from plotter.exchange.xml_text import legal, plain_tag
from plotter.geodesy.position import Position
from plotter.log.events.encoding import time_text
from plotter.log.events.event import Entry, Source

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["read_gpx", "write_gpx"]

_GPX: Final = "http://www.topografix.com/GPX/1/1"
_OURS: Final = "urn:x-plotter:report:1"


def read_gpx(data: bytes, name: str, *, sender: str = "") -> list[Entry]:
    """Entries of a GPX file.

    Waypoints and route points without a time are named places; with one, somebody was there then.
    Track points are where the track's name was. What is not understood is kept as a note.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name.
    sender : str
        Who is taken to have said what does not say so; the file's name unless given.

    Raises
    ------
    LogError
        If it is no GPX, or may hide a trap.

    Source
    ------
    GPX 1.1 schema, TopoGrafix, 2004; version 1.0 is read as well.
    """
    root = root_of_xml(data, name)
    if plain_tag(root.tag) != "gpx":
        raise LogError(f"{name!r} is not GPX: its first element is {plain_tag(root.tag)!r}")
    entries: list[Entry] = []
    ordered: list[tuple[int, Entry]] = []  # ours stand by shape in the file, not as they were said
    who = sender or name
    for number, (point, group, kind) in enumerate(_points(root), start=1):
        source = Source(name, number)
        ours = _ours(point)
        if ours is not None:
            entry = entry_of_fields(ours, source)
            ordered += [(_order(ours), entry)] if entry else []
            continue
        if _text(point, "type") in {"fix", "region"}:
            continue
        title, time = _text(point, "name"), _text(point, "time")
        lat, lon = point.get("lat"), point.get("lon")
        if lat is None or lon is None:
            words = ET.tostring(point, encoding="unicode")[:500]
            entries.append(Entry("note", words, sender=who, source=source))
            continue
        entries.append(
            placed_entry(
                lat, lon, source, name=(title or group) if kind != "trkpt" else group,
                time=time, sender=group if kind == "trkpt" and group else who,
            )
        )  # fmt: skip
        words = "; ".join(filter(None, (_text(point, "cmt"), _text(point, "desc"))))
        if words:
            about = title or group
            entries.append(
                Entry(
                    "note", words, sender=who, subject=about,
                    source=source,
                )
            )  # fmt: skip
    for fields in _without_place(root):
        source = Source(name, len(entries) + 1)
        entry = entry_of_fields(fields, source)
        ordered += [(_order(fields), entry)] if entry else []
    ordered.sort(key=lambda pair: pair[0])
    return [entry for _, entry in ordered] + entries


def _order(fields: Mapping[str, object]) -> int:
    order = str(fields.get("order") or "0")
    return int(order) if order.isdigit() else 0


def _points(root: "Element") -> Iterator[tuple["Element", str, str]]:
    """Every point with the name of its route or track."""
    for element in root:
        kind = plain_tag(element.tag)
        if kind == "wpt":
            yield element, "", "wpt"
        elif kind in {"rte", "trk"}:
            if _ours(element) is not None:
                yield element, "", "ours"  # a bearing or a region of ours, drawn as a line
                continue
            group = _text(element, "name")
            for point in element.iter():
                if plain_tag(point.tag) in {"rtept", "trkpt"}:
                    yield point, group, plain_tag(point.tag)


def _text(element: "Element", child: str) -> str:
    found = next((each for each in element if plain_tag(each.tag) == child), None)
    return cleaned((found.text or "").strip()) if found is not None else ""


def _ours(element: "Element") -> dict[str, object] | None:
    for child in element:
        if plain_tag(child.tag) == "extensions":
            for each in child:
                if each.tag == f"{{{_OURS}}}report":
                    return {**each.attrib, "report": each.text or ""}
    return None


def _without_place(root: "Element") -> Iterator[dict[str, object]]:
    for child in root:
        if plain_tag(child.tag) == "extensions":
            for each in child:
                if each.tag == f"{{{_OURS}}}report":
                    yield {**each.attrib, "report": each.text or ""}


def write_gpx(features: Sequence[Feature], *, title: str, written_utc: dt.datetime) -> bytes:
    """Write features as GPX 1.1: points as waypoints, bearings as routes, regions as tracks.

    Parameters
    ----------
    features : sequence of Feature
        From `plotter.exchange.features.features_of`.
    title : str
        Of the incident.
    written_utc : datetime
        The time to put in it, aware.

    Returns
    -------
    bytes
        UTF-8. Reports without a place are in the extensions at the end, so that none is lost.
    """
    ET.register_namespace("", _GPX)
    ET.register_namespace("plotter", _OURS)
    root = ET.Element(f"{{{_GPX}}}gpx", {"version": "1.1", "creator": "plotter"})
    about = ET.SubElement(root, f"{{{_GPX}}}metadata")
    _add(about, "name", title)
    _add(about, "desc", "An aid to planning; positions are as reported. Not for navigation.")
    _add(about, "time", time_text(written_utc))
    numbered = list(enumerate(features, start=1))
    for order, feature in numbered:
        if feature.shape == "point":
            point = _place(root, "wpt", feature.places[0][0])
            if feature.said_utc is not None:
                _add(point, "time", time_text(feature.said_utc))
            _described(point, feature, order)
    for order, feature in numbered:
        if feature.shape == "line":
            route = ET.SubElement(root, f"{{{_GPX}}}rte")
            _described(route, feature, order)
            for place in feature.places[0]:
                _place(route, "rtept", place)
    for order, feature in numbered:
        if feature.shape == "area":
            track = ET.SubElement(root, f"{{{_GPX}}}trk")
            _described(track, feature, order)
            for ring in feature.places:
                segment = ET.SubElement(track, f"{{{_GPX}}}trkseg")
                for place in (*ring, ring[0]):
                    _place(segment, "trkpt", place)
    others = [pair for pair in numbered if pair[1].shape == "none"]
    if others:
        more = ET.SubElement(root, f"{{{_GPX}}}extensions")
        for order, feature in others:
            _report(more, feature, order)
    data: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return data


def _place(parent: "Element", tag: str, place: Position) -> "Element":
    lon = f"{place.lon_deg:.8f}"
    if lon == "180.00000000":  # rounded up to it, and the schema has longitudes below 180
        lon = "-180.00000000"
    where = {"lat": f"{place.lat_deg:.8f}", "lon": lon}
    return ET.SubElement(parent, f"{{{_GPX}}}{tag}", where)


def _add(parent: "Element", tag: str, text: str) -> None:
    if text:
        ET.SubElement(parent, f"{{{_GPX}}}{tag}").text = legal(text)


def _described(element: "Element", feature: Feature, order: int) -> None:
    """Name, words and kind, in the order of the schema, then our own fields."""
    _add(element, "name", f"{feature.label} (fix)" if feature.kind == "fix" else feature.label)
    _add(element, "desc", feature.report)
    _add(element, "type", feature.kind)
    _report(ET.SubElement(element, f"{{{_GPX}}}extensions"), feature, order)


def _report(parent: "Element", feature: Feature, order: int) -> None:
    fields = {key: "" if value is None else str(value) for key, value in fields_of(feature).items()}
    text = fields.pop("report")
    own = {"order": str(order)} | {key: legal(value) for key, value in fields.items() if value}
    ET.SubElement(parent, f"{{{_OURS}}}report", own).text = legal(text)
