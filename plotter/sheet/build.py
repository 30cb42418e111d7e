"""From a plan and a scene to the PDF: the index, the map pages, the pages of words."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from plotter.board.values import Scene
from plotter.board.words import age_in_words
from plotter.sheet.frame import Layout, MapFrame
from plotter.sheet.grid_drawing import draw_figures, draw_grid
from plotter.sheet.grid_lines import PageGrid, page_grid
from plotter.sheet.ground_image import ground_image
from plotter.sheet.map_drawing import draw_reports, draw_square_names, square_name_boxes
from plotter.sheet.margin import (
    MarginWords,
    draw_legend,
    draw_neighbours,
    draw_norths,
    draw_reading,
    draw_title,
    legend_of,
)
from plotter.sheet.norths import norths_of
from plotter.sheet.pen import BLACK, BOLD, GREY, PLAIN, POINTS_PER_MM, WHITE, Pen
from plotter.sheet.plan import SheetPage, SheetPlan
from plotter.sheet.references import grid_reference, square_letters
from plotter.sheet.scales import draw_bars, draw_romer
from plotter.sheet.tables import word_pages
from plotter.tiles.archive import Archive

__all__ = ["Sheet", "build_sheet"]

# A square is named on the map where it takes this much of the page.
_NAMED_SHARE: Final = 0.02
_MOST_LISTED: Final = 4
_MAP_DATE: Final = "The date of the survey is not stated in the archive."


@dataclass(frozen=True, slots=True)
class Sheet:
    """A finished sheet.

    Parameters
    ----------
    pdf : bytes
        The file.
    pages : tuple of str
        What each page is: "index", "map A1", "map", "words".
    sources : tuple of str
        Where the maps come from, each once.
    """

    pdf: bytes
    pages: tuple[str, ...]
    sources: tuple[str, ...]


def build_sheet(
    scene: Scene,
    plan: SheetPlan,
    *,
    printed_utc: datetime,
    archives: Sequence[Archive] = (),
) -> Sheet:
    """Write the sheet.

    Parameters
    ----------
    scene : Scene
        From `plotter.board.scene`.
    plan : SheetPlan
        From `plan_pages`.
    printed_utc : datetime
        The time to print on it, aware.
    archives : sequence of Archive
        Map archives in order of preference.

    Returns
    -------
    Sheet
        The same input gives the same bytes.
    """
    from reportlab.pdfgen.canvas import Canvas

    layout = plan.layout
    out = io.BytesIO()
    size = (layout.width_mm * POINTS_PER_MM, layout.height_mm * POINTS_PER_MM)
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(scene.title)
    canvas.setSubject("Printed sheet: an aid to planning, not for navigation")
    # No forced scaling in the print dialogue: the scale must stay true.
    canvas.setViewerPreference("PrintScaling", "None")
    pen = Pen(canvas)
    words = word_pages(scene, layout, grid_reference)
    kinds = [
        *(["index"] if plan.index else []),
        *(f"map {page.name}".strip() for page in plan.pages),
        *("words" for _ in words),
    ]
    sources: list[str] = []
    number = 0

    def finish() -> None:
        nonlocal number
        number += 1
        _footer(pen, layout, scene, printed_utc, f"page {number} of {len(kinds)}")
        canvas.showPage()

    if plan.index is not None:
        sources += _map_page(pen, plan, SheetPage("", plan.index, {}), scene, archives, index=True)
        finish()
    for page in plan.pages:
        sources += _map_page(pen, plan, page, scene, archives)
        finish()
    for flowables in words:
        for flowable, x, y in flowables:
            flowable.drawOn(canvas, x, y)
        finish()
    canvas.save()
    return Sheet(out.getvalue(), tuple(kinds), tuple(dict.fromkeys(sources)))


def _map_page(
    pen: Pen,
    plan: SheetPlan,
    page: SheetPage,
    scene: Scene,
    archives: Sequence[Archive],
    *,
    index: bool = False,
) -> tuple[str, ...]:
    """Draw one map page; where its map comes from."""
    from reportlab.lib.utils import ImageReader

    frame, rect, k = page.frame, page.frame.rect, POINTS_PER_MM
    ground = ground_image(frame, archives)
    pen.canvas.drawImage(
        ImageReader(ground.image), rect.left * k, rect.bottom * k, rect.width * k, rect.height * k
    )
    grid = page_grid(frame)
    draw_grid(pen, frame, grid)
    named = [
        (each.x_mm, each.y_mm, square_letters(each.inside))
        for each in grid.letters
        if each.share >= _NAMED_SHARE
    ]
    draw_reports(
        pen,
        frame,
        scene,
        lambda lat, lon: grid_reference(lat, lon, 10.0),
        kept=square_name_boxes(pen, named),
        names=not index,
    )
    draw_square_names(pen, frame, named)
    if index:
        _page_outlines(pen, frame, plan.pages)
    corners = [
        (rect.left, rect.bottom), (rect.right, rect.bottom),
        (rect.right, rect.top), (rect.left, rect.top),
    ]  # fmt: skip
    pen.shape([corners], 0.4, BLACK)
    draw_figures(pen, frame, grid)
    draw_neighbours(pen, frame, page.neighbours, grid.spacing_m)
    title, north, reading, romer = plan.layout.panels
    words = _margin_words(page, scene, grid, ground.sources, index=index)
    draw_title(pen, title, words)
    draw_legend(pen, title, words.legend)
    draw_norths(pen, north, norths_of(frame, scene.norths.day))
    draw_reading(pen, reading, words)
    draw_bars(pen, plan.layout.bars, frame)
    if not index:
        draw_romer(pen, romer, frame, grid.spacing_m)
    return ground.sources


def _page_outlines(pen: Pen, frame: MapFrame, pages: Sequence[SheetPage]) -> None:
    for page in pages:
        x, y = frame.mm_of_plane(
            [page.frame.west_m, page.frame.east_m], [page.frame.south_m, page.frame.north_m]
        )
        (west, east), (south, north) = x.tolist(), y.tolist()
        ring = [(west, south), (east, south), (east, north), (west, north)]
        pen.shape([ring], 1.1, WHITE)
        pen.shape([ring], 0.5, BLACK)
        pen.text((west + east) / 2.0, (south + north) / 2.0 - 2.0, page.name, 6.0, BOLD,
                 anchor="middle", halo_mm=0.9)  # fmt: skip


def _margin_words(
    page: SheetPage,
    scene: Scene,
    grid: PageGrid,
    sources: tuple[str, ...],
    *,
    index: bool,
) -> MarginWords:
    frame = page.frame
    _, factor = frame.zone.convergence_and_scale(frame.middle)
    zones = ", ".join(zone.name for zone in grid.zones)
    lines = [f"Grid: {zones}, every {_metres(grid.spacing_m)}; datum WGS 84."]
    if len(grid.zones) > 1:
        lines.append("Each grid is drawn in its own zone: read references with the grid there.")
    lines.append(f"Grid length is {factor:.4f} of ground length at the middle; heights not used.")
    if scene.last_report_utc is not None:
        last = f"Last report {scene.last_report_utc:%Y-%m-%d %H:%M} UTC"
        lines.append(f"{last}; ages count from {scene.as_at_utc:%H:%M}.")
    if scene.outside:
        lines.append(f"{scene.outside} latest positions lie far outside: see the list.")
    if index:
        sheet, example = "Index of sheets", ""
    else:
        sheet, example = f"Sheet {page.name}" if page.name else "", _example(frame, scene)
    names = [_unbroken(square_letters(each.inside)) for each in grid.letters]
    listed = f": {', '.join(names)}" if len(names) <= _MOST_LISTED else ""
    square = (
        f"Before the figures say zone and square, here {names[0]}."
        if len(names) == 1
        else f"Before the figures say zone and square as they stand on the map{listed}."
    )
    dated = (
        []
        if sources and sources[-1].startswith("Land outline") and len(sources) == 1
        else [_MAP_DATE]
    )
    if len(grid.zones) > 1:
        square += " Where a boundary cuts the line before the point off, count back from the next."
    return MarginWords(
        scene.title,
        sheet,
        f"1 : {_grouped(frame.denominator)}",
        tuple(lines),
        example,
        square,
        (*sources, *dated),
        legend_of(scene),
    )


def _grouped(denominator: float) -> str:
    """Write a scale's denominator in groups of three."""
    return f"{denominator:,.0f}".replace(",", " ")


def _example(frame: MapFrame, scene: Scene) -> str:
    for answer in scene.answers:
        if not answer.sector and frame.holds(*frame.path([answer.best])[0]):
            where = _unbroken(grid_reference(*answer.best, 10.0))
            return f"Example: the best point of {answer.subject} is {where} (to 10 m)."
    middle = frame.middle
    where = _unbroken(grid_reference(middle.lat_deg, middle.lon_deg, 10.0))
    return f"Example: the middle of this map is {where} (to 10 m)."


def _unbroken(words: str) -> str:
    """Keep a reference on one line."""
    return words.replace(" ", "\u00a0")


def _metres(length_m: float) -> str:
    return f"{length_m / 1000.0:g} km" if length_m >= 1000.0 else f"{length_m:g} m"


def _footer(pen: Pen, layout: Layout, scene: Scene, printed_utc: datetime, page: str) -> None:
    age = age_in_words(scene.last_report_utc, printed_utc)
    since = f"; age of the last report: {age}" if age else ""
    words = f"Printed {printed_utc:%Y-%m-%d %H:%M} UTC{since}"
    y = layout.text.bottom - 2.4
    pen.text(layout.text.left, y, words, 2.1, PLAIN, GREY)
    pen.text(layout.text.right, y, page, 2.1, BOLD, GREY, anchor="end")
