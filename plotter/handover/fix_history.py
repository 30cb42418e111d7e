"""How the fixes came to be: each one as it was known when its evidence was written down."""

import datetime as dt
from typing import Final

from plotter.board.words import length_in_words
from plotter.fix import Fix
from plotter.fix.wording import area_words, shape_name
from plotter.formats.groups import spoken_groups
from plotter.formats.reading import in_all_formats
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position
from plotter.handover.values import Table
from plotter.log.events.state import State, state_at
from plotter.log.incident import picture_of_state
from plotter.reports.evidence import cases, fixes

__all__ = ["fix_history", "grouped_reference"]

_MOST: Final = 24
_SAME_M: Final = 1.0


def fix_history(state: State) -> Table:
    """Fixes at the times at which something about their subjects was written down.

    Parameters
    ----------
    state : State
        Of the log. Of more than 24 such times the latest are shown: each is computed from what the
        log held then.
    """
    known = {name.casefold() for name in cases(picture_of_state(state))}
    times = sorted(
        {
            event.entered_utc
            for event in state.events
            if event.subject.casefold() in known or event.kind in {"correction", "withdrawal"}
        }
    )
    rows: list[tuple[str, ...]] = []
    last: dict[str, Fix] = {}
    for time in times[-_MOST:]:
        then = picture_of_state(state_at(state.events, time))
        counts = {name: len(case.evidence) for name, case in cases(then).items()}
        for name, fix in fixes(then)[0]:
            if name in last and _same(last[name], fix):
                continue
            rows.append(_row(time, name, counts.get(name, 0), fix, last.get(name)))
            last[name] = fix
    left = len(times) - _MOST
    empty = "No fix yet."
    title = "Fix history" if left <= 0 else f"Fix history, {left} earlier times left out"
    return Table(
        title, ("Known at", "Of", "Reports", "Best point", "95 % region", "Moved"),
        (0.16, 0.2, 0.09, 0.25, 0.15, 0.15), tuple(rows), empty,
    )  # fmt: skip


def grouped_reference(place: Position, size_m: float) -> str:
    """MGRS square of a place, no finer than a metre, in the groups in which it is read out.

    Examples
    --------
    >>> grouped_reference(Position(48.8582, 2.2945), 10.0)
    '31U DQ 4825 1193'
    """
    text = in_all_formats(place, max(size_m, 1.0))["mgrs"]
    return " ".join(group.strip() for group in spoken_groups(text.replace(" ", "")))


def _row(time: dt.datetime, name: str, count: int, fix: Fix, before: Fix | None) -> tuple[str, ...]:
    moved = ""
    if before is not None:
        moved = length_in_words(geodesic(before.best, fix.best).distance_m)
    where = shape_name(fix.shape) if fix.sector else grouped_reference(fix.best, 10.0)
    return (
        f"{time:%Y-%m-%d %H:%M}", name, str(count), where,
        area_words(fix.regions[-1].area_km2), moved,
    )  # fmt: skip


def _same(one: Fix, other: Fix) -> bool:
    near = geodesic(one.best, other.best).distance_m < _SAME_M
    return near and abs(one.regions[-1].area_km2 - other.regions[-1].area_km2) < 1e-6
