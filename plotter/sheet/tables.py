"""The pages of words: the fix, positions, bearings, questions, and every line as heard."""

from collections.abc import Iterator
from typing import Any, Final

from plotter.board.answer_values import Answer
from plotter.board.data import CAUTIONS
from plotter.board.listening_values import Listening
from plotter.board.search_data import effort_in_words, way_in_words
from plotter.board.search_values import SearchView
from plotter.board.values import Entry, Scene
from plotter.board.words import bearing_in_words, length_in_words
from plotter.fix.wording import area_words, percent_words
from plotter.sheet.flow import heading, pages_of, table, words
from plotter.sheet.frame import Layout
from plotter.sheet.numbering import numbers_of
from plotter.sheet.pen import POINTS_PER_MM, lacks_letters, load_fonts
from plotter.sheet.references import Reference, square_reference

__all__ = ["TITLES", "word_pages"]

TITLES: Final = {
    "questions": "Questions open",
    "positions": "Latest positions",
    "evidence": "Bearings and other evidence",
    "lines": "Every line as it came in, newest first",
    "cautions": "Cautions",
}
_MOST_LINES: Final = 250
_GAP: Final = "\u00a0\u00a0 "
_EVIDENCE: Final = {"bearing", "distance", "watch", "ground", "motion"}


def word_pages(scene: Scene, layout: Layout, reference: Reference) -> list[list[Any]]:
    """Lay out everything in words; the flowables of each page, in order.

    Parameters
    ----------
    scene : Scene
        What there is to say.
    layout : Layout
        Of the paper.
    reference : callable
        From latitude, longitude and size to a grid reference in groups.

    Returns
    -------
    list of list of reportlab flowables
        Each with its place: (flowable, x, y) in points.
    """
    load_fonts()
    return pages_of(_story(scene, layout.text.width * POINTS_PER_MM, reference), layout)


def _story(scene: Scene, wide: float, reference: Reference) -> Iterator[Any]:
    yield heading(scene.title, size=14.0)
    if scene.search is not None:
        yield from _search(scene.search, wide)
    if scene.listening is not None:
        yield from _listening(scene.listening, wide)
    for answer in scene.answers:
        yield from _answer(answer, wide)
    if not scene.answers:
        yield words("No fix: there is nothing to compute one from, or it failed; the log says why.")
    if scene.questions:
        yield heading(TITLES["questions"])
        rows = [(q.sender, q.words, scene.entries[q.entry].text) for q in scene.questions]
        yield table(("Ask", "What", "About the words"), rows, wide, (0.16, 0.50, 0.34))
    latest = [mark for mark in scene.marks if mark.latest]
    if latest:
        yield heading(TITLES["positions"])
        rows5 = []
        numbers = numbers_of(scene)
        if numbers:
            yield words("The numbers are those on the map, the nearest to the answer first.")
        for mark in sorted(latest, key=lambda m: (numbers.get(m.entry, 0), m.role, m.name)):
            entry = scene.entries[mark.entry]
            place = entry.place or mark.square[0]
            doubt = " ?" if mark.doubtful else ""
            rows5.append(
                (
                    f"{numbers.get(mark.entry, '')} {mark.name}{doubt}".strip(),
                    mark.role,
                    square_reference(place, mark.size_m, reference),
                    _degrees(place),
                    length_in_words(mark.size_m),
                    ", ".join(w for w in (_clock(entry), entry.age) if w),
                )
            )
        yield table(
            ("Who or what", "As", "MGRS", "Latitude, longitude", "Square", "Time UTC, age"),
            rows5, wide, (0.22, 0.09, 0.24, 0.21, 0.09, 0.15),
        )  # fmt: skip
    evidence = [entry for entry in scene.entries if entry.kind in _EVIDENCE]
    if evidence:
        yield heading(TITLES["evidence"])
        rows = [(_clock(e), e.sender, _understood(e)) for e in evidence]
        yield table(("UTC", "From", "What it says"), rows, wide, (0.08, 0.18, 0.74))
    yield from _lines(scene, wide)
    heard = (text for e in scene.entries for text in (e.sender, e.subject, e.text))
    if lacks_letters([scene.title, *heard]):
        yield words("Letters that the printed font lacks stand as ?: the report file has them.")
    yield heading(TITLES["cautions"])
    yield words(" ".join(CAUTIONS))


def _answer(answer: Answer, wide: float) -> Iterator[Any]:
    moving = f", for {answer.at_utc:%Y-%m-%d %H:%M} UTC" if answer.at_utc else ""
    yield heading(f"Fix: {answer.subject}{moving}")
    for finding in answer.findings:
        yield words(finding)
    if not answer.sector:
        rows = [
            (spoken.label, _GAP.join(g.strip() for g in spoken.groups)) for spoken in answer.formats
        ]
        yield table(("Best point in", "to be read out in these groups"), rows, wide, (0.25, 0.75))
    if answer.sights:
        rows4 = [
            (
                sight.name,
                length_in_words(sight.distance_m),
                bearing_in_words(sight.bearing_true_deg, "true"),
                bearing_in_words(sight.bearing_magnetic_deg, "magnetic"),
            )
            for sight in answer.sights
        ]
        if answer.sights_left_out:
            rows4.append((f"and {answer.sights_left_out} farther stations", "", "", ""))
        yield table(
            ("From", "Distance", "Bearing to the best point", ""), rows4, wide,
            (0.34, 0.16, 0.25, 0.25),
        )  # fmt: skip


def _search(search: SearchView, wide: float) -> Iterator[Any]:
    yield heading(f"Where to search: {search.subject}")
    yield words(search.words[0])
    rows = [
        (
            mark.name,
            percent_words(mark.probability),
            area_words(mark.area_km2),
            _GAP.join(group.strip() for group in mark.reference.groups),
            f"{way_in_words(mark.near)} from {mark.near.name}" if mark.near else "",
            effort_in_words(mark.effort) if mark.effort else "",
        )
        for mark in search.sectors
    ]
    yield table(
        ("Sector", "Chance", "Area", "Middle", "The way there", "To spend"), rows, wide,
        (0.08, 0.1, 0.11, 0.17, 0.31, 0.23),
    )  # fmt: skip
    for sentence in (*search.words[1:], *search.cautions):
        yield words(sentence)


def _listening(listening: Listening, wide: float) -> Iterator[Any]:
    yield heading(f"Where to listen next: {listening.subject}")
    for sentence in listening.findings:
        yield words(sentence)
    rows = [
        (
            str(place.rank),
            place.name,
            _GAP.join(group.strip() for group in place.reference.groups),
            f"{way_in_words(place.sight)} from {place.sight.name}" if place.sight else "",
            place.outcome,
        )
        for place in listening.places
    ]
    if rows:
        yield table(
            ("No.", "Place", "MGRS", "The way there", "To be expected"), rows, wide,
            (0.05, 0.15, 0.17, 0.27, 0.36),
        )  # fmt: skip
    for sentence in listening.cautions:
        yield words(sentence)


def _lines(scene: Scene, wide: float) -> Iterator[Any]:
    if not scene.entries:
        return
    yield heading(TITLES["lines"])
    rows = [
        (e.called, _clock(e), e.sender, e.subject, e.text, _understood(e))
        for e in scene.entries[:_MOST_LINES]
    ]
    of_log = scene.entries.of_log
    yield table(
        ("Entry" if of_log else "Line", "UTC", "From", "About", "As heard", "Taken to mean"),
        rows, wide, (0.09, 0.07, 0.13, 0.13, 0.27, 0.31) if of_log else
        (0.05, 0.07, 0.13, 0.13, 0.29, 0.33),
    )  # fmt: skip
    if len(scene.entries) > _MOST_LINES:
        left, where = len(scene.entries) - _MOST_LINES, "log" if of_log else "report file"
        yield words(f"{left} older ones are not printed: they are in the {where}.")


def _understood(entry: Entry) -> str:
    if entry.kind == "unread":
        return f"not read: {entry.understood}"
    return entry.understood


def _clock(entry: Entry) -> str:
    return f"{entry.time_utc:%H:%M}" if entry.time_utc else "--:--"


def _degrees(place: tuple[float, float]) -> str:
    lat, lon = place
    lon = (lon + 180.0) % 360.0 - 180.0
    return f"{abs(lat):.5f}° {'N' if lat >= 0 else 'S'}, {abs(lon):.5f}° {'E' if lon >= 0 else 'W'}"
