"""GPX 1.1: waypoints, routes and tracks, in and out."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import count
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from plotter.errors import LogError
from plotter.exchange.features import Feature, fields_of, own_entry
from plotter.exchange.guarded import cleaned, root_of_xml
from plotter.exchange.others import Thing, entries_of_things, words_of_fields
from plotter.exchange.tally import Tally
from plotter.exchange.xml_text import legal, plain_tag
from plotter.geodesy.position import Position
from plotter.log.events.encoding import time_text
from plotter.log.events.event import Entry, Source

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["read_gpx", "write_gpx"]

_GPX: Final = "http://www.topografix.com/GPX/1/1"
_OURS: Final = "urn:x-plotter:report:1"


def read_gpx(
    data: bytes, name: str, *, sender: str = "", tally: Tally | None = None
) -> list[Entry]:
    """Entries of a GPX file.

    Waypoints and named route points without a time are named places; with one, somebody was there
    then. Track points with a time are where the track's name was; those without, and routes, are
    lines. Everything else that is said of them is kept as words, of the whole file as a note.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name.
    sender : str
        Who is taken to have said what names no author; the file's name unless given.
    tally : Tally or None
        Counts what is taken and left.

    Raises
    ------
    LogError
        If it is no GPX, or may hide a trap.

    Source
    ------
    GPX 1.1 schema, TopoGrafix, 2004; version 1.0 is read as well. Both are on WGS 84, their times
    UTC, their heights above the sea.
    """
    tally = Tally() if tally is None else tally
    root = root_of_xml(data, name)
    if plain_tag(root.tag) != "gpx":
        raise LogError(f"{name!r} is not GPX: its first element is {plain_tag(root.tag)!r}")
    ordered: list[tuple[int, Entry]] = []  # ours stand by shape in the file, not as they were said
    things: list[Thing] = []
    author, about = _about(root)
    numbers = count(1)
    for element in root:
        kind = plain_tag(element.tag)
        if kind not in _KINDS:
            continue
        if (ours := _ours(element)) is not None:
            ordered += _own(ours, Source(name, next(numbers)), tally)
        elif _text(element, "type") in {"fix", "region"}:
            tally.leave("fixes and regions, which are computed")
        elif kind == "wpt":
            things.append(_point(element, next(numbers), author))
        else:
            things += _lines(element, kind, numbers, author)
    for fields in _without_place(root):
        ordered += _own(fields, Source(name, next(numbers)), tally)
    if about and not ordered:
        things.append(Thing(next(numbers), "none", name=name, sender=author, words=about))
    ordered.sort(key=lambda pair: pair[0])
    entries = entries_of_things(things, name, sender or name, tally)
    return [entry for _, entry in ordered] + entries


_DRAWN_AT: Final = "drawn at"
_KINDS: Final = frozenset({"wpt", "rte", "trk"})
_DRAWN: Final = re.compile(r"(?:Outline of an area, drawn|Drawn) to about (\d+(?:\.\d+)?) m")


def _own(fields: Mapping[str, object], source: Source, tally: Tally) -> list[tuple[int, Entry]]:
    entry = own_entry(fields, source, tally, fields.get(_DRAWN_AT))
    if entry is None:
        return []
    order = str(fields.get("order") or "0")
    return [(int(order) if re.fullmatch(r"[0-9]{1,9}", order) else 0, entry)]


def _about(root: "Element") -> tuple[str, str]:
    """Author of the file, and what else it says of itself."""
    head = next((each for each in root if plain_tag(each.tag) == "metadata"), root)
    author, said = "", []
    for each in head:
        tag = plain_tag(each.tag)
        if tag == "author":
            author = _text(each, "name") or cleaned((each.text or "").strip())
        elif tag not in _KINDS | {"bounds", "extensions", "metadata", "time"}:
            said += _leaves(each)
    return author, words_of_fields(said)


def _point(
    element: "Element", number: int, author: str, group: str = "", *, track: bool = False
) -> Thing:
    """A waypoint, or a point of a route or track, whose name is that of its group."""
    title, said = _text(element, "name"), []
    for each in element:
        if plain_tag(each.tag) not in {"name", "time"}:
            said += _leaves(each)
    if group and title and track:
        said.append(("name", title))
    if group and not track:
        said.append(("route", group))
    good = _DRAWN.fullmatch(_text(element, "desc"))
    # A track says who or what moved; who said so is its author, or else the track itself.
    return Thing(
        number,
        "point",
        (((element.get("lat", ""), element.get("lon", "")),),),
        name=group if track else title,
        sender=author or (group if track else ""),
        time=_text(element, "time"),
        words=words_of_fields(said),
        good_to_m=float(good[1]) / 2.0 if good else None,
    )


def _lines(element: "Element", kind: str, numbers: Iterator[int], author: str) -> Iterator[Thing]:
    """A track as positions, or as lines where it has no times; a route as a line and its points."""
    group = _text(element, "name")
    said = [
        leaf
        for each in element
        if plain_tag(each.tag) not in {"name", "trkseg", "rtept"}
        for leaf in _leaves(each)
    ]
    words, good = words_of_fields(said), _DRAWN.fullmatch(_text(element, "desc"))
    area = words.startswith("Outline of an area")
    runs = [each for each in element if plain_tag(each.tag) == "trkseg"]
    runs = runs if kind == "trk" else [element]
    point_tag = "trkpt" if kind == "trk" else "rtept"
    told = False
    for run in runs:
        points = [each for each in run if plain_tag(each.tag) == point_tag]
        timed = [each for each in points if _text(each, "time")]
        if kind == "rte":
            timed = [each for each in points if _text(each, "name") or _text(each, "time")]
        if len(points) > 1 and (kind == "rte" or len(timed) < len(points)):
            told = True
            yield Thing(
                next(numbers),
                "area" if area else "line",
                (tuple((each.get("lat", ""), each.get("lon", "")) for each in points),),
                name=group,
                sender=author,
                words=words,
                good_to_m=float(good[1]) / 2.0 if good else None,
            )
        for each in timed if len(points) > 1 else points:
            yield _point(each, next(numbers), author, group, track=kind == "trk")
    if not told and words:
        yield Thing(next(numbers), "none", name=group, sender=author, words=words)


def _text(element: "Element", child: str) -> str:
    found = next((each for each in element if plain_tag(each.tag) == child), None)
    return cleaned((found.text or "").strip()) if found is not None else ""


def _leaves(element: "Element") -> list[tuple[str, str]]:
    """Everything that an element says, with the names of what says it."""
    found = []
    for each in element.iter():
        text = cleaned((each.text or "").strip())
        if text:
            found.append((plain_tag(each.tag), text))
        if (link := each.get("href")) is not None:
            found.append(("link", cleaned(link)))
    return found


def _ours(element: "Element") -> dict[str, object] | None:
    for child in element:
        if plain_tag(child.tag) == "extensions":
            for each in child:
                if each.tag == f"{{{_OURS}}}report":
                    drawn = [element.get("lon"), element.get("lat")]
                    return {**each.attrib, "report": each.text or "", _DRAWN_AT: drawn}
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
