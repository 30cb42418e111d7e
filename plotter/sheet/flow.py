"""Words on printed pages: headings, sentences and tables that flow from page to page."""

from collections.abc import Iterable, Sequence
from typing import Any

from plotter.sheet.frame import Layout
from plotter.sheet.pen import BOLD, PLAIN, POINTS_PER_MM, printable

__all__ = ["heading", "pages_of", "table", "words"]

_HEAD_PT, _BODY_PT, _LEAD_PT = 11.0, 8.0, 9.6


def pages_of(flowables: Iterable[Any], layout: Layout) -> list[list[Any]]:
    """Lay flowables out; those of each page, in order, each with its place (x, y) in points."""
    wide = layout.text.width * POINTS_PER_MM
    story = list(flowables)
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


def heading(text: str, size: float = _HEAD_PT) -> Any:  # noqa: ANN401 - reportlab has no types
    """A heading; it stays with what follows."""
    from reportlab.lib.styles import ParagraphStyle

    style = ParagraphStyle(
        "heading", fontName=BOLD, fontSize=size, leading=1.25 * size, spaceBefore=0
    )
    paragraph = _paragraph(text, style, above=0.45 * size)
    paragraph.is_heading = True
    return paragraph


def words(text: str) -> Any:  # noqa: ANN401 - the same
    """A sentence or more."""
    from reportlab.lib.styles import ParagraphStyle

    style = ParagraphStyle("words", fontName=PLAIN, fontSize=9.0, leading=11.5)
    return _paragraph(text, style, above=1.0)


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


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], wide: float, shares: Sequence[float]
) -> Any:  # noqa: ANN401 - the same
    """A table whose head is repeated on every page; columns take the given shares of the width."""
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
