"""What goes out: reports, bearings and fixes with their places, and fields that every file carries.

A file that comes back in gives the same reports again: the fields, not the drawing, are read.
"""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

from plotter.errors import FormatError
from plotter.exchange.tally import Tally
from plotter.exchange.times import time_said
from plotter.fix import Fix
from plotter.fix.wording import area_words, distance_words
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.position import Position
from plotter.log.events.encoding import time_text
from plotter.log.events.event import FOLLOWING, KINDS, Entry, Kind, Source
from plotter.log.events.names import short_names
from plotter.log.events.state import State
from plotter.log.incident import picture_of_state, said_lines
from plotter.reports.report import BearingReport, Picture, PositionReport, to_ask
from plotter.voice.spoken import reading_alone

__all__ = ["FIELDS", "Feature", "entry_of_fields", "features_of", "fields_of", "own_entry"]

FIELDS: Final = (
    "name", "kind", "said_utc", "sender", "subject", "operator", "channel", "report",
    "reading", "size_m", "assumed", "confirmed", "about", "ask",
)  # fmt: skip
"""Names of the fields, as they stand in every file."""

_Shape: TypeAlias = Literal["none", "point", "line", "area"]
_Drawn: TypeAlias = tuple[_Shape, tuple[tuple[Position, ...], ...]]
_NOWHERE: Final[_Drawn] = ("none", ())
_BEARING_LENGTH_M: Final = 30_000.0
_FIRST: Final = frozenset(KINDS) - FOLLOWING
_COMPUTED: Final = frozenset({"fix", "region"})
_PLACE_WORD: Final = re.compile(r"^\s*(?:place|at)\s+", re.IGNORECASE)
# As exactly as a place is written in words.
_AS_DRAWN_M: Final = 3.0


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing that goes out.

    Parameters
    ----------
    name : str
        Of the entry; of a fix, of what it is a fix.
    kind : str
        A kind of event, or "fix" and "region", which are computed and do not come back in.
    shape : {"none", "point", "line", "area"}
        What is drawn.
    places : tuple of tuple of Position
        A point, the two ends of a bearing (30 km long, as drawn), or the rings of an area.
    said_utc : datetime or None
        When it was said.
    sender, subject, operator, channel, report : str
        As in the log; the report is the text as heard, or as it was corrected.
    reading : str
        What it was taken to mean.
    size_m : float or None
        Side of its square.
    assumed : str
        What that rests on.
    confirmed : bool
        Whether it was read back and confirmed.
    about : str
        Who or what was found to be there, under the name that the picture has.
    ask : str
        What is still to be asked about it; empty where nothing is, or it was confirmed.
    """

    name: str
    kind: str
    shape: _Shape
    places: tuple[tuple[Position, ...], ...]
    said_utc: dt.datetime | None
    sender: str
    subject: str
    operator: str
    channel: str
    report: str
    reading: str = ""
    size_m: float | None = None
    assumed: str = ""
    confirmed: bool = False
    about: str = ""
    ask: str = ""

    @property
    def computed(self) -> bool:
        """Whether it was made of the reports, and does not come back in."""
        return self.kind in _COMPUTED

    @property
    def label(self) -> str:
        """What a handheld shows: whom or what it is about, else who said it; marked if in doubt."""
        named = self.subject or self.about or self.sender or self.name
        return f"? {named}" if self.ask else named


def features_of(state: State, fixes: Sequence[tuple[str, Fix]] = ()) -> tuple[Feature, ...]:
    """Everything that a log says, and the fixes that were made of it.

    Parameters
    ----------
    state : State
        Of the log.
    fixes : sequence of (str, Fix)
        With the name of what each is a fix of.

    Returns
    -------
    tuple of Feature
        Reports in the order of the log, those without a place as well; then the fixes.
    """
    picture = picture_of_state(state)
    names = short_names(state.events)
    places: dict[tuple[str, str], _Drawn] = dict(_places(picture))
    about = {(each.said.name, each.said.text): each.name for each in picture.positions}
    reports: list[PositionReport | BearingReport] = [*picture.positions, *picture.bearings]
    asked = {(r.said.name, r.said.text): " ".join(to_ask(r.questions)) for r in reports}
    found = []
    said = {line.name: line for line in said_lines(state)}
    for line in state.lines:
        name = names[line.first.hash]
        for head in line.standing or (line.first,):
            reading = line.reading_of(head)
            shape, where = places.get((name, head.text), _NOWHERE)
            text = said[name].text if line.withdrawn and name in said else head.text
            found.append(
                Feature(
                    name,
                    "note" if line.withdrawn else line.first.kind,
                    "none" if line.withdrawn else shape,
                    () if line.withdrawn else where,
                    head.said_utc,
                    head.sender,
                    head.subject,
                    head.operator,
                    head.channel,
                    text,
                    reading.text if reading else "",
                    reading.size_m if reading else None,
                    "; ".join(head.assumed),
                    line.confirmed,
                    about.get((name, head.text), ""),
                    "" if line.confirmed or line.withdrawn else asked.get((name, head.text), ""),
                )
            )
    return (*found, *_of_fixes(fixes))


def _places(
    picture: Picture,
) -> Iterator[tuple[tuple[str, str], _Drawn]]:
    """Shape of each report by its name and its words."""
    reports: list[PositionReport | BearingReport] = [*picture.positions, *picture.bearings]
    for report in reports:
        key = (report.said.name, report.said.text)
        if isinstance(report, PositionReport):
            yield key, ("point", ((report.reading.square.centre,),))
        else:
            end = destination(report.observer, report.bearing_true_deg, _BEARING_LENGTH_M)
            yield key, ("line", ((report.observer, end),))


def _of_fixes(fixes: Sequence[tuple[str, Fix]]) -> Iterator[Feature]:
    for name, fix in fixes:
        words = " ".join(fix.findings)
        yield Feature(
            f"fix {name}", "fix", "point", ((fix.best,),), None, "", name, "", "", words,
            "best point; a place to begin, not a position",
        )  # fmt: skip
        for region in fix.regions:
            share = f"{100 * region.probability:.0f} % region"
            for piece in region.pieces:
                rings = (piece.polygon.outer, *piece.polygon.holes)
                yield Feature(
                    f"{share} {name}", "region", "area", rings, None, "", name, "", "",
                    f"{share}, {area_words(piece.area_km2)}",
                )  # fmt: skip


def fields_of(feature: Feature) -> dict[str, str | float | bool | None]:
    """The fields of a feature, in the order of `FIELDS`."""
    return {
        "name": feature.name,
        "kind": feature.kind,
        "said_utc": time_text(feature.said_utc),
        "sender": feature.sender,
        "subject": feature.subject,
        "operator": feature.operator,
        "channel": feature.channel,
        "report": feature.report,
        "reading": feature.reading,
        "size_m": feature.size_m,
        "assumed": feature.assumed,
        "confirmed": feature.confirmed,
        "about": feature.about,
        "ask": feature.ask,
    }


def entry_of_fields(fields: Mapping[str, object], source: Source) -> Entry | None:
    """The report that fields of ours tell of.

    Parameters
    ----------
    fields : mapping
        As `fields_of` gives them; others are ignored.
    source : Source
        The file, and the place in it.

    Returns
    -------
    Entry or None
        None for what was computed, and comes out of the reports again.
    """
    told = {key: str(fields.get(key) or "") for key in FIELDS}
    kind: Kind = "report"
    if told["kind"] in _FIRST:
        kind = told["kind"]
    if told["kind"] in _COMPUTED:
        return None
    said, problem, unsaid = None, "", ""
    if told["said_utc"]:
        said, problem, unsaid = time_said(told["said_utc"], utc=False)
    if unsaid:
        said, problem = None, f"the time {told['said_utc']!r} does not say its zone"
    return Entry(
        kind,
        told["report"],
        sender=told["sender"],
        subject=told["subject"],
        operator=told["operator"],
        channel=told["channel"],
        said_utc=said,
        problem=problem,
        source=source,
    )


def _moved(fields: Mapping[str, object], lon_lat: object) -> str:
    """What to ask where a point is not drawn where its words have it; empty where it is."""
    if not isinstance(lon_lat, list | tuple) or len(lon_lat) < 2 or None in lon_lat[:2]:
        return ""
    told = str(fields.get("reading") or "") or str(fields.get("report") or "")
    try:
        place = Position(float(lon_lat[1]), float(lon_lat[0]))
        found = reading_alone(_PLACE_WORD.sub("", told))
        near_m = max(float(str(fields.get("size_m") or 0.0)), found[0].square.size_m, _AS_DRAWN_M)
    except (FormatError, ValueError):
        return ""
    off_m = min(geodesic(place, each.square.centre).distance_m for each in found)
    if off_m <= near_m:
        return ""
    away = distance_words(off_m)
    return f"the file draws it at {place}, {away} from where {told!r} has it: ask which holds"


def own_entry(
    fields: Mapping[str, object], source: Source, tally: Tally, lon_lat: object = None
) -> Entry | None:
    """The report that fields of ours tell of, counted; see `entry_of_fields`.

    Where the file draws it as a point, that is its longitude and latitude: somebody may have moved
    it since, and then two places are stated.
    """
    entry = entry_of_fields(fields, source)
    if entry is not None and (why := _moved(fields, lon_lat)):
        entry = replace(entry, problem=entry.problem or why)
        tally.take("reports drawn at another place than they tell of, kept unread")
        return entry
    if entry is None:
        tally.leave("fixes and regions, which are computed")
        return None
    tally.take("reports as they were")
    tally.leave("confirmations by read-back", int(str(fields.get("confirmed")) in {"True", "1"}))
    return entry
