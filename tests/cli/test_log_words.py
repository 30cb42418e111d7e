"""Words that no terminal or page can show, and readers that fail: what was said is kept."""

import json
import subprocess
import sys

import pytest

from plotter.cli import main
from plotter.log.store import open_log


@pytest.fixture
def log(tmp_path, monkeypatch, capsys):
    """Call the command line about a new log; status, stdout and stderr."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    assert call("log", "new", "storm.log", "--desk", "Base")[0] == 0
    return call


def texts():
    with open_log("storm.log") as opened:
        return [event.text for event in opened.read().events]


def test_a_terminal_that_writes_no_utf8(log):
    """Python takes such bytes for halves of surrogate pairs."""
    status, _, _ = log("log", "add", "storm.log", "note at the caf\udce9")
    assert status == 0
    assert texts() == ["note at the café"]


@pytest.mark.usefixtures("log")
def test_halves_of_surrogate_pairs_are_kept_and_stop_nothing():
    script = (
        "import json, subprocess, sys\n"
        "line = json.dumps({'sender': 'A \\ud800', 'text': '47.0N 8.0E'})\n"
        "print(line)\n"
        "print(json.dumps({'sender': 'B', 'text': 'note \\udfff'}))\n"
    )
    lines = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True).stdout
    assert b"\\ud800" in lines
    command = "from plotter.cli import main; main()"
    for arguments, given in (
        (["log", "add", "storm.log"], lines),
        (["log", "list", "storm.log"], None),
        (["log", "show", "storm.log", "1"], None),
        (["log", "export", "storm.log"], None),
        (["log", "check", "storm.log"], None),
        (["board", "storm.log", "-o", "board.html"], None),
        (["sheet", "storm.log", "-o", "sheet.pdf"], None),
    ):
        result = subprocess.run(
            [sys.executable, "-c", command, *arguments], input=given, capture_output=True,
            check=False, env={"PYTHONIOENCODING": "ascii", "PYTHONPATH": ":".join(sys.path)},
        )  # fmt: skip
        assert result.returncode == 0, (arguments, result.stderr[-2000:])
        assert b"Traceback" not in result.stderr
    assert texts() == ["47.0N 8.0E", "note \\udfff"]


@pytest.mark.usefixtures("log")
def test_what_was_said_is_kept_where_reading_it_fails(monkeypatch):
    """A fault of ours in the reader must not cost a report."""

    def fails(*_arguments, **_named):
        raise ZeroDivisionError

    monkeypatch.setattr("plotter.cli.log.writing.understand", fails)
    with pytest.raises(ZeroDivisionError):
        main(["log", "add", "storm.log", "--from", "Team 1", "47.0N 8.0E"])
    assert texts() == ["47.0N 8.0E"]


def test_a_withdrawn_entry_is_not_confirmed(log):
    log("log", "add", "storm.log", "--from", "Team 1", "47.0N 8.0E")
    log("log", "withdraw", "storm.log", "1")
    status, _, err = log("log", "confirm", "storm.log", "1")
    assert status == 1
    assert "1 is withdrawn: 'plotter log correct' lets it stand again" in err


def test_json_of_every_command_that_looks(log):
    log("log", "add", "storm.log", "--from", "Team 1", "47.0N 8.0E")
    for arguments in (
        ("list",), ("show", "1"), ("at", "2099-01-01T00:00Z"), ("check",), ("export",),
    ):  # fmt: skip
        status, out, err = log("log", arguments[0], "storm.log", *arguments[1:], "--json")
        assert (status, err) == (0, "")
        assert json.loads(out)
