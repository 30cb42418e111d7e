"""A hundred answers over all shapes and scales, as a page to read aloud; what must be true of it.

    python tests/fix/test_golden_page.py     writes the page anew: read it line by line

The page is compared with its figures left out: these hang on the last bits of a processor.
"""

import math
import re
from pathlib import Path

import pytest
from fix_families import GEOD, ahead, distance
from user_scenes import fix_of_file

from plotter.cli.fix import fix_lines
from plotter.fix.wording import area_words
from plotter.geodesy.position import Position

PAGE = Path(__file__).with_name("golden_page.txt")
MIDDLE = Position(47.11, 8.12)
# East and north of the middle, in parts of the scale.
POSTS = {"Alpha": (-0.5, -0.35), "Bravo": (0.5, -0.35), "Cedar": (0.05, 0.75), "Delta": (2.0, -1.1)}
WAY = re.compile(r"best point ([\d.]+) (m|km) from (\w+) \(.*?\) on (\d{3})° true")
SCALES_M = (300.0, 1e3, 3e3, 10e3, 30e3)
# Reports with {d} for the scale in metres; invented.
SCENES = {
    "one bearing": ["Alpha bearing 70 true ± 5"],
    "one bearing, badly known": ["Alpha bearing 70 true ± 25"],
    "two that cross": ["Alpha bearing 45 true ± 5", "Bravo bearing 315 true ± 5"],
    "two nearly parallel": ["Alpha bearing 45 true ± 5", "Bravo bearing 44 true ± 5"],
    "two that contradict": ["Alpha bearing 300 true ± 3", "Bravo bearing 60 true ± 3"],
    "three good": [
        "Alpha bearing 50 true ± 5", "Bravo bearing 320 true ± 5", "Cedar bearing 176 true ± 5"],
    "three, one reversed": [
        "Alpha bearing 50 true ± 5", "Bravo bearing 320 true ± 5", "Cedar bearing 356 true ± 5"],
    "three, one wrong": [
        "Alpha bearing 50 true ± 5", "Bravo bearing 320 true ± 5", "Cedar bearing 80 true ± 5"],
    "three and a fourth that is wrong": [
        "Alpha bearing 50 true ± 5", "Bravo bearing 320 true ± 5", "Cedar bearing 176 true ± 5",
        "Delta bearing 200 true ± 5"],
    "one distance": ["Alpha distance {d} m ± {e} m"],
    "one distance, guessed": ["Alpha distance {d} m"],
    "two distances": ["Alpha distance {d} m ± {e} m", "Bravo distance {d} m ± {e} m"],
    "a bearing and a distance": ["Alpha bearing 45 true ± 5", "Alpha distance {d} m"],
    "heard": ["Alpha heard"],
    "not heard": ["Alpha not heard"],
    "heard twice, once not": ["Alpha heard", "Bravo heard", "Delta not heard"],
    "a bearing, and who did not hear it": ["Alpha bearing 45 true ± 5", "Delta not heard"],
    "copies": ["Alpha bearing 45 true ± 5"] * 4 + ["Bravo bearing 315 true ± 5"],
    "north not stated": ["Alpha bearing 43 ± 5", "Bravo bearing 315 true ± 5"],
    "errors not stated": [
        "Alpha bearing 50 true", "Bravo bearing 320 true", "Cedar bearing 176 true"],
}  # fmt: skip


def report_file(reports, scale_m):
    lines = ["time_utc,sender,subject,report"]
    for name, (east, north) in POSTS.items():
        away = scale_m * math.hypot(east, north)
        place = ahead(MIDDLE, math.degrees(math.atan2(east, north)), away)
        lines.append(f"2026-03-14T09:00Z,{name},,{place.lat_deg:.6f}N {place.lon_deg:.6f}E")
    for minute, report in enumerate(reports, 1):
        sender, said = report.format(d=round(0.8 * scale_m), e=round(0.04 * scale_m)).split(" ", 1)
        lines.append(f"09:{minute:02d},{sender},signal,{said}")
    return "\n".join(lines) + "\n"


def answers(folder):
    for name, reports in SCENES.items():
        for scale_m in SCALES_M:
            text = report_file(reports, scale_m)
            yield f"{name}, {scale_m:g} m", fix_of_file(folder / "r.csv", text)


def page(folder):
    return "\n".join("\n".join(fix_lines(*each)) for each in answers(folder)) + "\n"


def without_figures(text):
    return re.sub(r"\d[\d., ]*\d|\d", "#", re.sub(r"(over|under) \d+ %", "# %", text))


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    return list(answers(tmp_path_factory.mktemp("page")))


def test_the_page_is_as_it_was_read(found):
    now = "\n".join("\n".join(fix_lines(*each)) for each in found) + "\n"
    assert without_figures(now) == without_figures(PAGE.read_text(encoding="utf-8"))


def test_what_leads_leads_there(found):
    """Distance and bearing to the best point, walked by PROJ, end at it as far as they are said."""
    led = 0
    for name, fix in found:
        for said in fix.findings:
            match = re.search(
                r"best point ([\d.]+) (m|km) from (\w+) \(.*?\) on (\d{3})° true", said
            )
            if match is None:
                continue
            led += 1
            way = float(match[1]) * (1e3 if match[2] == "km" else 1.0)
            east, north = (
                float(name.split(", ")[-1].split()[0]) * part for part in POSTS[match[3]]
            )
            post = ahead(MIDDLE, math.degrees(math.atan2(east, north)), math.hypot(east, north))
            lon, lat, _ = GEOD.fwd(post.lon_deg, post.lat_deg, float(match[4]), way)
            assert distance(Position(lat, lon), fix.best) < 0.06 * way + 1.0, (name, said)
    assert led > 30


def test_no_point_is_told_where_there_is_none(found):
    for name, fix in found:
        pointed = any("best point" in said for said in fix.findings)
        assert not (pointed and fix.shape not in ("point", "several places")), name
        # A headline on less than half says on what condition it rests.
        if pointed and fix.p_all_good < 0.5:
            assert any("do not agree" in s or "looks like" in s for s in fix.findings), name


def test_figures_of_the_table_and_of_the_sentences_are_the_same(found):
    for name, fix in found:
        table = "\n".join(fix_lines(name, fix))
        for said in fix.findings:
            if match := re.search(r"Search the 50 % region first: (.*)\.", said):
                assert match[1] == area_words(fix.regions[0].area_km2)
                assert f"50 % region  {match[1]} in" in table


def test_what_is_asked_for_would_help(found):
    for name, fix in found:
        said = " ".join(fix.findings)
        if "bearing" not in " ".join(SCENES[name.rsplit(", ", 1)[0]]):
            assert "third bearing" not in said, name
        assert "Ask" in said or "ask" in said or "Search" in said, name


if __name__ == "__main__":
    import tempfile

    PAGE.write_text(page(Path(tempfile.mkdtemp())), encoding="utf-8")
