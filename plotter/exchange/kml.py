"""KML 2.2, and KMZ, which is KML in a zip archive; in and out."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from plotter.errors import LogError
from plotter.exchange.features import Feature, fields_of, own_entry
from plotter.exchange.guarded import cleaned, root_of_xml, unzipped
from plotter.exchange.others import Pair, Thing, entries_of_things, words_of_fields
from plotter.exchange.tally import Tally
from plotter.exchange.xml_text import legal, plain_tag
from plotter.geodesy.position import Position
from plotter.log.events.encoding import time_text
from plotter.log.events.event import Entry, Source

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["read_kml", "read_kmz", "write_kml"]

_KML: Final = "http://www.opengis.net/kml/2.2"


def read_kmz(
    data: bytes, name: str, *, sender: str = "", tally: Tally | None = None
) -> list[Entry]:
    """Entries of the first .kml inside a zip archive; see `read_kml`."""
    tally = Tally() if tally is None else tally
    inner, others = unzipped(data, ".kml", name)
    tally.leave("other files in the archive", others)
    return read_kml(inner, name, sender=sender, tally=tally)


def read_kml(
    data: bytes, name: str, *, sender: str = "", tally: Tally | None = None
) -> list[Entry]:
    """Entries of a KML file: placemarks of ours as they were, those of others with all their words.

    Nothing is loaded from links.

    Parameters
    ----------
    data, name, sender, tally
        As for `plotter.exchange.gpx.read_gpx`.

    Raises
    ------
    LogError
        If it is no KML, or may hide a trap.

    Source
    ------
    OGC KML 2.2 (07-147r2): WGS 84, longitude first; gx:Track as commonly published.
    """
    tally = Tally() if tally is None else tally
    root = root_of_xml(data, name)
    if plain_tag(root.tag) != "kml":
        raise LogError(f"{name!r} is not KML: its first element is {plain_tag(root.tag)!r}")
    own: list[Entry] = []
    things: list[Thing] = []
    numbers = count(1)
    for mark, author, above in _marks(root, "", (), tally):
        source = Source(name, next(numbers))
        fields = _fields(mark)
        if "report" in fields and "kind" in fields:
            entry = own_entry(fields, source, tally, _point_of(mark))
            own += [entry] if entry else []
            continue
        made = list(_things(mark, source.line, author, above))
        tally.leave("placemarks that say nothing", int(not made))
        things += made
    if not own:
        things += _abouts(root, name, numbers)
    return own + entries_of_things(things, name, sender or name, tally)


_SHAPES: Final = frozenset({"Point", "LineString", "LinearRing", "Polygon", "Track"})
_LEFT: Final = {
    "NetworkLink": "links to other files", "GroundOverlay": "pictures over the ground",
    "ScreenOverlay": "pictures over the screen", "PhotoOverlay": "photographs",
    "Style": "styles", "StyleMap": "styles", "Model": "models", "Tour": "tours",
    "Schema": "declarations of fields",
}  # fmt: skip
_FOLDERS: Final = frozenset({"kml", "Document", "Folder", "MultiGeometry"})
# Not words about a thing: how it is drawn, and what is taken by other ways.
_NO_WORDS: Final = _SHAPES | frozenset({
    "name", "styleUrl", "Style", "StyleMap", "LookAt", "Camera", "Region", "visibility", "open",
    "author", "MultiGeometry", "MultiTrack", "Model", "TimeStamp",
})  # fmt: skip


def _marks(
    element: "Element", author: str, above: tuple[str, ...], tally: Tally
) -> Iterator[tuple["Element", str, tuple[str, ...]]]:
    """Every placemark with the author that it or what holds it names, and its folders' names."""
    for each in element:
        tag = plain_tag(each.tag)
        who = _author(each) or author
        if tag == "Placemark":
            for inner in each.iter():
                tally.leave(_LEFT.get(plain_tag(inner.tag), ""), int(plain_tag(inner.tag) in _LEFT))
                tally.take("time spans, as words", int(plain_tag(inner.tag) == "TimeSpan"))
            yield each, who, above
        elif tag in _LEFT:
            tally.leave(_LEFT[tag])
        elif tag in _FOLDERS:
            title = _text(each, "name") if tag == "Folder" else ""
            yield from _marks(each, who, (*above, title) if title else above, tally)


def _author(element: "Element") -> str:
    author = next((each for each in element if plain_tag(each.tag) == "author"), None)
    return _text(author, "name") if author is not None else ""


def _abouts(root: "Element", name: str, numbers: Iterator[int]) -> Iterator[Thing]:
    """What documents and folders say of themselves, as notes."""
    for each in root.iter():
        if plain_tag(each.tag) in {"Document", "Folder"}:
            said = [
                leaf
                for child in each
                if plain_tag(child.tag) in {"description", "Snippet", "ExtendedData", "TimeSpan"}
                for leaf in _leaves(child)
            ]
            if words := words_of_fields(said):
                title = _text(each, "name") or name
                yield Thing(next(numbers), "none", name=title, sender=_author(each), words=words)


def _things(mark: "Element", number: int, author: str, above: tuple[str, ...]) -> Iterator[Thing]:
    """A placemark's geometries, each with its words; one without any is a note."""
    title, said = _text(mark, "name"), []
    time = ""
    for each in mark:
        tag = plain_tag(each.tag)
        if tag == "TimeStamp":
            when = _text(each, "when")
            time = when if "T" in when else ""
            said += [] if time else [("when", when)]
        elif tag not in _NO_WORDS:
            said += _leaves(each)
    words = words_of_fields(said)
    says = (title, *(value for _, value in said))
    about = " / ".join(above)
    whole = "; ".join(filter(None, (words, f"in {about}" if about else "")))
    plain = Thing(number, "none", name=title, sender=author, time=time, words=whole, says=says)
    found = [thing for shape in _shapes(mark) for thing in _drawn(shape, plain)]
    if not found and (title or whole or time):
        found = [replace(plain, words="; ".join(filter(None, (whole, time))))]
    yield from found


def _shapes(element: "Element") -> Iterator["Element"]:
    for each in element:
        if plain_tag(each.tag) in _SHAPES:
            yield each
        elif plain_tag(each.tag) in {"MultiGeometry", "MultiTrack"}:
            yield from _shapes(each)


def _drawn(shape: "Element", plain: Thing) -> Iterator[Thing]:
    """A geometry as things."""
    tag, mode = plain_tag(shape.tag), _text(shape, "altitudeMode") or "clampToGround"
    if tag == "Track":
        whens = [(each.text or "").strip() for each in shape if plain_tag(each.tag) == "when"]
        places = [(each.text or "").split() for each in shape if plain_tag(each.tag) == "coord"]
        for i, place in enumerate(places):
            when = whens[i] if i < len(whens) else ""
            problem = "" if when else "a place of a track without a time"
            yield replace(
                plain, shape="point", rings=((_pair(place),),), time=when, problem=problem,
                words=_with_altitude(plain.words, place, mode),
            )  # fmt: skip
    elif tag == "Point":
        for place in _tuples(shape):
            yield replace(
                plain, shape="point", rings=((_pair(place),),),
                words=_with_altitude(plain.words, place, mode),
            )  # fmt: skip
    elif tag == "Polygon":
        edges = [each for each in shape.iter() if plain_tag(each.tag) == "LinearRing"]
        rings = tuple(tuple(map(_pair, _tuples(edge))) for edge in edges)
        if rings:
            yield replace(plain, shape="area", rings=rings)
    else:
        yield replace(plain, shape="line", rings=(tuple(map(_pair, _tuples(shape))),))


def _tuples(shape: "Element") -> list[list[str]]:
    return [place.split(",") for place in _text(shape, "coordinates").split()]


def _pair(place: Sequence[str]) -> Pair:
    """Latitude and longitude of longitude, latitude and maybe a height."""
    return (place[1], place[0]) if len(place) in (2, 3) else (",".join(place), "")


def _with_altitude(words: str, place: Sequence[str], mode: str) -> str:
    """The words with a height that means something: 0 on the ground is no height."""
    height = place[2].strip() if len(place) == 3 else ""
    if not height or (mode == "clampToGround" and not height.strip("+-0.")):
        return words
    said = {"absolute": "above the sea", "relativeToGround": "above the ground"}.get(mode, mode)
    return "; ".join(filter(None, (words, f"altitude {height} m {said}")))


def _point_of(mark: "Element") -> object:
    """Longitude and latitude where a placemark is drawn as a point."""
    point = next((each for each in mark if plain_tag(each.tag) == "Point"), None)
    return _text(point, "coordinates").split(",") if point is not None else None


def _fields(mark: "Element") -> dict[str, str]:
    return {
        each.get("name", ""): _text(each, "value", strip=False)
        for each in mark.iter()
        if plain_tag(each.tag) == "Data"
    }


def _text(element: "Element", child: str, *, strip: bool = True) -> str:
    """Text of a child, none deeper: an author's name is not the name of his placemark."""
    found = next((each for each in element if plain_tag(each.tag) == child), None)
    text = cleaned(found.text or "") if found is not None else ""
    return text.strip() if strip else text


def _leaves(element: "Element") -> list[tuple[str, str]]:
    """Everything that an element says; extended data by the names of its fields."""
    found = []
    for each in element.iter():
        tag = plain_tag(each.tag)
        text = cleaned((each.text or "").strip())
        if tag == "Data":
            found.append((each.get("name", ""), _text(each, "value")))
        elif text and tag not in {"value", "displayName"}:
            found.append((each.get("name") or tag, text))
        if (link := each.get("href")) is not None:
            found.append(("link", cleaned(link)))
    return found


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
