"""The handover: what it lists, that nothing is lost on page or paper, that no words are code."""

import re

import pypdfium2
import pytest
from log_examples import NINE, chain, minutes, report

from plotter.handover import handover_of, page_of
from plotter.log.events import Entry, Tip, state_at
from plotter.log.incident import understand
from plotter.sheet.handover_sheet import handover_pdf

HOSTILE = '<script>alert("x")</script> & "quoted"'


def read(entries):
    """Entries with their readings, as the log keeps them."""
    return [each.entry for each in understand(state_at([]), entries, NINE)]


@pytest.fixture
def events():
    given = [
        report("area 60 km around 47.0N 8.0E", "Desk"),
        report("place 47.02N 8.05E", "Desk", subject="chapel"),
        report("47.00N 7.90E", "Team 1", said_utc=minutes(2)),
        report("46.95N 8.05E", "Team 2", said_utc=minutes(3)),
        report("bearing 88 true ± 5", "Team 1", subject="weak station", said_utc=minutes(4)),
        report("bearing 325 true ± 5", "Team 2", subject="weak station", said_utc=minutes(5)),
        report("bearing 60 from the chapel", "Team 3", subject="weak station", channel="2"),
        report("searched 1 km around the chapel 70 %", "Team 3"),
        report(f"note {HOSTILE}", "Team 3", operator="Anna"),
        report("48.2N, up the hill", "Team 3"),
        Entry("shift", "Anna to Ben", sender="Desk"),
        report("place 47.01N 8.01E", "Desk", subject="quay"),
    ]
    first = chain("Base", *read(given))
    third = first[2].id
    more = [
        Entry("confirmation", "", sender="Team 1", refers_to=(third,)),
        Entry("correction", "46.96N 8.05E", sender="Team 2", refers_to=(first[3].id,)),
        Entry("withdrawal", "mistake", sender="Desk", refers_to=(first[11].id,)),
    ]
    return [*first, *chain("Base", *more, tip=Tip(first[-1].number, first[-1].hash), at=minutes(30),
                           start=100)]  # fmt: skip


@pytest.fixture
def handover(events):
    return handover_of(state_at(events), title="Storm", made_utc=minutes(90))


def table(handover, title):
    return next(each for each in handover.tables if each.title.startswith(title))


def test_the_communications_log_has_every_event_in_order(handover, events):
    log = table(handover, "Communications log")
    assert [row[0] for row in log.rows] == [str(k) for k in range(1, len(events) + 1)]
    assert [row[7] for row in log.rows] == [event.text for event in events]
    assert log.rows[12][8].startswith("confirmation; of 3")
    assert "confirmed" in log.rows[2][8]
    assert "corrected later" in log.rows[3][8]
    assert "withdrawn later" in log.rows[11][8]
    assert (log.rows[6][6], log.rows[8][9]) == ("2", "Anna")


def test_what_is_open(handover):
    asked = table(handover, "Open questions").rows
    assert any(row[1] == "Team 3" and "orth not stated" in row[2] for row in asked)
    assert any(row[3] == "48.2N, up the hill" for row in asked)
    names = {row[0] for row in table(handover, "Not read back").rows}
    assert {"1", "2", "4", "5", "6", "7", "8"} <= names
    assert not {"3", "9", "11", "12"} & names  # withdrawn, confirmed, a note, a change of shift


def test_positions_have_their_age_and_the_corrected_place(handover):
    rows = {row[0].rstrip(" ?"): row for row in table(handover, "Latest positions").rows}
    assert rows["Team 1"][5:] == ("1 h 28", "confirmed")
    assert rows["Team 2"][6] == "not confirmed"
    assert re.fullmatch(r"\d\dT [A-Z]{2}( \d+){2}", rows["Team 2"][2])


def test_fixes_and_their_history(handover):
    [fix] = table(handover, "Fixes").rows
    assert fix[0] == "weak station"
    history = table(handover, "Fix history").rows
    assert len(history) >= 3
    assert [int(row[2]) for row in history[:3]] == [1, 2, 3]
    assert history[0][5] == ""
    assert history[-1][4] == fix[2]
    doubtful = table(handover, "Doubtful bearings").rows
    assert any(row[2] == "Team 3" and "north not stated" in row[5] for row in doubtful)
    assert table(handover, "Ground searched").rows[0][4].startswith("searched 1 km")


def test_as_it_was_known_at_a_time(events):
    then = handover_of(state_at(events, minutes(4)), title="Storm", made_utc=minutes(90))
    assert len(table(then, "Communications log").rows) == 5
    assert any(words.startswith("As it was known at") for words in then.words)
    rows = {row[0]: row for row in table(then, "Latest positions").rows}
    assert rows["Team 1"][5] == "2 min"  # to the time asked about, not to now


def test_the_page_is_whole_and_its_words_are_no_code(handover):
    page = page_of(handover)
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "default-src 'none'" in page
    assert not re.search(r"(?:src|href)=\"(?!#)", page)
    assert page.count("<tr>") == sum(len(t.rows) + bool(t.rows) for t in handover.tables)


def test_the_paper_has_the_same_words(handover, events):
    document = pypdfium2.PdfDocument(handover_pdf(handover))
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    squeezed = re.sub(r"\s+", "", text)
    for event in events:
        assert re.sub(r"\s+", "", event.text) in squeezed
    assert f"page {len(document)} of {len(document)}" in text
    assert handover_pdf(handover) == handover_pdf(handover)


def test_an_empty_log_and_desks_that_disagree(events):
    empty = handover_of(state_at([]), title="Storm", made_utc=NINE)
    assert "Nothing was written down yet" in empty.words[0]
    assert page_of(empty)
    other = chain("Ridge", Entry("correction", "46.99N 8.05E", sender="Team 2",
                                 refers_to=(events[3].id,)), at=minutes(40))  # fmt: skip
    both = handover_of(
        state_at([*events, *other]), title="Storm", made_utc=minutes(90),
        damage=("record 7 does not match its hash",),
    )  # fmt: skip
    assert any("Desks corrected differently" in words for words in both.words)
    assert any("Damaged: record 7" in words for words in both.words)
