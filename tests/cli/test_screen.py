"""What came in from outside cannot act on a screen, and what an import left is said."""

import json
import re
import sys
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.cli import main
from plotter.saying import harmless, harmless_json, on_one_line

PACKAGE = Path(__file__).resolve().parents[2] / "plotter"
EVIL = "\x1b[2J\x1b[1;1HAll teams safe\x07 \u202egnp.exe\u2066 \u009b31m \u200b\ufeff\r\x08"


@pytest.fixture
def run(capfd, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    for name in ("DESK", "OPERATOR", "CHANNEL"):
        monkeypatch.delenv(f"PLOTTER_{name}", raising=False)

    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capfd.readouterr()
        return caught.value.code, out, err

    return call


def acting(text):
    """Characters that a screen obeys or hides: controls, formats and separators of Unicode."""
    return [c for c in text if c != "\n" and unicodedata.category(c) in {"Cc", "Cf", "Zl", "Zp"}]


@given(st.text())
def test_nothing_acts(text):
    assert acting(harmless(text)) == []
    assert acting(on_one_line(text)) == []
    assert "\n" not in on_one_line(text)
    told = json.dumps({"text": text}, ensure_ascii=False)
    assert acting(harmless_json(told)) == []
    assert json.loads(harmless_json(told)) == {"text": text}
    plain = "".join(c for c in text if c.isprintable())
    assert harmless(plain) == plain, "what can be seen stays as it is"


def test_only_one_module_prints():
    """Everything else goes through it."""
    found = [
        str(path.relative_to(PACKAGE))
        for path in (PACKAGE / "cli").rglob("*.py")
        if re.search(r"click\.(?:echo|secho)\(|(?<![\w.])print\(", path.read_text(encoding="utf-8"))
    ]
    assert sorted(found) == ["cli/echo.py", "cli/options.py"]


def test_a_packet_cannot_forge_the_screen(run, tmp_path):
    packet = f"XX0AA>APZ001:!4701.20N/00803.00E-{EVIL}"
    (tmp_path / "a.txt").write_text(f"{packet}\n{EVIL}>{EVIL}: {EVIL}\n", encoding="utf-8")
    (tmp_path / "a.json").write_text(
        json.dumps({"sender": f"A{EVIL}\nB", "text": f"note x{EVIL}\n  read     all is well"})
    )
    run("log", "new", "storm.log", "--desk", "Base")
    calls = [
        ("log", "add", "storm.log", "--file", "a.txt"),
        ("log", "add", "storm.log", "--file", "a.json"),
        ("log", "list", "storm.log"),
        ("log", "show", "storm.log", "1"),
        ("log", "at", "storm.log", "2099-01-01T00:00Z"),
        ("log", "list", "storm.log", "--json"),
        ("fix", "storm.log"),
        ("fix", "storm.log", "--json"),
        ("log", "add", "storm.log", "--file", f"no{EVIL}.gpx"),
        ("convert", f"48N {EVIL}"),
        ("log", "add", "storm.log", f"--{EVIL}"),
    ]
    for call in calls:
        _, out, err = run(*call)
        assert acting(out + err) == [], call
        assert out + err
    _, out, _ = run("log", "list", "storm.log")
    assert len(out.splitlines()) == 3, "no text begins a line of its own"
    assert "<U+001B>[2J" in out
    _, out, _ = run("log", "list", "storm.log", "--json")
    assert EVIL.strip() in json.loads(out)["entries"][0]["text"] + EVIL[-2:]


def test_an_import_ends_with_what_it_took_and_left(run, tmp_path):
    (tmp_path / "plan.kml").write_text(
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Style/><NetworkLink/><Placemark>'
        "<name>quay</name><Point><coordinates>8.05,47.02</coordinates></Point></Placemark>"
        "</Document></kml>"
    )
    run("log", "new", "storm.log", "--desk", "Base")
    _, out, err = run("log", "add", "storm.log", "--file", "plan.kml")
    assert "quay" in out
    assert err.splitlines()[-2:] == [
        "taken: named places 1", "left out: styles 1; links to other files 1",
    ]  # fmt: skip
    _, out, _ = run("log", "add", "storm.log", "--file", "plan.kml", "--json")
    data = json.loads(out)
    assert data["taken"] == {"named places": 1}
    assert data["left_out"] == {"styles": 1, "links to other files": 1}


def test_following_a_file_goes_on(run, tmp_path, monkeypatch):
    run("log", "new", "storm.log", "--desk", "Base")
    path = tmp_path / "grows.txt"

    def stop(_):
        raise KeyboardInterrupt

    monkeypatch.setattr("time.sleep", stop)
    follow = ("log", "add", "storm.log", "--follow", "grows.txt", "--from", "Team 1")
    path.write_text("note one\nnote two\n")
    _, out, _ = run(*follow)
    assert len(re.findall("^ *read", out, re.MULTILINE)) == 2
    path.write_text("note one\nnote two\nnote three\n")
    _, out, err = run(*follow)
    assert re.findall(r"note \w+", out) == ["note three"]
    assert "2 entries of grows.txt were in the log already" in err
    path.write_text("note other\n")
    _, out, err = run(*follow)
    assert "note other" in out
    assert "is not the file that was followed before" in err
    _, out, _ = run("log", "list", "storm.log")
    assert len(out.splitlines()) == 4


def test_a_screen_is_shown_a_file_and_a_program_is_given_it(monkeypatch, capfd):
    from plotter.cli.echo import echo_data

    echo_data(b"a\x1b[2J\n")
    assert capfd.readouterr().out == "a\x1b[2J\n"
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    echo_data(b"a\x1b[2J")
    assert capfd.readouterr().out == "a<U+001B>[2J\n"
