"""`plotter sheet` as it is called."""

import json

import pypdfium2
import pytest

from plotter.cli import main

REPORTS = """time_utc,sender,subject,report
2026-03-14T09:00Z,Desk,,area 25 km around 38.42S 22.35W
09:01,Desk,chapel,place 38°25.759'S 022°20.405'W
09:02,Ridge team,,27H UT 81370 48420
09:04,Ridge team,weak station,bearing 321 magnetic ± 5
"""


@pytest.fixture
def reports(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "reports.csv"
    path.write_text(REPORTS, encoding="utf-8")
    return path


def run(capsys, *words):
    with pytest.raises(SystemExit) as caught:
        main(["sheet", *map(str, words)])
    out, err = capsys.readouterr()
    return caught.value.code, out, err


def test_json_gives_pages_scale_and_bounds(reports, capsys):
    status, out, _ = run(
        capsys, reports, "-o", "out.pdf", "--at", "chapel", "--scale", "1:25 000", "--paper", "a3",
        "--json",
    )  # fmt: skip
    said = json.loads(out)
    assert status == 0
    assert said["scale"] == 25_000
    assert said["paper"] == "A3"
    assert [page["page"] for page in said["pages"]] == list(range(1, len(said["pages"]) + 1))
    page = said["pages"][0]
    assert page["grid"] == "UTM zone 27"
    # The chapel in UTM by PROJ (EPSG:32727), rounded.
    assert page["west_m"] < 383_032 < page["west_m"] + page["width_m"]
    assert page["south_m"] < 5_745_699 < page["south_m"] + page["height_m"]
    lats = [corner["lat_deg"] for corner in page["corners"]]
    assert min(lats) < -38.4293 < max(lats)
    document = pypdfium2.PdfDocument("out.pdf")
    assert len(document) == len(said["pages"])
    width, height = (v * 25.4 / 72 for v in document[0].get_size())
    assert sorted((width, height)) == pytest.approx([297.0, 420.0], abs=0.01)


def test_the_path_is_the_last_line_and_talk_goes_to_stderr(reports, capsys):
    status, out, err = run(capsys, reports, "-o", "out.pdf")
    assert (status, out) == (0, "out.pdf\n")
    assert "Print at 100 %" in err
    assert "Natural Earth" in err


def test_a_position_in_any_format_is_a_middle(reports, capsys):
    status, out, _ = run(
        capsys, reports, "-o", "out.pdf", "--at", "27H UT 80000 50000", "--json", "--scale", "10000"
    )
    page = json.loads(out)["pages"][0]
    assert status == 0
    assert page["west_m"] + page["width_m"] / 2 == pytest.approx(380_000, abs=20)


@pytest.mark.parametrize(
    ("words", "status", "quoted"),
    [
        (["--at", "nowhere hill"], 1, "'nowhere hill'"),
        (["--scale", "huge"], 2, "'huge'"),
        (["--scale", "10"], 1, "1:10"),
        (["--paper", "A9"], 2, "'A9'"),
        (["--scale", "600"], 1, "pages"),
    ],
)
def test_errors_quote_what_was_given(reports, capsys, words, status, quoted):
    code, _, err = run(capsys, reports, "-o", "out.pdf", *words)
    assert code == status
    assert quoted in err


def test_a_folder_that_is_not_there_is_said(reports, capsys):
    code, _, err = run(capsys, reports, "-o", "no/such/out.pdf")
    assert code == 1
    assert "no/such/out.pdf" in err


def test_unread_lines_give_status_3(reports, capsys):
    reports.write_text(REPORTS + "09:09,Desk,lorry,somewhere past 48.2N\n", encoding="utf-8")
    code, _, err = run(capsys, reports, "-o", "out.pdf")
    assert code == 3
    assert "somewhere past 48.2N" in err
