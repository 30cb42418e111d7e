"""KML 2.2, and KMZ, which is KML in a zip archive; in and out."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from plotter.errors import LogError
from plotter.exchange.features import Feature, entry_of_fields, fields_of, placed_entry
from plotter.exchange.guarded import cleaned, root_of_xml, unzipped
from plotter.exchange.xml_text import legal, plain_tag
from plotter.geodesy.position import Position
from plotter.log.events.encoding import time_text
from plotter.log.events.event import Entry, Source

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["read_kml", "read_kmz", "write_kml"]

_KML: Final = "http://www.opengis.net/kml/2.2"


def read_kmz(data: bytes, name: str, *, sender: str = "") -> list[Entry]:
    """Entries of the first .kml inside a zip archive; see `read_kml`."""
    inner = unzipped(data, ".kml", name)
    return read_kml(inner, name, sender=sender)


def read_kml(data: bytes, name: str, *, sender: str = "") -> list[Entry]:
    """Entries of a KML file: placemarks of ours as they were, points of others as places.

    Lines and areas of others are kept as notes. Nothing is loaded from links.

    Parameters
    ----------
    data, name, sender
        As for `plotter.exchange.gpx.read_gpx`.

    Raises
    ------
    LogError
        If it is no KML, or may hide a trap.

    Source
    ------
    OGC KML 2.2 (07-147r2).
    """
    root = root_of_xml(data, name)
    if plain_tag(root.tag) != "kml":
        raise LogError(f"{name!r} is not KML: its first element is {plain_tag(root.tag)!r}")
    entries: list[Entry] = []
    who = sender or name
    marks = (each for each in root.iter() if plain_tag(each.tag) == "Placemark")
    for number, mark in enumerate(marks, start=1):
        source = Source(name, number)
        fields = _fields(mark)
        if "report" in fields and "kind" in fields:
            entry = entry_of_fields(fields, source)
            entries += [entry] if entry else []
            continue
        title, time = _text(mark, "name"), _text(mark, "when")
        points = [
            _text(each, "coordinates") for each in mark.iter() if plain_tag(each.tag) == "Point"
        ]
        places = [point.split(",") for point in points if point.count(",") in (1, 2)]
        entries += [
            placed_entry(place[1], place[0], source, name=title, time=time, sender=who)
            for place in places
        ]  # fmt: skip
        words = _text(mark, "description")
        if not places:
            words = cleaned(ET.tostring(mark, encoding="unicode"))[:2_000]
        if words:
            entries.append(
                Entry("note", words, sender=who, subject=title, source=source)
            )  # fmt: skip
    return entries


def _fields(mark: "Element") -> dict[str, str]:
    return {
        each.get("name", ""): _text(each, "value", strip=False)
        for each in mark.iter()
        if plain_tag(each.tag) == "Data"
    }


def _text(element: "Element", child: str, *, strip: bool = True) -> str:
    found = next((each for each in element.iter() if plain_tag(each.tag) == child), None)
    text = cleaned(found.text or "") if found is not None else ""
    return text.strip() if strip else text


def write_kml(features: Sequence[Feature], *, title: str, written_utc: dt.datetime) -> bytes:
    """Write features as KML.

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
        UTF-8. A report without a place is a placemark without a geometry.
    """
    ET.register_namespace("", _KML)
    root = ET.Element(f"{{{_KML}}}kml")
    document = ET.SubElement(root, f"{{{_KML}}}Document")
    _add(document, "name", title)
    about = "An aid to planning; positions are as reported. Not for navigation."
    _add(document, "description", f"Written {time_text(written_utc)}. {about}")
    for feature in features:
        mark = ET.SubElement(document, f"{{{_KML}}}Placemark")
        _add(mark, "name", f"{feature.label} (fix)" if feature.kind == "fix" else feature.label)
        _add(mark, "description", feature.report)
        if feature.said_utc is not None:
            stamp = ET.SubElement(mark, f"{{{_KML}}}TimeStamp")
            _add(stamp, "when", time_text(feature.said_utc))
        data = ET.SubElement(mark, f"{{{_KML}}}ExtendedData")
        for key, value in fields_of(feature).items():
            if key in {"report", "kind"} or value not in (None, ""):
                field = ET.SubElement(data, f"{{{_KML}}}Data", {"name": key})
                ET.SubElement(field, f"{{{_KML}}}value").text = legal(str(value))
        _geometry(mark, feature)
    whole: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return whole


def _geometry(mark: "Element", feature: Feature) -> None:
    if feature.shape == "point":
        point = ET.SubElement(mark, f"{{{_KML}}}Point")
        _add(point, "coordinates", _pairs(feature.places[0]))
    elif feature.shape == "line":
        line = ET.SubElement(mark, f"{{{_KML}}}LineString")
        _add(line, "tessellate", "1")
        _add(line, "coordinates", _pairs(feature.places[0]))
    elif feature.shape == "area":
        area = ET.SubElement(mark, f"{{{_KML}}}Polygon")
        _add(area, "tessellate", "1")
        for tag, ring in _rings(feature):
            edge = ET.SubElement(area, f"{{{_KML}}}{tag}")
            closed = ET.SubElement(edge, f"{{{_KML}}}LinearRing")
            _add(closed, "coordinates", _pairs((*ring, ring[0])))


def _rings(feature: Feature) -> Iterator[tuple[str, tuple[Position, ...]]]:
    for number, ring in enumerate(feature.places):
        yield ("innerBoundaryIs" if number else "outerBoundaryIs"), ring


def _pairs(places: Sequence[Position]) -> str:
    return " ".join(f"{place.lon_deg:.8f},{place.lat_deg:.8f}" for place in places)


def _add(parent: "Element", tag: str, text: str) -> None:
    if text:
        ET.SubElement(parent, f"{{{_KML}}}{tag}").text = legal(text)
