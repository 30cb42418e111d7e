"""A handover on paper: the same tables, page by page."""

import io
from collections.abc import Iterator
from typing import Any

from plotter.handover import Handover
from plotter.sheet.flow import heading, pages_of, table, words
from plotter.sheet.frame import layout_of
from plotter.sheet.pen import BOLD, GREY, PLAIN, POINTS_PER_MM, Pen, load_fonts

__all__ = ["handover_pdf"]


def handover_pdf(handover: Handover, *, paper: str = "A4") -> bytes:
    """Print a handover.

    Parameters
    ----------
    handover : Handover
        From `plotter.handover.handover_of`.
    paper : str
        "A4", "A3" or "Letter"; landscape.

    Returns
    -------
    bytes
        The PDF; the same handover gives the same bytes.

    Raises
    ------
    SheetError
        If there is no such paper.
    """
    from reportlab.pdfgen.canvas import Canvas

    load_fonts()
    layout = layout_of(paper, "landscape")
    out = io.BytesIO()
    size = (layout.width_mm * POINTS_PER_MM, layout.height_mm * POINTS_PER_MM)
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(f"{handover.title}: handover")
    pen = Pen(canvas)
    pages = pages_of(_story(handover, layout.text.width * POINTS_PER_MM), layout)
    for number, page in enumerate(pages, start=1):
        for flowable, x, y in page:
            flowable.drawOn(canvas, x, y)
        foot = layout.text.bottom - 2.4
        made = f"{handover.title}: handover, made {handover.made_utc:%Y-%m-%d %H:%M} UTC"
        pen.text(layout.text.left, foot, made, 2.1, PLAIN, GREY)
        count = f"page {number} of {len(pages)}"
        pen.text(layout.text.right, foot, count, 2.1, BOLD, GREY, anchor="end")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _story(handover: Handover, wide: float) -> Iterator[Any]:
    yield heading(f"{handover.title}: handover", size=14.0)
    for line in (*handover.cautions, *handover.words):
        yield words(line)
    for each in handover.tables:
        yield heading(each.title)
        if each.rows:
            yield table(each.columns, each.rows, wide, each.shares)
        else:
            yield words(each.empty)
