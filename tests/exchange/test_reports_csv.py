"""The report file: written by hand or by a spreadsheet, read line by line, nothing lost."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import LogError
from plotter.exchange.reports_csv import read_reports, split_reports

HEADER = "time_utc,sender,subject,report\n"


def test_plain_lines():
    found = split_reports(
        HEADER + "2026-03-14T09:00Z,Team 1,,31U DQ 48251 11932\n"
        "09:05,Team 1,signal,bearing 245 magnetic\n"
    )
    first, second = found.said
    assert first.line == 2
    assert first.time_utc == dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
    assert second.time_utc == dt.datetime(2026, 3, 14, 9, 5, tzinfo=dt.UTC)
    assert (second.sender, second.subject, second.text) == (
        "Team 1",
        "signal",
        "bearing 245 magnetic",
    )
    assert found.unread == ()


@pytest.mark.parametrize(
    ("text", "hour", "minute"),
    [
        ("2026-03-14T09:05Z", 9, 5), ("2026-03-14 09:05", 9, 5), ("2026-03-14T09:05:30Z", 9, 5),
        ("2026-03-14 0905Z", 9, 5), ("2026-03-14T09:05 UTC", 9, 5),
        ("2026-03-14T11:05+02:00", 9, 5), ("2026-03-14T05:35-03:30", 9, 5),
    ],
)  # fmt: skip
def test_times(text, hour, minute):
    (said,) = split_reports(HEADER + f"{text},Team 1,,JN58td\n").said
    assert (said.time_utc.hour, said.time_utc.minute) == (hour, minute)


def test_a_time_after_midnight_without_its_day_is_the_next_day():
    found = split_reports(HEADER + "2026-03-14T23:50Z,A,,JN58td\n00:10,A,,JN58td\n")
    assert found.said[1].time_utc == dt.datetime(2026, 3, 15, 0, 10, tzinfo=dt.UTC)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters_quotes_and_line_ends(delimiter):
    text = delimiter.join(["time_utc", "sender", "subject", "report"]) + "\r\n"
    text += delimiter.join(["2026-03-14T09:00Z", '"Team ""One"""', "", '"48.5, 2.5"']) + "\r\n"
    (said,) = split_reports(text).said
    assert (said.sender, said.text) == ('Team "One"', "48.5, 2.5")


def test_commas_in_an_unquoted_report_stay_in_it():
    (said,) = split_reports(HEADER + "2026-03-14T09:00Z,Team 1,,48.5, 2.5, over\n").said
    assert said.text == "48.5, 2.5, over"


def test_columns_in_another_order_with_one_more():
    text = "channel,report,time_utc,sender,subject\n5,JN58td,2026-03-14T09:00Z,Team 1,boat\n"
    (said,) = split_reports(text).said
    assert (said.sender, said.subject, said.text) == ("Team 1", "boat", "JN58td")


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("09:00,Team 1,,JN58td", "has no day"),
        ("yesterday,Team 1,,JN58td", "cannot read the time 'yesterday'"),
        ("2026-13-14T09:00Z,Team 1,,JN58td", "month must be in 1..12"),
        ("2026-03-14T09:75Z,Team 1,,JN58td", "minute must be in 0..59"),
        ("2026-03-14T09:00Z,,,JN58td", "no sender"),
        ("2026-03-14T09:00Z,Team 1", "2 columns instead of four"),
        ("scribble", "1 column instead of four"),
    ],
)
def test_a_bad_line_is_kept_with_its_number_and_reason(line, reason):
    found = split_reports(HEADER + f"{line}\n2026-03-14T09:00Z,Team 2,,JN58td\n")
    (unread,) = found.unread
    assert unread.said.line == 2
    assert reason in unread.reason
    assert [said.sender for said in found.said] == ["Team 2"]


def test_an_unclosed_quote_swallows_nothing():
    found = split_reports(
        HEADER + '2026-03-14T09:00Z,Team 1,,"note half a quote\n09:01,Team 2,,JN58td\n'
    )
    assert "quotation mark" in found.unread[0].reason
    assert "half a quote" in found.unread[0].said.text
    assert [said.sender for said in found.said] == ["Team 2"]


def test_a_quoted_report_may_run_over_lines():
    found = split_reports(HEADER + '2026-03-14T09:00Z,Team 1,,"note one\ntwo"\n09:01,A,,JN58td\n')
    assert [said.text for said in found.said] == ["note one\ntwo", "JN58td"]
    assert [said.line for said in found.said] == [2, 4]


def test_empty_lines_and_trailing_commas_are_nothing():
    found = split_reports(HEADER + "\n,,,\n2026-03-14T09:00Z,Team 1,,JN58td,,,\n\n")
    assert [said.text for said in found.said] == ["JN58td"]
    assert found.unread == ()


def test_bytes_of_a_spreadsheet(tmp_path):
    path = tmp_path / "reports.csv"
    path.write_bytes(b"\xef\xbb\xbf" + (HEADER + "2026-03-14T09:00Z,Zo\u00eb,,JN58td\n").encode())
    assert read_reports(path).said[0].sender == "Zo\u00eb"
    path.write_bytes((HEADER + "2026-03-14T09:00Z,Zo\u00eb,,JN58td\n").encode("cp1252"))
    assert read_reports(path).said[0].sender == "Zo\u00eb"


def test_what_is_no_report_file(tmp_path):
    with pytest.raises(LogError, match="cannot open"):
        read_reports(tmp_path / "absent.csv")
    for text in ("", "a,b,c\n1,2,3\n", "\n\n"):
        with pytest.raises(LogError, match="time_utc, sender, subject, report"):
            split_reports(text)


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\r"), max_size=200))
def test_any_text_below_the_header_loses_no_word(text):
    found = split_reports(HEADER + text)
    kept = "".join(
        f"{said.sender} {said.subject} {said.text}"
        for said in (*found.said, *(u.said for u in found.unread))
    )
    # Times are values, not words; separators, quotes and blanks are how words are told apart.
    for line in text.split("\n"):
        parts = line.replace('"', ",").split(",")
        for part in parts[1:]:
            for word in part.split():
                assert word in kept
