import base64
import itertools
import json
import re
import subprocess
import sys
import zlib
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from board_examples import (
    DAY,
    NOW,
    bearing,
    example_fix,
    example_picture,
    formats_stand_in,
    position,
    said,
)

from plotter.board import build_board, refuse_network, scene
from plotter.board.data import CAUTIONS, json_for_script, packed_path
from plotter.board.page import _SCRIPTS
from plotter.board.report_columns import KINDS, ROLES
from plotter.geodesy.position import Position
from plotter.reports.report import NoteReport, Picture

HOSTILE = {
    "markup": "<script>alert(1)</script><img src=x onerror=alert(2)>",
    "end of script": "</script><script>alert(3)</script>",
    "comment": "<!--<script>",
    "attribute": "\" onmouseover=\"alert(4)' x='",
    "entity": "&lt;b&gt; &amp; &#x3c;",
    "template": "{{ 7*7 }} {% raw %} ${7*7}",
    "bidi": "grid \u202e54321\u202c \u2066left",
    "control": "a\x00b\x07c\x1b[31m\r\nd",
    "line separators": "one\u2028two\u2029three",
    "lone half": "\ud800 alone",
    "long": "x" * 20_000,
    "marks": "e" + "\u0301" * 500,
}


class _Page(HTMLParser):
    """Reads a page back: its data blocks, its elements and its texts outside scripts."""

    def __init__(self, html):
        super().__init__()
        self.blocks, self.elements, self.text = {}, [], ""
        self._block = None
        self._silent = False
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.elements.append((tag, given))
        self._silent = tag in {"script", "style"}
        if given.get("type") == "application/json":
            self._block = given["id"]
            self.blocks[self._block] = ""

    def handle_endtag(self, _tag):
        self._block, self._silent = None, False

    def handle_data(self, data):
        if self._block:
            self.blocks[self._block] += data
        elif not self._silent:
            self.text += data


def read(html):
    page = _Page(html)
    return {name: json.loads(text) for name, text in page.blocks.items()}, page


def unpack(steps, start=(0, 0)):
    lat, lon = start
    found = []
    for i in range(0, len(steps), 2):
        lat, lon = lat + steps[i], lon + steps[i + 1]
        found.append((lat / 1e6, lon / 1e6))
    return found


def near(path):
    """Within the rounding of whole millionths of a degree."""
    return [pytest.approx(point, abs=0.51e-6) for point in path]


def columns_in(block):
    """The packed columns, taken apart without the board's own script."""
    numbers, texts = base64.b64decode(block["numbers"]), block["texts"]
    if block["packed"]:
        numbers = zlib.decompress(numbers)
        texts = json.loads(zlib.decompress(base64.b64decode(texts)))
    found, at = {}, 0
    for name, width, count, steps in block["columns"]:
        part = [
            int.from_bytes(numbers[i : i + width], "little", signed=True)
            for i in range(at, at + width * count, width)
        ]
        found[name] = list(itertools.accumulate(part)) if steps else part
        at += width * count
    assert at == len(numbers)
    return found, texts


def test_the_embedded_data_is_the_scene(example_board, example_scene):
    blocks, _ = read(example_board.html)
    data = blocks["scene-data"]
    columns, texts = columns_in(blocks["report-data"])
    assert not blocks["report-data"]["packed"]
    check_reports(columns, texts, data["last"], example_scene)
    assert data["title"] == example_scene.title
    for sent, mark in zip(data["bearings"], example_scene.bearings, strict=True):
        assert unpack(sent["line"]) == near(mark.line)
        assert unpack(sent["wedge"]) == near(mark.wedge)
        assert (sent["label"], sent["doubtful"]) == (mark.label, mark.doubtful)
    for sent, answer in zip(data["answers"], example_scene.answers, strict=True):
        assert sent["findings"] == list(answer.findings)
        for sent_piece, piece in zip(sent["pieces"], answer.pieces, strict=True):
            assert [unpack(ring) for ring in sent_piece["rings"]] == [near(r) for r in piece.rings]


def check_reports(columns, texts, last, shown):
    for i, entry in enumerate(shown.entries):
        assert KINDS[columns["kind"][i]] == entry.kind
        assert (texts[columns["called"][i]] or str(columns["line"][i])) == entry.called
        for name in ("sender", "subject", "text", "understood"):
            assert texts[columns[name][i]] == getattr(entry, name)
        assert bool(columns["timed"][i]) == (entry.time_utc is not None)
        if entry.time_utc is not None:
            assert last - columns["time"][i] == entry.time_utc.timestamp()
        if entry.place is not None:
            assert (columns["lat"][i] / 1e6, columns["lon"][i] / 1e6) == near([entry.place])[0]
    corner = 0
    for i, mark in enumerate(shown.marks):
        entry = columns["markEntry"][i]
        assert entry == mark.entry
        assert texts[columns["markName"][i]] == mark.name
        assert ROLES[columns["markRole"][i]] == mark.role
        assert bool(columns["markFlags"][i] & 1) == mark.doubtful
        after = corner + columns["corners"][i]
        square = [
            ((columns["lat"][entry] + up) / 1e6, (columns["lon"][entry] + across) / 1e6)
            for up, across in zip(
                columns["cornerLat"][corner:after], columns["cornerLon"][corner:after], strict=True
            )
        ]
        assert square == near(mark.square)
        corner = after


def test_a_large_board_is_compressed_and_loses_nothing():
    notes = tuple(
        NoteReport(
            said(100 + i, None if i % 7 == 0 else i % 300, f"Team {i % 40}", f"word {i} ü" * 8)
        )
        for i in range(12_000)
    )
    picture = replace(example_picture(), notes=notes)
    shown = scene(picture, [], date=DAY, now_utc=NOW, all_formats=formats_stand_in)
    blocks, _ = read(build_board(shown).html)
    assert blocks["report-data"]["packed"]
    check_reports(*columns_in(blocks["report-data"]), blocks["scene-data"]["last"], shown)


def test_the_same_input_gives_the_same_bytes(example_board, example_scene):
    assert build_board(example_scene).html == example_board.html


def test_another_process_gives_the_same_bytes(tmp_path, example_board):
    # A different hash seed would show any order that hangs on sets.
    code = (
        "import sys; sys.path[:0] = ['tests/board', '.']\n"
        "from board_examples import *\n"
        "from plotter.board import build_board, scene\n"
        "made = scene(example_picture(), [('Whistle', example_fix())], date=DAY, now_utc=NOW,\n"
        "             all_formats=formats_stand_in)\n"
        "open(sys.argv[1], 'w', encoding='utf-8', newline='').write(build_board(made).html)\n"
    )
    out = tmp_path / "again.html"
    subprocess.run(
        [sys.executable, "-c", code, str(out)],
        check=True,
        env={"PYTHONHASHSEED": "77", "PATH": ""},
    )
    assert out.read_bytes() == example_board.html.encode()


def test_no_script_takes_a_name_that_another_has():
    """All share one scope: a second `var KINDS` once renamed the kinds of the reports, silently."""
    folder = files("plotter.board").joinpath("assets")
    names = [name for each in (*_SCRIPTS, "unpack.js")
             for name in declared(folder.joinpath(each).read_text("utf-8"))]  # fmt: skip
    assert len(names) > 300
    assert sorted(name for name in set(names) if names.count(name) > 1) == []


def declared(script):
    """Names that a script declares in the outermost scope: those that begin a line."""
    found = re.findall(r"^function (\w+)", script, re.MULTILINE)
    for line in re.findall(r"^var (.*)", script, re.MULTILINE):
        # Only what is outside of brackets and texts parts one name from the next.
        bare = re.sub(r'"[^"]*"|/[^/]+/', "", line)
        while bare != (bare := re.sub(r"\([^()]*\)|\[[^\[\]]*\]|\{[^{}]*\}", "", bare)):
            pass
        found += [
            part.split("=")[0].strip(" ;") for part in re.split(r"[({\[]", bare)[0].split(",")
        ]
    return found


def test_importing_the_room_loads_no_map_library():
    code = (
        "import sys, plotter.board\n"
        "print([m for m in ('folium', 'branca', 'pandas') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert told.stdout.strip() == "[]"


def test_the_policy_starts_from_nothing(example_board):
    _, page = read(example_board.html)
    first_loading = next(
        i for i, (tag, _) in enumerate(page.elements) if tag in {"script", "style", "link"}
    )
    policies = [
        (i, given["content"])
        for i, (tag, given) in enumerate(page.elements)
        if tag == "meta" and given.get("http-equiv", "").lower() == "content-security-policy"
    ]
    assert len(policies) == 1
    position, policy = policies[0]
    assert position < first_loading
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe" not in policy
    assert "img-src data:;" in policy
    for word in ("http", "*", "blob"):
        assert word not in re.sub(r"'sha256-[^']*'", "", policy)


def test_the_finished_page_passes_its_own_guard(example_board):
    refuse_network(example_board.html)


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_words_arrive_as_the_same_words_and_as_nothing_else(kind):
    text = HOSTILE[kind]
    picture = example_picture()
    note = NoteReport(said(99, 1, text, text, text))
    hostile = replace(picture, title=text, notes=(note,))
    fix = replace(example_fix(), findings=(text,))
    made = scene(
        hostile, [(text, fix)], date=DAY, now_utc=NOW, all_formats=lambda _: {"mgrs": text}
    )
    html = build_board(made).html
    html.encode("utf-8")
    blocks, page = read(html)
    assert blocks["scene-data"]["title"] == text
    assert text in blocks["report-data"]["texts"]
    assert blocks["scene-data"]["answers"][0]["findings"] == [text]
    # No element more or less than on a harmless board: nothing became markup.
    _, harmless = read(build_board(scene(picture, date=DAY, all_formats=lambda _: {})).html)
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in harmless.elements]
    assert "alert" not in re.sub(r"<title>.*?</title>", "", html.split("scene-data")[0])


def test_json_in_a_script_cannot_end_it():
    text = json_for_script(["</script>", "<!--", "&amp;", "\u2028\u2029", "\x00", "é"])
    assert not set("<>&\u2028\u2029\x00é") & set(text)
    assert json.loads(text) == ["</script>", "<!--", "&amp;", "\u2028\u2029", "\x00", "é"]


def test_json_refuses_what_no_browser_reads():
    with pytest.raises(ValueError, match="JSON"):
        json_for_script([float("nan")])


def test_steps_do_not_add_up_errors():
    path = [(0.1 * i / 3, -0.7 * i / 3) for i in range(1000)]
    assert unpack(packed_path(path)) == near(path)


def test_the_cautions_are_there_in_full_and_one_line_is_in_the_page_itself(example_board):
    blocks, page = read(example_board.html)
    assert blocks["scene-data"]["cautions"] == [
        "An aid to planning.",
        "Positions are as reported: read back before committing people.",
        "Not for navigation.",
        "Local rules and the authority in charge come first.",
        "Transmit only as your licence and the law allow.",
    ]
    assert " ".join(CAUTIONS[1:3]) in page.text


def test_spoken_groups_join_to_the_text(example_board):
    blocks, _ = read(example_board.html)
    for _, text, groups in blocks["scene-data"]["answers"][0]["formats"]:
        assert "".join(groups) == text
        assert len(groups) > 1


def test_a_picture_that_spans_the_world_stays_small():
    places = [Position(lat, lon) for lat in (-60.0, 0.0, 70.0) for lon in (-170.0, -40.0, 120.0)]
    spread = Picture(
        "Everywhere",
        positions=tuple(position(i, i, f"S{i}", "station", p) for i, p in enumerate(places)),
        bearings=tuple(bearing(50 + i, i, f"S{i}", p, 70.0, 5.0) for i, p in enumerate(places)),
    )
    made = scene(spread, date=DAY, all_formats=formats_stand_in)
    assert len(made.bearings) == 9
    assert len(build_board(made).html) < 600_000


def test_an_empty_picture_makes_a_board():
    made = scene(Picture(""), date=DAY, all_formats=formats_stand_in)
    blocks, _ = read(build_board(made).html)
    assert columns_in(blocks["report-data"])[0]["line"] == []


def test_no_asset_writes_markup_or_asks_the_network():
    from importlib.resources import files

    for asset in files("plotter.board").joinpath("assets").iterdir():
        if asset.name.endswith(".js"):
            code = asset.read_text("utf-8")
            for word in (
                "innerHTML",
                "outerHTML",
                "insertAdjacent",
                "document.write",
                "eval(",
                "new Function",
                "fetch(",
                "XMLHttpRequest",
                "WebSocket",
                "import(",
            ):
                assert word not in code, f"{asset.name} uses {word}"  # fmt: skip
            assert len(code.splitlines()) <= 300
