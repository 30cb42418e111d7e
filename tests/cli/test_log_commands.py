"""`plotter log` as a person in a hurry types it, and as a script calls it."""

import io
import json
import re
import sys
from types import SimpleNamespace

import pytest
from log_examples import NINE, Ids, minutes, report

from plotter.cli import main
from plotter.cli.log import _COMMANDS
from plotter.exchange.reports_csv import read_reports
from plotter.log.events import Entry
from plotter.log.store import new_log, open_log

REPORTS = """time_utc,sender,subject,report
2026-03-14T09:00Z,Desk,,area 60 km around 47.0N 8.0E
09:01,Desk,chapel,place 47.02N 8.05E
09:02,Team 1,,47.00N 7.90E
09:03,Team 2,,46.95N 8.05E
09:04,Team 1,weak station,bearing 88 true ± 5
09:05,Team 2,weak station,bearing 325 true ± 5
09:06,Team 3,weak station,bearing 240 magnetic from the chapel
"""


@pytest.fixture
def run(capsys, monkeypatch, tmp_path):
    """Call the command line in an empty folder; status, stdout and stderr."""
    monkeypatch.chdir(tmp_path)
    for name in ("DESK", "OPERATOR", "CHANNEL"):
        monkeypatch.delenv(f"PLOTTER_{name}", raising=False)

    def call(*arguments, stdin=None):
        if stdin is not None:
            data = stdin if isinstance(stdin, bytes) else stdin.encode()
            stream = SimpleNamespace(buffer=io.BytesIO(data), isatty=lambda: False)
            monkeypatch.setattr(sys, "stdin", stream)
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


@pytest.fixture
def log(run):
    """A new log with an area and a place, and the command line to call about it."""
    assert run("log", "new", "storm.log", "--title", "Storm", "--desk", "Base")[0] == 0
    run("log", "add", "storm.log", "area 60 km around 47.0N 8.0E")
    run("log", "add", "storm.log", "--about", "chapel", "place 47.02N 8.05E")

    def call(subcommand, *arguments, **named):
        return run("log", subcommand, "storm.log", *arguments, **named)

    return call


@pytest.mark.parametrize("name", _COMMANDS)
def test_every_command_has_help_and_is_in_the_readme(run, repository, name):
    status, out, _ = run("log", name, "--help")
    assert status == 0
    assert len(out.splitlines()) > 4
    assert f"plotter log {name}" in (repository / "README.md").read_text(encoding="utf-8")


def test_new_says_what_to_do_next(run):
    status, out, err = run("log", "new", "storm.log")
    assert (status, out) == (0, "storm.log\n")
    assert "plotter log add storm.log --from 'Ridge team' 27H UT" in err
    status, out, err = run("log", "new", "storm.log")
    assert (status, out) == (1, "")
    assert "exists already: nothing was changed" in err


def test_add_says_what_was_read_assumed_to_ask_and_to_say_back(log):
    status, out, err = log("add", "--from", "Ridge team", "MT", "20000", "10000")
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "3  Ridge team: MT 20000 10000"
    assert lines[1] == "  read     Ridge team: 32TMT2000010000, a square of 1 m"
    assert lines[2] == "  assumed  zone 32T, from the area of operations"
    assert lines[3].startswith("  say back tree too Tango, Mike Tango, ")
    assert "of chapel, the nearest named place" in lines[4]


def test_what_cannot_be_read_is_kept_with_status_3(log):
    status, out, _ = log("add", "--from", "Team 9", "48.2N, up the hill")
    assert status == 3
    assert "not read cannot read '48.2N, up the hill'" in out
    assert "'plotter log correct' with 3 puts it right" in out
    _, out, _ = log("list")
    assert re.search(r"3 .*Team 9: 48.2N, up the hill  \[NOT READ\]", out)


def test_add_json_contract(log):
    status, out, _ = log(
        "add", "--from", "Team 1", "--about", "boat", "--time", "2026-03-14T09:05Z", "--operator",
        "Anna", "--channel", "3", "--json", "-33.9,", "18.4",
    )  # fmt: skip
    data = json.loads(out)
    assert status == 0
    assert data["text"] == "-33.9, 18.4"
    assert data["said_utc"] == "2026-03-14T09:05:00Z"
    assert (data["name"], data["desk"], data["number"], data["kind"]) == ("3", "Base", 3, "report")
    assert (data["operator"], data["channel"], data["subject"]) == ("Anna", "3", "boat")
    assert data["read"] is True
    assert set(data["reading"]) == {"format", "text", "lat_deg", "lon_deg", "size_m"}
    assert set(data["read_back"]) == {"words", "check", "short"}
    assert any("outside the area" in asked for asked in data["ask"])
    assert re.fullmatch(r"Base-000003-[0-9a-f]{12}", data["id"])
    assert re.fullmatch(r"[0-9a-f]{64}", data["hash"])


def test_a_position_with_two_meanings_is_chosen_by_number(log):
    _, out, _ = log("add", "--from", "A", "--json", "18S 323483 4306479")
    first = json.loads(out)
    assert first["meanings"] == 2
    _, out, _ = log("add", "--from", "A", "--reading", "2", "--json", "18S 323483 4306479")
    second = json.loads(out)
    assert second["reading"]["lat_deg"] != first["reading"]["lat_deg"]
    status, _, err = log("add", "--from", "A", "--reading", "3", "18S 323483 4306479")
    assert status == 1
    assert "no meaning 3" in err
    _, out, _ = log("confirm", "3", "--reading", "2")
    _, out, _ = log("show", "3", "--json")
    shown = json.loads(out)
    assert shown["reading"]["lat_deg"] == second["reading"]["lat_deg"]
    assert shown["confirmed"] is True


def test_a_report_needs_a_sender_and_the_desk_speaks_for_itself(log):
    status, _, err = log("add", "47.0N 8.0E")
    assert status == 2
    assert "--from 'Ridge team'" in err
    status, out, _ = log("add", "note generator is running")
    assert status == 0
    assert "Base: note generator is running" in out
    status, out, _ = log("add", "--shift", "--operator", "Ben", "Ben takes over from Anna")
    assert status == 0
    assert "read     a change of shift" in out
    _, out, _ = log("list")
    assert "Ben takes over from Anna  [shift]" in out


def test_lines_of_a_report_file_on_stdin(log):
    text = REPORTS + '25:99,Team 4,,47N 8E\n09:08,,,47N 8E\n09:09,Team 5,,"48.2N, up the hill"\n'
    status, out, err = log("add", stdin=text)
    assert status == 3
    assert "3 of 10 were kept and not read" in err
    _, out, _ = log("list", "--json")
    entries = json.loads(out)["entries"]
    assert len(entries) == 12
    assert sum(not each["read"] for each in entries) == 3
    assert entries[2]["source"] == {"file": "stdin", "line": 2}
    assert entries[2]["said_utc"] == "2026-03-14T09:00:00Z"


def test_json_lines_on_stdin(log):
    lines = [
        {"sender": "Team 1", "text": "47.0N 7.9E", "said_utc": "2026-03-14T09:02:00Z"},
        {"sender": "Team 2", "subject": "boat", "text": "47.1N 8.1E", "channel": "5"},
        {"text": "47.1N 8.1E"},
        {"sender": "Team 2", "text": "47.1N 8.1E", "said_utc": "2026-03-14T09:02:00"},
        {"sender": "Team 2", "text": 5},
    ]
    text = "\n".join([*(json.dumps(line) for line in lines), "{broken", "", "[]"])
    status, out, _ = log("add", "--json", stdin=text)
    assert status == 3
    added = json.loads(out)["added"]
    assert [each["read"] for each in added] == [True, True] + [False] * 5
    assert added[1]["channel"] == "5"
    assert "does not say its zone" in added[3]["why_not"]
    assert added[5]["text"] == "{broken"
    status, _, err = log("add", stdin="")
    assert status == 1
    assert "nothing came in" in err


def test_bytes_that_are_no_utf8_are_kept(log):
    text = REPORTS.replace("± 5\n09:05", "± 5 from the café\n09:05").encode("cp1252")
    log("add", stdin=text)
    _, out, _ = log("list")
    assert "± 5 from the café" in out


def test_a_report_file_is_added_with_its_lines(log, tmp_path):
    (tmp_path / "reports.csv").write_text(REPORTS, encoding="utf-8")
    status, _, _ = log("add", "--file", "reports.csv", "--channel", "sheet")
    assert status == 0
    _, out, _ = log("show", "5")
    assert "from reports.csv, line 4" in out
    assert "on sheet" in out


def test_correct_confirm_and_withdraw(log):
    log("add", "--from", "Team 1", "--about", "signal", "--time", "2026-03-14T09:05Z", "bearing 45")
    status, out, _ = log("correct", "3", "bearing", "45", "magnetic", "from", "the", "chapel")
    assert status == 0
    assert "signal: bearing 045° magnetic" in out
    status, out, _ = log("confirm", "3", "roger")
    assert status == 0
    assert "[corrected; confirmed]" in out
    status, out, _ = log("withdraw", "3", "wrong station")
    assert "[WITHDRAWN" in out
    _, out, _ = log("list", "--open")
    assert "signal" not in out
    status, out, _ = log("correct", "3", "--from", "Team 2")
    assert "Team 2: bearing 45" in out
    _, out, _ = log("show", "3")
    kinds = re.findall(r"^\d+  (\w+)  ", out, re.MULTILINE)
    assert kinds == ["report", "correction", "confirmation", "withdrawal", "correction"]
    assert "  of 3\n" in out
    _, out, _ = log("show", "3", "--json")
    data = json.loads(out)
    assert data["first_text"] == "bearing 45"
    assert data["said_utc"] == "2026-03-14T09:05:00Z"  # kept where a correction does not say
    assert [event["kind"] for event in data["events"]] == kinds


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (("show", "99"), 1, "no event is called '99'"),
        (("correct", "2"), 2, "say what it should have been"),
        (("at", "noon"), 2, "expected a UTC time such as 14:05"),
        (("at", "2026-03-14T14:20"), 2, "put Z after it if it is UTC"),
        (("add", "--time", "25:00", "--from", "A", "x"), 2, "no time of day"),
        (("add", "--form", "A", "--from", "B", "47N 8E"), 2, "No such option"),
        (("correct", "2", "--form", "A", "47N 8E"), 2, "No such option"),
    ],
)
def test_errors_say_what_to_do(log, arguments, status, message):
    found, out, err = log(*arguments)
    assert (found, out) == (status, "")
    assert message in err


def test_commands_about_a_log_that_is_not_there(run):
    for name in ("add", "list", "check", "export"):
        status, _, err = run("log", name, "absent.log", *(["note x"] if name == "add" else []))
        assert status == 1
        assert "no log at 'absent.log': make one with 'plotter log new'" in err


def test_what_was_believed_at_a_time(run, tmp_path):
    with new_log(tmp_path / "storm.log", title="Storm", made_utc=NINE, desk="Base") as log:
        ids = Ids()
        (first,) = log.append(
            [report("47.0N 8.0E")], desk="Base", entered_utc=minutes(0), random_part=ids
        )
        change = Entry("correction", "47.1N 8.0E", sender="Team 1", refers_to=(first.id,))
        log.append([change], desk="Base", entered_utc=minutes(20), random_part=ids)
        log.append(
            [report("48.2N, up the hill")], desk="Base", entered_utc=minutes(30), random_part=ids
        )
    _, out, _ = run("log", "at", "storm.log", "2026-03-14T09:19Z")
    assert "Storm at 2026-03-14 09:19:00Z: 1 entries" in out
    assert "47.0N 8.0E" in out
    assert "47.1N" not in out
    _, out, _ = run("log", "at", "storm.log", "2026-03-14T09:30Z")
    assert "47.1N 8.0E  [corrected]" in out
    assert "To ask:\n  3: cannot read '48.2N, up the hill'" in out
    _, out, _ = run("log", "at", "storm.log", "2026-03-14T09:20Z", "--json")
    data = json.loads(out)
    assert [each["text"] for each in data["entries"]] == ["47.1N 8.0E"]
    assert data["open_questions"] == []


def test_two_desks_meet(run, tmp_path):
    run("log", "new", "a.log", "--desk", "Base")
    run("log", "add", "a.log", "--from", "Team 1", "47.0N 8.0E")
    (tmp_path / "b.log").write_bytes((tmp_path / "a.log").read_bytes())
    run("log", "correct", "a.log", "1", "47.1N 8.0E")
    run("log", "correct", "b.log", "1", "47.2N 8.0E", "--desk", "Harbour")
    status, out, _ = run("log", "merge", "a.log", "b.log", "-o", "both.log")
    assert status == 0
    assert "3 events in both.log, 3 of them new there" in out
    assert "[CONFLICT: Base-2, Harbour-1]" in out
    run("log", "merge", "b.log", "a.log", "-o", "other.log")
    _, one, _ = run("log", "list", "both.log", "--json")
    _, two, _ = run("log", "list", "other.log", "--json")
    assert one == two
    _, out, _ = run("log", "merge", "a.log", "b.log", "--json")
    assert json.loads(out) == {
        "file": "a.log", "events": 3, "added": 1, "conflicts": ["Base-1"], "contradictions": [],
    }  # fmt: skip
    _, _, err = run("log", "correct", "a.log", "base-1", "47.3N 8.0E")
    assert "settles what 2 desks had said differently" in err
    _, out, _ = run("log", "list", "a.log")
    assert "CONFLICT" not in out
    assert "47.3N 8.0E  [corrected]" in out


def test_a_copy_on_another_machine_is_another_desk(run, monkeypatch):
    run("log", "new", "a.log", "--desk", "Base")
    monkeypatch.setattr("platform.node", lambda: "quay.local")
    _, out, _ = run("log", "add", "a.log", "note x", "--json")
    assert json.loads(out)["desk"] == "quay"


def test_check_and_rescue(log, run, tmp_path):
    log("add", "--from", "Team 1", "47.0N 8.0E")
    status, out, _ = log("check")
    assert (status, out) == (0, "3 events, each with the right hash\nsound\n")
    path = tmp_path / "storm.log"
    path.write_bytes(path.read_bytes().replace(b"\t47.0N 8.0E", b"\t47.0N 9.0E"))
    (tmp_path / "storm.log.copy").unlink()
    status, out, _ = log("check")
    assert status == 3
    assert (
        "WRONG  Base-3: its bytes do not agree with its hash: '47.0N 9.0E' is what is left" in out
    )
    assert "plotter log rescue storm.log -o NEW" in out
    status, out, err = log("list")
    assert status == 0
    assert "damaged: Base-3" in err
    assert "chapel" in out
    status, out, _ = log("rescue", "-o", "new.log")
    assert status == 3
    assert "2 events saved into new.log" in out
    assert "1 damaged records are kept" in out
    status, out, _ = run("log", "check", "new.log", "--json")
    assert status == 3
    assert json.loads(out)["events"] == 2
    status, _, err = log("rescue", "-o", "new.log")
    assert status == 1
    assert "exists already" in err


def test_check_of_a_file_cut_short_and_rescue_from_the_copy(log, run, tmp_path):
    for i in range(40):
        log("add", f"note number {i}")
    path = tmp_path / "storm.log"
    path.write_bytes(path.read_bytes()[:9_000])
    status, out, _ = log("check", "--json")
    assert status == 3
    assert json.loads(out)["events"] == 42
    status, out, err = log("add", "note more")
    assert status == 1
    assert "plotter log rescue" in err
    status, out, _ = log("rescue", "-o", "new.log")
    assert (status, out) == (0, "42 events saved into new.log\n")
    status, _, _ = run("log", "check", "new.log")
    assert status == 0
    assert run("log", "add", "new.log", "note more")[0] == 0


def test_a_clock_that_went_back_is_said(log, tmp_path):
    with open_log(tmp_path / "storm.log") as opened:
        ahead = opened.read().events[-1].entered_utc.replace(year=2099)
        opened.append([report("note x")], desk="Base", entered_utc=ahead, random_part=Ids())
    status, out, err = log("add", "note y")
    assert status == 0
    assert "before the last entry (2099-" in err
    assert "4  Base: note y" in out
    status, out, _ = log("check")
    assert status == 0
    assert "note   Base: the clock went back" in out


@pytest.fixture
def both(run, tmp_path):
    """The same reports as a report file and as a log."""
    (tmp_path / "reports.csv").write_text(REPORTS, encoding="utf-8")
    run("log", "new", "storm.log", "--title", "reports", "--desk", "Base")
    run("log", "add", "storm.log", "--file", "reports.csv")
    return run


def test_fix_of_a_log_is_that_of_its_report_file(both):
    assert both("fix", "storm.log", "--json") == both("fix", "reports.csv", "--json")
    assert both("next", "storm.log", "--json") == both("next", "reports.csv", "--json")


def test_board_and_sheet_take_a_log(both, tmp_path):
    for name in ("storm.log", "reports.csv"):
        assert both("board", name, "-o", f"{name}.html", "--tiles", str(tmp_path))[0] == 0
        assert both("sheet", name, "-o", f"{name}.pdf", "--tiles", str(tmp_path))[0] == 0
    board = (tmp_path / "storm.log.html").read_bytes()
    assert b"weak station" in board
    assert (tmp_path / "storm.log.pdf").stat().st_size > 10_000


def test_a_withdrawn_bearing_leaves_the_fix_and_what_cannot_be_read_is_named(both):
    both("log", "add", "storm.log", "--from", "Team 9", "48.2N, up the hill")
    both("log", "withdraw", "storm.log", "7")
    status, out, err = both("fix", "storm.log", "--json")
    assert status == 3
    assert [b["sender"] for b in json.loads(out)["bearings"]] == ["Team 1", "Team 2"]
    assert "entry 8 not read: '48.2N, up the hill'" in err


def test_search_and_readback_take_a_log(both):
    assert both("search", "storm.log", "--sectors", "4")[0] == 0
    _, out, _ = both("readback", "47.0N 8.0E", "--places", "storm.log")
    assert "At chapel, the nearest named place" in out


def test_export_is_read_again_as_the_same_reports(both, tmp_path):
    both(
        "log", "add", "storm.log", "--from", "Team, 4", "--about", 'the "boat"', "47,1N 8,1E; x\ty"
    )
    both("log", "correct", "storm.log", "3", "47.01N 7.90E")
    both("log", "withdraw", "storm.log", "4", "mistake")
    status, out, _ = both("log", "export", "storm.log", "-o", "out.csv")
    assert (status, out) == (0, "out.csv\n")
    lines = read_reports(tmp_path / "out.csv").said
    _, out, _ = both("log", "export", "storm.log", "--json")
    exported = json.loads(out)["reports"]
    assert [(s.sender, s.subject, s.text) for s in lines] == [
        (e["sender"], e["subject"], e["report"]) for e in exported
    ]
    texts = [line.text for line in lines]
    assert "47.01N 7.90E" in texts
    assert "47.00N 7.90E" not in texts
    assert "note withdrawn: 46.95N 8.05E" in texts
    _, out, _ = both("log", "export", "storm.log")
    assert out == (tmp_path / "out.csv").read_text(encoding="utf-8")
    assert out.startswith("time_utc,name,sender,subject,report\n2026-03-14T09:00:00Z,1,Desk,,area")


def test_a_log_on_a_server(run, postgres):
    from postgres_server import new_database

    url = f"{new_database(postgres, 'commands')}&incident=storm"
    status, out, _ = run("log", "new", url, "--desk", "Base")
    assert (status, out) == (0, f"{url}\n")
    assert run("log", "add", url, stdin=REPORTS)[0] == 0
    assert run("log", "check", url) == (0, "7 events, each with the right hash\nsound\n", "")
    status, out, _ = run("fix", url, "--json")
    assert status == 0
    assert json.loads(out)["subject"] == "weak station"
    # To a file, for the road, and back.
    run("log", "merge", url, "-o", "road.log")
    run("log", "correct", "road.log", "3", "47.05N 7.90E", "--desk", "Road")
    _, out, _ = run("log", "merge", url, "road.log", "--json")
    assert json.loads(out)["added"] == 1


def test_reading_a_report_file_loads_no_database(tmp_path):
    import subprocess

    (tmp_path / "reports.csv").write_text(REPORTS, encoding="utf-8")
    script = (
        "import sys\n"
        "from plotter.cli import main\n"
        f"try: main(['fix', {str(tmp_path / 'reports.csv')!r}, '--json'])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('sqlalchemy', 'psycopg', 'sqlite3') if m in sys.modules])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert result.stdout.splitlines()[-1] == "[]"


def test_a_receivers_lines_come_in_on_stdin(log):
    status, out, err = log("add", "--from", "Team 1", stdin=(
        "$GPGGA,123519,4707.038,N,00831.000,E,1,08,0.9,545.4,M,46.9,M,,*40\n"
        "$GPGLL,4916.45,N,12311.12,W,225444,A,*1E\n"
    ))  # fmt: skip
    assert status == 3
    assert "Team 1" in out
    assert "47:07.038N" in out
    assert "1 of 2 were kept and not read" in err
