"""From a log's state to a handover: what is open, where everyone is, what each fix rests on."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Final

from plotter.board.words import age_in_words, length_in_words
from plotter.fix import Fix
from plotter.fix.wording import area_words, percent_words, shape_name
from plotter.handover.fix_history import fix_history, grouped_reference
from plotter.handover.values import Handover, Table
from plotter.log.events.event import Event
from plotter.log.events.names import short_names
from plotter.log.events.state import Line, State
from plotter.log.incident import open_questions, picture_of_state
from plotter.reports.evidence import fixes
from plotter.reports.report import BearingReport, Picture, PositionReport

__all__ = ["handover_of"]

_AS_GOOD_AS_WRONG: Final = 0.5
_CAUTIONS: Final = (
    "An aid to planning. Positions are as reported: read back before committing people.",
    "Not for navigation. Local rules and the authority in charge come first.",
)


def handover_of(
    state: State, *, title: str, made_utc: dt.datetime, damage: Sequence[str] = ()
) -> Handover:
    """Collect a handover.

    Parameters
    ----------
    state : State
        Of the log, for now or for a time.
    title : str
        Of the incident, unless the log names it.
    made_utc : datetime
        Now, aware; ages count to it, or to the state's own time.
    damage : sequence of str
        What of the log is damaged, in words.
    """
    picture = picture_of_state(state, title=title)
    names = short_names(state.events)
    found, failed = fixes(picture)
    now = state.time_utc or made_utc
    return Handover(
        picture.title or title,
        made_utc,
        tuple(_first_words(state, picture, failed, damage)),
        (
            _questions(state, picture, names),
            _unconfirmed(state, names),
            _positions(picture, names, state, now),
            _fixes(found),
            _doubtful(picture, found),
            fix_history(state),
            _searched(state, names),
            _communications(state, names),
        ),
        _CAUTIONS,
    )


def _first_words(
    state: State, picture: Picture, failed: dict[str, str], damage: Sequence[str]
) -> Iterator[str]:
    desks = sorted({event.desk for event in state.events})
    if state.events:
        first, last = state.events[0].entered_utc, state.events[-1].entered_utc
        yield (
            f"{len(state.events)} entries by {', '.join(desks)}, from {_day(first)} to "
            f"{_day(last)}. All times are UTC."
        )
    else:
        yield "Nothing was written down yet. All times are UTC."
    if state.time_utc is not None:
        yield f"As it was known at {_day(state.time_utc)}."
    shifts = [event for event in state.events if event.kind == "shift"]
    if shifts:
        yield f"Last change of shift {_day(shifts[-1].when_utc)}: {shifts[-1].text}"
    for words in damage:
        yield f"Damaged: {words}"
    for line in state.conflicts:
        yield f"Desks corrected differently what {line.first.sender} said: {line.first.text!r}."
    if state.contradictions:
        yield f"{len(state.contradictions)} entries were changed after they were written."
    if picture.unread:
        count = len(picture.unread)
        reports = "1 report" if count == 1 else f"{count} reports"
        yield f"{reports} could not be read: see the questions."
    for name, why in failed.items():
        yield f"{name}: no fix: {why}"


def _questions(state: State, picture: Picture, names: dict[str, str]) -> Table:
    by_name = {names[line.first.hash]: line for line in state.lines}
    rows = []
    for name, question in open_questions(state, picture):
        line = by_name.get(name)
        said = line.first if line else None
        rows.append((name, said.sender if said else "", question, said.text if said else ""))
    return Table(
        "Open questions", ("No.", "Ask", "What", "About the words"), (0.07, 0.15, 0.45, 0.33),
        tuple(rows),
    )  # fmt: skip


def _unconfirmed(state: State, names: dict[str, str]) -> Table:
    rows = tuple(
        (names[line.first.hash], _day(line.current.when_utc), line.current.sender,
         line.current.subject, line.current.text)
        for line in state.lines
        if line.first.kind in {"report", "place", "area", "searched"}
        and not (line.confirmed or line.withdrawn)
    )  # fmt: skip
    return Table(
        "Not read back and confirmed", ("No.", "UTC", "From", "About", "As heard"),
        (0.07, 0.15, 0.15, 0.15, 0.48), rows,
    )  # fmt: skip


def _positions(picture: Picture, names: dict[str, str], state: State, now: dt.datetime) -> Table:
    latest: dict[str, PositionReport] = {}
    for report in picture.positions:
        latest[report.name.casefold()] = report
    confirmed = {names[line.first.hash] for line in state.lines if line.confirmed}
    rows = []
    for report in sorted(latest.values(), key=lambda each: (each.role, each.name.casefold())):
        square = report.reading.square
        doubt = " ?" if report.questions else ""
        told = "confirmed" if report.said.name in confirmed else "not confirmed"
        rows.append(
            (
                f"{report.name}{doubt}",
                report.role,
                grouped_reference(square.centre, square.size_m),
                length_in_words(square.size_m),
                _day(report.said.time_utc) if report.said.time_utc else "",
                age_in_words(report.said.time_utc, now),
                told,
            )
        )
    return Table(
        "Latest positions",
        ("Who or what", "As", "MGRS", "Square", "UTC", "Age", "Read back"),
        (0.22, 0.09, 0.23, 0.09, 0.15, 0.10, 0.12), tuple(rows),
    )  # fmt: skip


def _fixes(found: Sequence[tuple[str, Fix]]) -> Table:
    rows = []
    for name, fix in found:
        where = shape_name(fix.shape) if fix.sector else grouped_reference(fix.best, 10.0)
        area = area_words(fix.regions[-1].area_km2)
        rows.append((name, where, area, " ".join(fix.findings)))
    return Table(
        "Fixes", ("Of", "Best point", "95 % region", "What to know"), (0.14, 0.2, 0.1, 0.56),
        tuple(rows), "Nothing to compute a fix from.",
    )  # fmt: skip


def _doubtful(picture: Picture, found: Sequence[tuple[str, Fix]]) -> Table:
    rows = []
    by_subject = dict(found)
    seen: dict[str, list[BearingReport]] = {}
    for report in picture.bearings:
        seen.setdefault(report.name.casefold(), []).append(report)
    for reports in seen.values():
        fix = next(
            (each for name, each in by_subject.items()
             if name.casefold() == reports[0].name.casefold()), None,
        )  # fmt: skip
        verdicts = fix.bearings if fix and len(fix.bearings) == len(reports) else ()
        for k, report in enumerate(reports):
            why = []
            if report.north is None:
                why.append("north not stated")
            if verdicts and verdicts[k].p_good < _AS_GOOD_AS_WRONG:
                verdict = verdicts[k]
                back = verdict.p_reciprocal > verdict.p_gross
                looks = "looks like the reciprocal" if back else "does not fit the others"
                why.append(f"{looks}: {percent_words(verdict.p_good)} that it is right")
            if why:
                time = _day(report.said.time_utc) if report.said.time_utc else ""
                rows.append((report.said.name, time, report.said.sender, report.name,
                             report.said.text, "; ".join(why)))  # fmt: skip
    return Table(
        "Doubtful bearings", ("No.", "UTC", "From", "To", "As heard", "Why"),
        (0.07, 0.15, 0.14, 0.14, 0.27, 0.23), tuple(rows),
    )  # fmt: skip


def _searched(state: State, names: dict[str, str]) -> Table:
    rows = tuple(
        (names[line.first.hash], _day(line.current.when_utc), line.current.sender,
         line.current.subject or "everything", line.current.text)
        for line in state.lines
        if line.first.kind == "searched" and not line.withdrawn
    )  # fmt: skip
    return Table(
        "Ground searched, ruled out or likely", ("No.", "UTC", "From", "For", "As heard"),
        (0.07, 0.15, 0.15, 0.15, 0.48), rows,
    )  # fmt: skip


def _communications(state: State, names: dict[str, str]) -> Table:
    lines = {event.hash: line for line in state.lines for event in (line.first, *line.versions)}
    by_id = {event.id: names[event.hash] for event in state.events}
    rows = tuple(_said_row(event, names, by_id, lines.get(event.hash)) for event in state.events)
    return Table(
        "Communications log",
        ("No.", "Said", "Entered", "From", "To", "About", "Channel", "Message as heard",
         "Taken as, action", "By"),
        (0.06, 0.1, 0.1, 0.1, 0.07, 0.09, 0.07, 0.21, 0.14, 0.06), rows, "Nothing yet.",
    )  # fmt: skip


def _said_row(
    event: Event, names: dict[str, str], by_id: dict[str, str], line: Line | None
) -> tuple[str, ...]:
    taken = [event.reading.text] if event.reading else []
    if event.kind not in {"report", "note"}:
        taken.insert(0, event.kind)
    if event.refers_to:
        taken.append(f"of {', '.join(by_id.get(each, 'another log') for each in event.refers_to)}")
    if event.assumed:
        taken.append(f"assumed: {'; '.join(event.assumed)}")
    if event.problem:
        taken.append(f"not read: {event.problem}")
    if line is not None and line.first is event:
        if line.withdrawn:
            taken.append("withdrawn later")
        elif line.current is not event:
            taken.append("corrected later")
        elif line.confirmed:
            taken.append("confirmed")
    said = _day(event.said_utc) if event.said_utc else ""
    return (
        names[event.hash], said, _day(event.entered_utc), event.sender, event.desk, event.subject,
        event.channel, event.text, "; ".join(taken), event.operator,
    )  # fmt: skip


def _day(time: dt.datetime) -> str:
    return f"{time.astimezone(dt.UTC):%Y-%m-%d %H:%M}"
