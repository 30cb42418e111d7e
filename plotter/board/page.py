"""A scene as one HTML file: folium's map with everything inlined, and no way out of the file."""

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

from plotter.board.data import CAUTIONS, json_for_script, scene_data
from plotter.board.drawn_map import DrawnMap
from plotter.board.embed import EmbedReport, embed_tiles, land_data
from plotter.board.evidence_data import evidence_data
from plotter.board.guard import policy_for, refuse_network
from plotter.board.heights import Heights
from plotter.board.instrument_data import instrument_data
from plotter.board.report_columns import report_columns
from plotter.board.search_data import search_data
from plotter.board.values import Scene
from plotter.tiles import Archive

if TYPE_CHECKING:
    import folium

__all__ = ["DEFAULT_TILE_BUDGET_BYTES", "Board", "build_board"]

DEFAULT_TILE_BUDGET_BYTES: Final = 6_000_000
# The page's own scripts in the order they run; they share one scope.
_SCRIPTS: Final = (
    "data.js",
    "text.js",
    "canvas.js",
    "shown.js",
    "tracks.js",
    "base.js",
    "drawn_map.js",
    "shapes.js",
    "times.js",
    "answers.js",
    "reports.js",
    "evidence.js",
    "labels.js",
    "panel.js",
    "text_size.js",
    "listening.js",
    "search.js",
    "list.js",
    "key.js",
    "geodesic.js",
    "grids_of_place.js",
    "read_angles.js",
    "read_mgrs.js",
    "read_positions.js",
    "geodesic_path.js",
    "tools.js",
    "place_words.js",
    "grid_zones.js",
    "grid_lines.js",
    "grid_degrees.js",
    "grid_view.js",
    "grid.js",
    "long_press.js",
    "heights.js",
    "readout.js",
    "position_tool.js",
    "find.js",
    "measure.js",
    "take_away.js",
    "draw.js",
    "time_tool.js",
    "start.js",
    "print.js",
)
_MAP_NAME: Final = "board"
_TILE_MARGIN: Final = 0.1
_POLICY: Final = "content-security-policy-goes-here"


@dataclass(frozen=True, slots=True)
class Board:
    """A finished board.

    Parameters
    ----------
    html : str
        The page; write it as UTF-8.
    report : EmbedReport
        Which map tiles it carries and which it does not.
    """

    html: str
    report: EmbedReport


def build_board(
    scene: Scene,
    *,
    archives: Sequence[Archive] = (),
    tile_budget_bytes: int = DEFAULT_TILE_BUDGET_BYTES,
    heights: Heights | None = None,
    drawn: DrawnMap | None = None,
) -> Board:
    """Build the board: one HTML file that works without a network.

    Parameters
    ----------
    scene : Scene
        What to show.
    archives : sequence of Archive
        Map archives to draw under it, in order of preference.
    tile_budget_bytes : int
        Most that map tiles may add to the file.
    heights : Heights or None
        Of the ground, for the readout; from `plotter.board.heights.heights_of`.
    drawn : DrawnMap or None
        Features that the page draws by itself; from `plotter.board.drawn_map.drawn_map`.

    Returns
    -------
    Board
        The same input gives the same bytes.

    Raises
    ------
    NetworkReference
        If anything in the page would ask the network.
    """
    area = scene.view.grown(_TILE_MARGIN)
    tiles = embed_tiles(archives, area, budget_bytes=tile_budget_bytes)
    blocks = {
        "scene-data": {
            **scene_data(scene),
            **evidence_data(scene),
            "search": scene.search and search_data(scene.search, scene.view),
            "mapWords": (
                *tiles.report.in_words(),
                *(each.in_words() for each in (heights, drawn) if each is not None),
            ),
            "credits": (*tiles.report.credits, *((drawn.credit,) if drawn else ())),
        },
        "report-data": report_columns(
            scene.entries,
            scene.marks,
            None if scene.last_report_utc is None else scene.last_report_utc.timestamp(),
        ),
        "land-data": land_data(scene.view),
        "tile-data": tiles.images,
        "drawn-data": drawn.data if drawn else None,
        "height-data": heights.data if heights else None,
        "figures": instrument_data(scene.norths.day),
    }
    page = _render(scene, blocks)
    # The policy itself is in no script or style, so putting it in changes no hash.
    page = page.replace(_POLICY, html.escape(policy_for(page), quote=True), 1)
    refuse_network(page)
    return Board(page, tiles.report)


def _render(scene: Scene, blocks: dict[str, Any]) -> str:
    from branca.element import Element, Figure

    class _Verbatim(Element):
        """Text that is put in as it is; branca would read it as a template."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self._text = text

        def render(self, **_: object) -> str:
            return self._text

    figure = Figure(title=html.escape(_one_line(scene.title)) or "Board")
    parts = {
        "policy": f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        "leaflet-style": f"<style>{_leaflet_css()}</style>",
        "leaflet": f"<script>{_leaflet_js()}</script>",
        "style": f"<style>{_asset('board.css')}</style>",
    }
    for name, text in parts.items():
        figure.header.add_child(_Verbatim(text), name=name)
    figure.html.add_child(_Verbatim(_body()), name="body")
    for name, value in blocks.items():
        block = f'<script type="application/json" id="{name}">{json_for_script(value)}</script>'
        figure.html.add_child(_Verbatim(block), name=name)
    figure.html.add_child(_Verbatim(f"<script>{_script()}</script>"), name="script")
    board = _offline_map(scene)
    # Element ids are random; the same input must give the same bytes.
    board._name, board._id = _MAP_NAME, "map"  # noqa: SLF001 - no public way to name an element
    figure.add_child(board)
    return str(figure.render())


def _offline_map(scene: Scene) -> "folium.Map":
    import folium

    view = scene.view
    board = folium.Map(
        location=((view.south_deg + view.north_deg) / 2, (view.west_deg + view.east_deg) / 2),
        tiles=None,
        zoom_control=False,
        attribution_control=False,
        min_zoom=1,
        max_zoom=20,
        zoom_snap=0.5,
    )
    # By default ten remote scripts and styles; set on this map only, never on the class.
    board.default_js, board.default_css = [], []
    return board


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _body() -> str:
    caution = html.escape(" ".join(CAUTIONS[1:3]))
    return (
        '<a class="skip" href="#panel">To the answer</a>'
        '<header id="strip" aria-label="Incident"></header>'
        '<div id="readout" role="region" aria-label="Place"></div>'
        '<div id="tools" role="region" aria-label="Tools" hidden></div>'
        '<aside id="panel" aria-label="Reports and answers">'
        "<noscript>This board needs its script: allow scripts for this file.</noscript></aside>"
        f'<p id="caution">{caution}</p>'
    )


def _script() -> str:
    parts = "".join(_asset(name) for name in _SCRIPTS)
    return (
        f'document.addEventListener("DOMContentLoaded", function () {{"use strict";\n'
        f"{_asset('unpack.js')}\n"
        f'unpackReports(block("report-data"), function (reports) {{\n{parts}}});}});'
    )


@cache
def _asset(name: str) -> str:
    return files("plotter.board").joinpath("assets", name).read_text("utf-8")


@cache
def _leaflet_js() -> str:
    text = _leaflet("leaflet.js")
    return re.sub(r"//# sourceMappingURL=\S*", "", text)


@cache
def _leaflet_css() -> str:
    # Its images belong to markers and controls that a board does not use.
    return re.sub(r"[\w-]+:\s*url\([^)]*\)[^;}]*;?", "", _leaflet("leaflet.css"))


def _leaflet(name: str) -> str:
    folder = files("js_lib_leaflet").joinpath("static", "js_lib_leaflet")
    return folder.joinpath(name).read_text("utf-8")
