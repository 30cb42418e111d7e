"""The board: everything reported and computed, as one HTML file that works without a network.

`scene` decides what there is to draw and gives frozen values; `build_board` turns them into the
page. The map library is loaded when a board is built, not before.
"""

from plotter.board.embed import EmbedReport, LevelReport
from plotter.board.guard import refuse_network
from plotter.board.page import DEFAULT_TILE_BUDGET_BYTES, Board, build_board
from plotter.board.scene import scene
from plotter.board.values import Scene

__all__ = [
    "DEFAULT_TILE_BUDGET_BYTES",
    "Board",
    "EmbedReport",
    "LevelReport",
    "Scene",
    "build_board",
    "refuse_network",
    "scene",
]
