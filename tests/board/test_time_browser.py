"""The slider over the reports, the pages of the list, and a board that is compressed."""

import datetime as dt
import json
from dataclasses import replace
from importlib.resources import files

import pytest
from board_examples import DAY, NOW, STATIONS, example_picture, formats_stand_in, position, said
from board_pages import ink
from playwright.sync_api import expect

from plotter.board import build_board, scene
from plotter.board.words import age_in_words
from plotter.reports.report import NoteReport, Picture

pytestmark = pytest.mark.browser


def slide(page, step):
    page.evaluate(
        "step => { const s = document.querySelector('#tool-time input'); s.value = step;"
        " s.dispatchEvent(new Event('input')); }",
        step,
    )


def open_time(page):
    page.get_by_role("button", name="Tools").click()
    page.get_by_role("button", name="Time", exact=True).click()


def test_only_what_was_said_by_then_is_shown(opened, example_board, example_scene):
    page = opened(example_board)
    last = len(example_scene.entries) - 1
    open_time(page)
    # Heron was elsewhere before: its third place is 110 minutes old, its latest 37.
    cut = next(
        i for i, e in enumerate(example_scene.entries) if e.called == "12" and e.sender == "Heron"
    )
    lat, lon = example_scene.entries[cut].place
    there = replace(STATIONS["Heron"], lat_deg=lat, lon_deg=lon)
    latest = STATIONS["Heron"]
    assert ink(page, latest, "place", 14) > 40
    slide(page, last - cut)
    assert ink(page, latest, "place", 14) == 0
    assert ink(page, there, "place", 14) > 40  # drawn as the latest now
    flag = page.locator("#strip .past")
    assert f"{cut} later reports are not shown" in flag.inner_text()
    rows = page.locator("#reports .row")
    assert rows.count() == last + 1 - cut
    assert "Heron" in rows.nth(0).inner_text()
    # The answer counts all reports: its region is not drawn beside fewer.
    assert page.locator("#tool-time").get_by_text("counts all reports").is_visible()
    flag.get_by_role("button").click()
    assert ink(page, latest, "place", 14) > 40
    assert not flag.is_visible()


def test_the_slider_goes_by_keyboard_and_says_the_time(opened, example_board, example_scene):
    page = opened(example_board)
    open_time(page)
    slider = page.locator("#tool-time input")
    assert slider.get_attribute("aria-valuetext").endswith(", the last")
    slider.focus()
    page.keyboard.press("Home")
    oldest = example_scene.entries[len(example_scene.entries) - 1]
    assert slider.get_attribute("aria-valuetext") == f"{oldest.time_utc:%Y-%m-%d %H:%M} UTC"
    page.keyboard.press("ArrowRight")
    assert page.locator("#reports .row").count() == 2
    page.get_by_role("button", name="All reports").click()
    assert slider.input_value() == slider.get_attribute("max")


def test_ages_are_in_the_words_of_the_core(chromium):
    context = chromium.new_context(offline=True)
    page = context.new_page()
    text = files("plotter.board").joinpath("assets", "shown.js").read_text("utf-8")
    words = text[text.index("function span") : text.index("function ageOf")]
    two = "function two(n) { return String(n).padStart(2, '0'); }"
    page.add_script_tag(content=two + words)
    seconds = [0, 29, 59, 60, 3599, 3600, 6000, 86_399, 86_400, 90_000, 1e6, -1, -60, -61, -4000]
    now = dt.datetime(2026, 5, 14, tzinfo=dt.UTC)
    ours = page.evaluate("all => all.map(s => ageWords(1e9 - s, 1e9))", seconds)
    assert ours == [age_in_words(now - dt.timedelta(seconds=s), now) for s in seconds]
    context.close()


def many():
    reports = tuple(
        position(
            i + 1,
            (20_000 - i) / 60,
            f"Team {i % 90}",
            "station",
            STATIONS["Plover"],
            text=f"report number {i} from the same place, all is well here",
        )
        for i in range(20_000)
    )
    notes = (NoteReport(said(30_000, 2, "Wren", "the red bridge is <b>down</b>")),)
    return Picture("Many", positions=reports, notes=notes)


def test_a_compressed_board_opens_and_its_list_and_map_lead_to_each_other(opened):
    shown = scene(many(), date=DAY, now_utc=NOW, all_formats=formats_stand_in)
    page = opened(build_board(shown))
    assert '"packed":true' in page.locator("#report-data").text_content()
    rows = page.locator("#reports .row")
    assert rows.count() == 30
    assert "1 to 30 of 20001" in page.locator("#reports").inner_text()
    page.get_by_role("button", name="Older", exact=True).click()
    assert "31 to 60 of 20001" in page.locator("#reports").inner_text()
    page.get_by_label("Find").fill("RED bridge")
    expect(rows).to_have_count(1)
    assert "the red bridge is <b>down</b>" in rows.nth(0).inner_text()
    page.get_by_label("Find").fill("")
    expect(rows).to_have_count(30)
    page.get_by_role("button", name="Older", exact=True).click()
    # A click on the map turns the list to the page of what was hit: the newest of that place.
    spot = page.evaluate(
        "([lat, lon]) => { const p = board_map.latLngToContainerPoint([lat, lon]);"
        "const b = board_map.getContainer().getBoundingClientRect();"
        "return [p.x + b.left, p.y + b.top]; }",
        list(shown.entries[1].place),
    )
    page.mouse.click(*spot)
    page.wait_for_selector("#reports .row[aria-current=true]")
    assert "1 to 30 of 20001" in page.locator("#reports").inner_text()


def test_json_of_a_small_board_needs_no_unpacking(example_board):
    text = example_board.html.split('id="report-data">')[1].split("</script>")[0]
    assert json.loads(text)["packed"] is False
    assert len(example_picture().positions) > 0
