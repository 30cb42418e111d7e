"""Files that mean harm: refused or made harmless, with the reason, in bounded memory."""

import csv
import datetime as dt
import io
import resource
import subprocess
import sys
import zipfile

import pytest

from plotter.errors import LogError
from plotter.exchange.incoming import entries_of_any
from plotter.exchange.reports_csv import split_reports, write_reports
from plotter.reports.report import Said

NOW = dt.datetime(2026, 3, 14, 12, 0, tzinfo=dt.UTC)
BOMB = """<?xml version="1.0"?>
<!DOCTYPE gpx [<!ENTITY a "ha"> <!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"> <!ENTITY c "&b;&b;&b;&b;">]>
<gpx xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="1" lon="2"><name>&c;</name></wpt></gpx>"""
OUTSIDE = """<?xml version="1.0"?>
<!DOCTYPE gpx [<!ENTITY secret SYSTEM "file:///etc/passwd">]>
<gpx xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="1" lon="2"><name>&secret;</name></wpt></gpx>"""
LINKED = """<?xml version="1.0"?><!DOCTYPE kml SYSTEM "http://192.0.2.1/evil.dtd">
<kml xmlns="http://www.opengis.net/kml/2.2"/>"""
KML = """<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>quay</name>
<Point><coordinates>8.05,47.02</coordinates></Point></Placemark></kml>"""


def refused(path, data, match):
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    with pytest.raises(LogError, match=match):
        entries_of_any(path)


@pytest.mark.parametrize("text", [BOMB, OUTSIDE, LINKED], ids=["bomb", "file", "link"])
@pytest.mark.parametrize("ending", ["gpx", "kml"])
def test_xml_that_declares_anything_is_refused(text, ending, tmp_path):
    refused(tmp_path / f"trap.{ending}", text, "document type or entities")


def test_xml_that_is_torn_deep_or_of_another_kind_is_refused(tmp_path):
    refused(tmp_path / "torn.gpx", "<gpx><wpt lat='1'", "not whole XML")
    refused(tmp_path / "deep.gpx", "<gpx>" + "<a>" * 200 + "</a>" * 200 + "</gpx>", "nested deeper")
    refused(tmp_path / "other.gpx", "<html/>", "not GPX: its first element is 'html'")
    refused(tmp_path / "other.kml", "<gpx/>", "not KML")
    refused(
        tmp_path / "odd.gpx", b'<?xml version="1.0" encoding="nonsense"?><gpx/>', "not whole XML"
    )
    refused(tmp_path / "torn.geojson", '{"type": "Feature', "not whole JSON")
    refused(tmp_path / "deep.geojson", "[" * 100_000, "not whole JSON")
    refused(tmp_path / "other.geojson", '{"type": "Topology"}', "not GeoJSON")


def zipped(*members):
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            archive.writestr(name, content)
    return data.getvalue()


def test_archives_that_explode_or_point_elsewhere(tmp_path):
    refused(
        tmp_path / "bomb.kmz", zipped(("doc.kml", b"<kml>" + b" " * 60_000_000)), "unpacks to more"
    )
    refused(tmp_path / "none.kmz", zipped(("readme.txt", "x")), "holds no .kml")
    refused(tmp_path / "torn.kmz", zipped(("doc.kml", KML))[:60], "cannot be unpacked")
    refused(tmp_path / "many.kmz", zipped(*((f"{k}.txt", "") for k in range(2_100))), "2100 files")
    (tmp_path / "in").mkdir()
    path = tmp_path / "in" / "path.kmz"
    path.write_bytes(zipped(("../../evil.kml", KML), ("/etc/evil.kml", KML)))
    [entry], _ = entries_of_any(path)
    assert (entry.subject, entry.text) == ("quay", "place +47.02+008.05CRSWGS_84/")
    assert sorted(p.name for p in tmp_path.rglob("*.kml")) == []


CHILD = """
import resource, sys
from pathlib import Path
from plotter.errors import LogError
from plotter.exchange.incoming import entries_of_any
limit = 700_000_000
resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
try:
    entries, _ = entries_of_any(Path(sys.argv[1]))
    print(len(entries), entries[0].problem[:60], len(entries[0].text), entries[-1].text)
except LogError as error:
    print(error)
"""


@pytest.mark.parametrize("ending", ["txt", "nmea", "csv", "geojson", "gpx", "kml", "kmz"])
def test_a_line_of_a_gigabyte_is_taken_in_bounded_memory(ending, tmp_path):
    """The file is sparse: a gigabyte of NUL bytes, then a report."""
    path = tmp_path / f"long.{ending}"
    with path.open("wb") as file:
        file.seek(1_000_000_000)
        file.write(b"\n47.02N 8.05E\n")
    call = [sys.executable, "-c", CHILD, str(path)]
    done = subprocess.run(call, capture_output=True, text=True, check=True, timeout=120)
    if ending in {"txt", "nmea"}:
        assert done.stdout.startswith("2 the line is longer than 2000 characters")
        assert done.stdout.strip().endswith("47.02N 8.05E")
    else:
        assert "is larger than 32 MB" in done.stdout


def test_the_memory_limit_of_that_test_bites():
    code = (
        "import resource; resource.setrlimit(resource.RLIMIT_AS, (700_000_000,) * 2); bytes(10**9)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "MemoryError" in done.stderr
    assert resource.getrlimit(resource.RLIMIT_AS)[0] != 700_000_000


def test_encodings_and_nul(tmp_path):
    (tmp_path / "a.txt").write_bytes("Höhle>: 47.02N 8.05E\n".encode("utf-16"))
    (tmp_path / "b.txt").write_bytes("Höhle>: 47.02N 8.05E\n".encode("cp1252"))
    (tmp_path / "c.txt").write_bytes(b"H\x00hle>: 47.02N\x00 8.05E\n")
    for name, sender in (("a", "Höhle"), ("b", "Höhle"), ("c", "H␀hle")):
        [entry], _ = entries_of_any(tmp_path / f"{name}.txt")
        assert entry.sender == sender
        assert "\0" not in entry.text


@pytest.mark.parametrize(
    "evil", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "'=1", "''-1"]
)
def test_no_cell_is_a_formula_and_none_is_changed(evil):
    text = write_reports([Said(1, NOW, evil.strip(), evil.strip(), evil.strip())])
    for cell in list(csv.reader(io.StringIO(text)))[1][1:]:
        assert cell[:1] not in "=+-@\t\r" or not cell
    [said] = split_reports(text).said
    assert (said.sender, said.subject, said.text) == (evil.strip(),) * 3
