"""What a sheet says: findings, positions, bearings, questions, cautions; its fonts are in it."""

import re

import pypdfium2
import pytest
from sheet_examples import PRINTED, Page, scene_of, sheet_of, text_of

from plotter.board.data import CAUTIONS
from plotter.exchange.reports_csv import read_reports
from plotter.formats import reading
from plotter.formats.registry import FORMATS
from plotter.geodesy.position import Position
from plotter.reports.evidence import fixes
from plotter.reports.replay import replay
from plotter.sheet.pen import load_fonts, printable
from plotter.sheet.references import grid_reference, square_reference


@pytest.fixture(scope="module")
def demo(repository):
    from plotter.board import scene

    file = read_reports(repository / "demo_scenario" / "reports.csv")
    picture = replay(file.said, title="demo", unread=file.unread)
    found, _ = fixes(picture)
    last = picture.last_time_utc
    return scene(picture, found, date=last.date(), now_utc=last)


@pytest.fixture(scope="module")
def sheet(demo):
    made, _ = sheet_of(demo)
    return made


@pytest.fixture(scope="module")
def words(sheet):
    return " ".join(text_of(sheet.pdf))


def plain(text):
    return " ".join(text.replace("\u00a0", " ").split())


def squeezed(text):
    """Without blanks: a narrow column breaks lines inside a text."""
    return re.sub(r"\s", "", text.replace("\u00a0", ""))


def test_cautions_findings_questions_and_every_line_are_there(demo, words):
    said = squeezed(words)
    for caution in CAUTIONS:
        assert squeezed(caution) in said
    for answer in demo.answers:
        for finding in answer.findings:
            assert squeezed(finding) in said
    assert len(demo.questions) > 3
    for question in demo.questions:
        assert squeezed(question.words) in said
    for entry in demo.entries:
        assert squeezed(entry.text) in said
        assert squeezed(entry.understood) in said


def test_the_fix_is_there_in_every_format_in_groups(demo, words):
    (answer,) = (a for a in demo.answers if not a.sector)
    assert len(answer.formats) >= 4
    for spoken in answer.formats:
        assert plain(" ".join(g.strip() for g in spoken.groups)) in plain(words)


def test_times_source_date_and_scale_are_there(demo, words):
    assert f"Printed {PRINTED:%Y-%m-%d %H:%M} UTC" in words
    assert f"Last report {demo.last_report_utc:%Y-%m-%d %H:%M} UTC" in words
    assert "Natural Earth" in words
    assert "WGS 84" in words
    assert "1 : 200 000" in words
    assert demo.norths.day.isoformat() in words
    assert "must measure 100 mm" in words


def test_every_latest_position_has_a_reference_that_leads_back(demo, words):
    """Our own reader takes each printed reference to the place that was reported."""
    for mark in demo.marks:
        if not mark.latest:
            continue
        place = demo.entries[mark.entry].place
        text = square_reference(place, mark.size_m, grid_reference)
        assert squeezed(text) in squeezed(words)
        (square,) = (r.square for r in reading(text) if r.format == "mgrs")
        assert abs(square.centre.lat_deg - place[0]) * 111_000 < 0.75 * max(square.size_m, 2.0)
        assert square.size_m <= 1.01 * max(mark.size_m, 1.0)


def test_the_reference_on_the_map_is_the_one_of_the_format():
    place = Position(-38.37771, -22.41776)
    assert grid_reference(place.lat_deg, place.lon_deg, 10.0).replace(" ", "") == FORMATS[
        "mgrs"
    ].write(place, 10.0)


def test_grid_figures_are_lettered(demo):
    made, plan = sheet_of(demo, (-38.40, -22.40), denominator=25_000)
    page, rect = Page.of(made.pdf), plan.layout.map
    assert {"376", "377", "378", "379"} <= page.eastings(rect).keys()
    assert {"5747", "5748", "5749", "5750"} <= page.northings(rect).keys()
    first = squeezed(text_of(made.pdf)[0])
    for words in ("000mE", "000mN", "27HUT"):
        assert words in first


def test_pages_are_numbered(sheet):
    pages = text_of(sheet.pdf)
    assert len(pages) == len(sheet.pages)
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page


def test_all_fonts_are_embedded(sheet):
    """Every font that is used carries its file (ISO 32000-1, 9.9)."""
    raw = sheet.pdf
    descriptors = len(re.findall(rb"/Type /FontDescriptor", raw))
    assert descriptors >= 2
    assert len(re.findall(rb"/FontFile2", raw)) == descriptors
    used = re.findall(rb"/BaseFont /([A-Za-z0-9+-]+)", raw)
    # reportlab names Helvetica in every file; no page may write with it.
    assert {name for name in used if b"+" not in name} <= {b"Helvetica"}
    for page in pypdfium2.PdfDocument(raw):
        for item in page.get_objects():
            if item.type == pypdfium2.raw.FPDF_PAGEOBJ_TEXT:
                assert "Helvetica" not in font_of(item)


def font_of(item):
    import ctypes

    font = pypdfium2.raw.FPDFTextObj_GetFont(item.raw)
    buffer = ctypes.create_string_buffer(200)
    pypdfium2.raw.FPDFFont_GetBaseFontName(font, buffer, 200)
    return buffer.value.decode()


def test_signs_and_letters_print():
    load_fonts()
    assert printable("245° ± 5°, 2.1 km², 38°25′S, ½ ← é Ł ş Ж α") == (
        "245° ± 5°, 2.1 km², 38°25'S, ½ ← é Ł ş Ж α"
    )
    assert printable("水") == "?"  # said to be missing, never left out
    assert printable("a\u2009b\nc") == "a\u00a0b c"


def test_marked_up_and_long_words_do_no_harm():
    lines = [
        ("<b>Desk</b> & Co", "Rock", "place 48.2N 11.5E"),
        ("Desk", "", "note " + "unbroken" * 40 + " <para> & </td>"),
    ]
    made, _ = sheet_of(scene_of(lines, (48.2, 11.5), title="Fire & <flood>"))
    said = squeezed(" ".join(text_of(made.pdf)))
    for words in ("<b>Desk</b>&Co", "unbroken" * 40 + "<para>&</td>", "Fire&<flood>"):
        assert words in said


def test_letters_that_cannot_be_printed_are_said():
    lines = [("Desk", "Rock", "place 48.2N 11.5E"), ("Desk", "", "note 水 is high")]
    made, _ = sheet_of(scene_of(lines, (48.2, 11.5)))
    said = " ".join(text_of(made.pdf))
    assert "note ? is high" in said
    assert "Letters that the printed font lacks" in said
    plain_one, _ = sheet_of(scene_of([*lines[:1], ("Desk", "", "note which?")], (48.2, 11.5)))
    assert "printed font lacks" not in " ".join(text_of(plain_one.pdf))


def test_a_long_log_says_what_it_leaves_out():
    lines = [("Desk", "Rock", "place 48.2N 11.5E")]
    lines += [("Desk", "", f"note number {k}") for k in range(300)]
    made, _ = sheet_of(scene_of(lines, (48.2, 11.5)))
    said = " ".join(text_of(made.pdf))
    assert "note number 299" in said
    assert "51 older ones are not printed" in said


def test_the_same_input_gives_the_same_bytes(demo):
    assert sheet_of(demo)[0].pdf == sheet_of(demo)[0].pdf
