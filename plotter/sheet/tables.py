"""The pages of words: the fix, positions, bearings, questions, and every line as heard."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from plotter.board.answer_values import Answer
from plotter.board.data import CAUTIONS
from plotter.board.values import Entry, Scene
from plotter.board.words import bearing_in_words, length_in_words
from plotter.sheet.frame import Layout
from plotter.sheet.pen import (
    BOLD,
    PLAIN,
    POINTS_PER_MM,
    lacks_letters,
    load_fonts,
    printable,
)
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
_HEAD_PT, _BODY_PT, _LEAD_PT = 11.0, 8.0, 9.6
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
    wide = layout.text.width * POINTS_PER_MM
    story = list(_story(scene, wide, reference))
    bottom = (layout.text.bottom + 6.0) * POINTS_PER_MM
    top = layout.text.top * POINTS_PER_MM
    left = layout.text.left * POINTS_PER_MM
    pages: list[list[Any]] = [[]]
    y = top
    while story:
        flowable = story.pop(0)
        _, high = flowable.wrap(wide, y - bottom)
        # A heading stays with the head and first row of what follows.
        needed = high + (4 * _LEAD_PT if getattr(flowable, "is_heading", False) else 0.0)
        if needed <= y - bottom:
            y -= high
            pages[-1].append((flowable, left, y))
            continue
        parts = flowable.split(wide, y - bottom) if high > y - bottom else []
        if len(parts) > 1:
            story[:0] = parts
            continue
        if not pages[
            -1
        ]:  # taller than a page and not to be split: it is cut off, not lost in a loop
            pages[-1].append((flowable, left, bottom))
        else:
            story.insert(0, flowable)
        pages.append([])
        y = top
    return [page for page in pages if page]


def _story(scene: Scene, wide: float, reference: Reference) -> Iterator[Any]:
    yield _heading(scene.title, size=14.0)
    for answer in scene.answers:
        yield from _answer(answer, wide)
    if not scene.answers:
        yield _words(
            "No fix: there is nothing to compute one from, or it failed; the log says why."
        )
    if scene.questions:
        yield _heading(TITLES["questions"])
        rows = [(q.sender, q.words, scene.entries[q.entry].text) for q in scene.questions]
        yield _table(("Ask", "What", "About the words"), rows, wide, (0.16, 0.50, 0.34))
    latest = [mark for mark in scene.marks if mark.latest]
    if latest:
        yield _heading(TITLES["positions"])
        rows5 = []
        for mark in sorted(latest, key=lambda mark: (mark.role, mark.name)):
            entry = scene.entries[mark.entry]
            place = entry.place or mark.square[0]
            rows5.append(
                (
                    f"{mark.name}{' ?' if mark.doubtful else ''}",
                    mark.role,
                    square_reference(place, mark.size_m, reference),
                    _degrees(place),
                    length_in_words(mark.size_m),
                    ", ".join(w for w in (_clock(entry), entry.age) if w),
                )
            )
        yield _table(
            ("Who or what", "As", "MGRS", "Latitude, longitude", "Square", "Time UTC, age"),
            rows5, wide, (0.22, 0.09, 0.24, 0.21, 0.09, 0.15),
        )  # fmt: skip
    evidence = [entry for entry in scene.entries if entry.kind in _EVIDENCE]
    if evidence:
        yield _heading(TITLES["evidence"])
        rows = [(_clock(e), e.sender, _understood(e)) for e in evidence]
        yield _table(("UTC", "From", "What it says"), rows, wide, (0.08, 0.18, 0.74))
    yield from _lines(scene, wide)
    heard = (text for e in scene.entries for text in (e.sender, e.subject, e.text))
    if lacks_letters([scene.title, *heard]):
        yield _words("Letters that the printed font lacks stand as ?: the report file has them.")
    yield _heading(TITLES["cautions"])
    yield _words(" ".join(CAUTIONS))


def _answer(answer: Answer, wide: float) -> Iterator[Any]:
    moving = f", for {answer.at_utc:%Y-%m-%d %H:%M} UTC" if answer.at_utc else ""
    yield _heading(f"Fix: {answer.subject}{moving}")
    for finding in answer.findings:
        yield _words(finding)
    if not answer.sector:
        rows = [
            (spoken.label, _GAP.join(g.strip() for g in spoken.groups)) for spoken in answer.formats
        ]
        yield _table(("Best point in", "to be read out in these groups"), rows, wide, (0.25, 0.75))
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
        yield _table(
            ("From", "Distance", "Bearing to the best point", ""), rows4, wide,
            (0.34, 0.16, 0.25, 0.25),
        )  # fmt: skip


def _lines(scene: Scene, wide: float) -> Iterator[Any]:
    if not scene.entries:
        return
    yield _heading(TITLES["lines"])
    rows = [
        (f"{e.line}", _clock(e), e.sender, e.subject, e.text, _understood(e))
        for e in scene.entries[:_MOST_LINES]
    ]
    yield _table(
        ("Line", "UTC", "From", "About", "As heard", "Taken to mean"),
        rows, wide, (0.05, 0.07, 0.13, 0.13, 0.29, 0.33),
    )  # fmt: skip
    if len(scene.entries) > _MOST_LINES:
        left = len(scene.entries) - _MOST_LINES
        yield _words(f"{left} older lines are not printed: they are in the report file.")


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


def _heading(words: str, size: float = _HEAD_PT) -> Any:  # noqa: ANN401 - reportlab has no types
    from reportlab.lib.styles import ParagraphStyle

    style = ParagraphStyle(
        "heading", fontName=BOLD, fontSize=size, leading=1.25 * size, spaceBefore=0
    )
    paragraph = _paragraph(words, style, above=0.45 * size)
    paragraph.is_heading = True
    return paragraph


def _words(words: str) -> Any:  # noqa: ANN401 - the same
    from reportlab.lib.styles import ParagraphStyle

    style = ParagraphStyle("words", fontName=PLAIN, fontSize=9.0, leading=11.5)
    return _paragraph(words, style, above=1.0)


def _paragraph(words: str, style: Any, above: float) -> Any:  # noqa: ANN401 - the same
    from reportlab.platypus import Paragraph

    # White above is part of the paragraph, for no frame of reportlab's lays these out.
    style.borderPadding = 0
    paragraph = Paragraph(_escaped(words), style)
    wrap = paragraph.wrap

    def taller(wide: float, high: float) -> tuple[float, float]:
        across, up = wrap(wide, high)
        return across, up + above

    paragraph.wrap = taller
    return paragraph


def _table(
    head: Sequence[str], rows: Sequence[Sequence[str]], wide: float, shares: Sequence[float]
) -> Any:  # noqa: ANN401 - the same
    from reportlab.lib.colors import Color, black
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph, Table, TableStyle

    plain = ParagraphStyle(
        "cell", fontName=PLAIN, fontSize=_BODY_PT, leading=_LEAD_PT, splitLongWords=1
    )
    bold = ParagraphStyle("head", parent=plain, fontName=BOLD)
    cells = [[Paragraph(_escaped(words), bold) for words in head]]
    cells += [[Paragraph(_escaped(words), plain) for words in row] for row in rows]
    band = Color(0.93, 0.93, 0.93)
    style = TableStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.25, Color(0.5, 0.5, 0.5)),
            ("BACKGROUND", (0, 0), (-1, 0), band),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ]
    )
    widths = [share * wide for share in shares]
    return Table(cells, colWidths=widths, style=style, repeatRows=1, splitInRow=1)


def _escaped(words: str) -> str:
    text = printable(words)
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
