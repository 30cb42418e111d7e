"""Distances, watches and ground as what `assets/evidence.js` reads: JSON values only."""

from typing import Any

from plotter.board.data import packed_path
from plotter.board.evidence_values import GroundMark, Outline, RangeMark, WatchMark
from plotter.board.values import Scene

__all__ = ["evidence_data"]


def evidence_data(scene: Scene) -> dict[str, Any]:
    """Turn distances, watches and ground into what the page's script reads."""
    return {
        "ranges": [_range(mark) for mark in scene.ranges],
        "watches": [_watch(mark) for mark in scene.watches],
        "ground": [_ground(mark) for mark in scene.ground],
    }


def _outline(outline: Outline) -> list[Any]:
    return [packed_path(outline.path), outline.pole]


def _range(mark: RangeMark) -> dict[str, Any]:
    return {
        "entry": mark.entry,
        "label": mark.label,
        "observer": packed_path([mark.observer]),
        "line": _outline(mark.line),
        "band": [_outline(each) for each in mark.band],
        "doubtful": mark.doubtful,
    }


def _watch(mark: WatchMark) -> dict[str, Any]:
    return {
        "entry": mark.entry,
        "label": mark.label,
        "place": packed_path([mark.place]),
        "heard": mark.heard,
    }


def _ground(mark: GroundMark) -> dict[str, Any]:
    return {
        "entry": mark.entry,
        "label": mark.label,
        "kind": mark.kind,
        "outlines": [_outline(each) for each in mark.outlines],
        "outside": mark.outside,
        "doubtful": mark.doubtful,
    }
