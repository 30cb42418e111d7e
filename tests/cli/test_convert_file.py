"""Bulk conversion from the command line: what is written, what is said, and the exit status."""

import csv
import io
import json
import subprocess
import sys

import geopandas
import pytest

from plotter.cli import main

GIVEN = ("--file", "{in}", "--column", "said", "-o", "{out}")


@pytest.fixture
def run(capsys):
    """Call the command line in this process; status, stdout and stderr."""

    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main([str(each) for each in arguments])
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "in.csv"
    path.write_text(
        'id,said\n1,31UDQ4825111932\n2,"48.8582, 2.2945"\n3,up the hill\n4,18S 323483 4306479\n',
        encoding="utf-8",
    )
    return path


def test_a_table_with_rows_that_cannot_be_read(run, table, tmp_path):
    output = tmp_path / "out.csv"
    status, out, err = run("convert", "--file", table, "--column", "said", "-o", output)
    assert status == 3
    assert out.strip() == str(output)
    assert "4 rows: 2 read, 1 with assumptions" in err
    assert "2 not read, 1 of them with more than one meaning" in err
    assert "\r" not in err  # no bar where nobody looks
    rows = list(csv.DictReader(io.StringIO(output.read_text(encoding="utf-8"))))
    assert [row["id"] for row in rows] == ["1", "2", "3", "4"]
    assert [row["mgrs"] for row in rows[:2]] == ["31UDQ4825111932"] * 2
    assert "cannot read 'up the hill'" in rows[2]["problem"]


def test_all_read_is_status_0_and_json_counts(run, table, tmp_path):
    table.write_text("said\n31UDQ4825111932\n", encoding="utf-8")
    output = tmp_path / "out.csv"
    options = ("--file", table, "--column", "said", "--to", "utm, Maidenhead", "--output", output)
    status, out, err = run("convert", *options, "--json")
    assert status == 0
    assert json.loads(out) == {
        "output": str(output), "rows": 1, "unread": 0, "several": 0, "assumed": 0,
    }  # fmt: skip
    assert "not read" not in err
    header = output.read_text(encoding="utf-8").splitlines()[0].split(",")
    assert header[-3:] == ["utm", "maidenhead", "problem"]


def test_the_area_completes_rows(run, table, tmp_path):
    table.write_text("said\nDQ 48251 11932\n", encoding="utf-8")
    output = tmp_path / "out.csv"
    options = ("--file", table, "--column", "said", "-o", output)
    assert run("convert", *options)[0] == 3
    assert run("convert", *options, "--area", "48.8,2.3,30")[0] == 0
    assert "zone 31U, from the area of operations" in output.read_text(encoding="utf-8")


def test_rows_outside_the_area_are_counted_and_said(run, table, tmp_path):
    output = tmp_path / "out.csv"
    options = ("--file", table, "--column", "said", "-o", output, "--json")
    status, out, err = run("convert", *options)
    assert "outside" not in json.loads(out)
    assert "outside" not in err
    status, out, err = run("convert", *options, "--area", "48.0,2.3,30")
    assert status == 3  # of the rows that were not read
    assert json.loads(out)["outside"] == 2
    assert "2 outside the area of operations: see the column doubt" in err
    rows = list(csv.DictReader(io.StringIO(output.read_text(encoding="utf-8"))))
    # 0.8582° of latitude are 95.4 km (111.2 km each at 48°), less the 30 km.
    told = "outside the area of operations by 65 km: read it back"
    assert [row["doubt"] for row in rows] == [told, told, "", ""]


def test_a_layer_is_chosen_by_its_name(run, tmp_path):
    source, output = tmp_path / "in.gpkg", tmp_path / "out.csv"
    for layer, said in (("teams", "31UDQ4825111932"), ("camps", "18TWL8565011300")):
        points = geopandas.points_from_xy([0], [0])
        frame = geopandas.GeoDataFrame({"said": [said]}, geometry=points, crs="EPSG:4326")
        frame.to_file(source, layer=layer)
    options = ("--file", source, "--column", "said", "-o", output)
    status, out, err = run("convert", *options)
    assert (status, out) == (1, "")
    assert "'teams', 'camps'" in " ".join(err.split())
    assert run("convert", *options, "--layer", "camps")[0] == 0
    rows = list(csv.DictReader(io.StringIO(output.read_text(encoding="utf-8"))))
    assert [row["mgrs"] for row in rows] == ["18TWL8565011300"]


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (("--file", "{in}", "-o", "{out}"), 2, "--column is missing"),
        (("--file", "{in}", "--column", "said"), 2, "-o is missing"),
        (("--column", "said", "-o", "{out}"), 2, "--file is missing"),
        (("48N 2E", "--layer", "teams"), 2, "--file, --column, -o is missing"),
        ((*GIVEN, "--minutes", "10"), 2, "--minutes belongs to one TEXT"),
        ((*GIVEN, "--minutes", "0"), 2, "--minutes belongs to one TEXT"),
        ((*GIVEN, "--top-speed-kmh", "144"), 2, "--top-speed-kmh belongs to one TEXT"),
        ((*GIVEN, "--layer", "teams"), 1, "leave out the layer 'teams'"),
        (("48N 2E", "--file", "{in}", "--column", "said", "-o", "{out}"), 2, "not both: '48N 2E'"),
        ((), 2, "Missing argument 'TEXT'"),
        (("--file", "no.csv", "--column", "said", "-o", "{out}"), 1, "cannot open 'no.csv'"),
        (("--file", "{in}", "--column", "x", "-o", "{out}"), 1, "it has 'id', 'said'"),
        (("--file", "{in}", "--column", "said", "-o", "{in}"), 1, "is the table itself"),
        (("--file", "{in}", "--column", "said", "-o", "out.xls"), 1, "ends in one of .csv"),
        (("--file", "{in}", "--column", "said", "-o", "no/out.csv"), 1, "no folder 'no'"),
        (("--file", "{in}", "--column", "said", "--to", "feet", "-o", "{out}"), 1, "'feet' is not"),
    ],
)
def test_what_is_called_wrongly(run, table, tmp_path, arguments, status, message):
    output = tmp_path / "out.csv"
    names = {"{in}": table, "{out}": output}
    before = table.read_bytes()
    found, out, err = run("convert", *(names.get(each, each) for each in arguments))
    assert (found, out) == (status, "")
    assert message in " ".join(err.split())
    assert not output.exists()
    assert table.read_bytes() == before


def test_a_bar_on_a_terminal(run, table, tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stderr", terminal := io.StringIO())
    monkeypatch.setattr(terminal, "isatty", lambda: True, raising=False)
    run("convert", "--file", table, "--column", "said", "-o", tmp_path / "out.csv")
    assert "100%" in terminal.getvalue()


def test_one_text_loads_no_table_library(repository):
    script = (
        "import sys\n"
        "from plotter.cli import main\n"
        "try: main(['convert', '31UDQ4825111932', '--json'])\n"
        "except SystemExit: pass\n"
        "heavy = ('pyarrow', 'pandas', 'pyogrio', 'plotter.exchange')\n"
        "print([m for m in heavy if m in sys.modules])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True, text=True, check=True, cwd=repository,
    )  # fmt: skip
    assert result.stdout.splitlines()[-1] == "[]"


def test_without_the_libraries_it_says_what_to_install(run, table, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    status, _, err = run("convert", "--file", table, "--column", "said", "-o", tmp_path / "out.csv")
    assert status == 1
    assert "install plotter[tables]" in err
