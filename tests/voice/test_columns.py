"""Many texts at once mean what each of them means alone, and are written as each is alone."""

import geopandas
import numpy as np
import pytest
from degree_texts import by_grammar, by_habit
from hypothesis import example, given, settings
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.formats import FORMATS
from plotter.formats.reading import in_all_formats_of, reading
from plotter.formats.result import asks_of
from plotter.geodesy.position import Area, Position
from plotter.voice.columns import converted
from plotter.voice.spoken import spoken_reading

AREA = Area(Position(48.8, 2.3), 30_000.0)
FOUR = ("latlon", "utm", "mgrs", "maidenhead")

decimals = st.builds(
    lambda whole, tail: f"{whole}.{tail}" if tail is not None else str(whole),
    st.integers(0, 183),
    st.none() | st.text("0123456789", max_size=10),
)
lettered = st.builds(
    "{0}{4}{1}{2}{3}{4}{5}".format,
    decimals, st.sampled_from("NSE"), st.sampled_from([" ", ", ", ",", ""]), decimals,
    st.sampled_from(["", " "]), st.sampled_from("EWN"),
)  # fmt: skip
bare = st.builds(
    "{0}{1}{2}{3}{4}".format,
    st.sampled_from(["", "-", "+"]), decimals, st.sampled_from([" ", ", ", ",", "/"]),
    st.sampled_from(["", "-", "+"]), decimals,
)  # fmt: skip
references = st.builds(
    "{0}{1}{2}{3}{4}{3}{5}{6}{7}".format,
    st.one_of(st.integers(0, 61).map(str), st.integers(0, 61).map("{:02d}".format)),
    st.sampled_from("CDHNPSVX") | st.sampled_from("AIOYc"),
    st.just(""),
    st.sampled_from(["", " "]),
    st.text("ABCDEFGHJKLMNPQRSTUVIOab", min_size=2, max_size=2),
    st.text("0123456789", max_size=6),
    st.sampled_from(["", " ", "  "]),
    st.text("0123456789", max_size=6),
)
places = st.tuples(st.floats(-90, 90), st.floats(-180, 180), st.sampled_from([1, 10, 1e3, 1e5]))
written = st.builds(
    lambda place, name: FORMATS[
        "ups" if name == "utm" and not -80 <= place[0] < 84 else name
    ].write(Position(place[0], place[1]), place[2]),
    places, st.sampled_from(["latlon", "mgrs", "maidenhead", "olc", "geohash", "utm"]),
)  # fmt: skip
degrees = st.builds(
    lambda maker, seed: next(maker(seed, 1)).text,
    st.sampled_from([by_grammar, by_habit]), st.integers(0, 10**9),
)  # fmt: skip
texts = lettered | bare | references | written | degrees


@given(text=texts, area=st.sampled_from([None, AREA]), read=st.sampled_from([spoken_reading]))
@settings(max_examples=400)
@example(text="-0.0, 5.25", area=None, read=spoken_reading)
@example(text="0.0N 0.0W", area=None, read=spoken_reading)
@example(text="48.85 2.29", area=AREA, read=spoken_reading)
@example(text="90.0N 180.0E", area=None, read=spoken_reading)
@example(text="95.5, 10.5", area=None, read=spoken_reading)
@example(text="33XVG 12 34", area=None, read=spoken_reading)
@example(text="31UDQ", area=None, read=spoken_reading)
@example(text="32VKM0000", area=None, read=spoken_reading)  # cut by the zone's edge
@example(text="1CDK1234", area=None, read=spoken_reading)
@example(
    text="JJ00aa", area=None, read=spoken_reading
)  # a twelfth of a degree: a tie of two precisions
def test_a_row_means_what_its_text_means(text, area, read):
    columns = converted([text], FOUR, area, read)
    row = {name: values[0] for name, values in columns.items()}
    try:
        found = read(text, area)
    except FormatError as error:
        found, problem = (), str(error)
    asks = asks_of(found)
    if len(found) != 1 or asks:
        assert np.isnan([row["lat_deg"], row["lon_deg"], row["size_m"]]).all()
        assert not any(row[name] for name in ("format", "assumed", *FOUR))
        if asks:
            assert all(ask in row["problem"] for ask in asks)
        elif found:
            assert row["problem"].startswith(f"{len(found)} meanings fit")
            assert all(each.format in row["problem"] for each in found)
        else:
            assert row["problem"] == " ".join(problem.split())
        return
    (one,) = found
    centre = one.square.centre
    assert row["problem"] == ""
    assert (row["format"], row["assumed"]) == (one.format, "; ".join(one.assumed))
    if one.format == "latlon":
        assert (row["lat_deg"], row["lon_deg"]) == (centre.lat_deg, centre.lon_deg)
    # The two routes of a grid differ by less than a micrometre.
    assert row["lat_deg"] == pytest.approx(centre.lat_deg, abs=1e-11)
    assert row["lon_deg"] == pytest.approx(centre.lon_deg, abs=1e-9)
    assert row["size_m"] == pytest.approx(one.square.size_m, rel=1e-12)
    assert not np.signbit(row["lat_deg"]) or row["lat_deg"] < 0
    if row["lat_deg"] == centre.lat_deg and row["lon_deg"] == centre.lon_deg:
        assert {name: row[name] for name in FOUR} == in_all_formats_of(one)


@given(st.lists(texts, max_size=30))
def test_rows_do_not_touch_each_other(several):
    columns = converted(several, ("mgrs", "latlon"))
    assert list(columns) == [
        "lat_deg", "lon_deg", "size_m", "format", "assumed", "mgrs", "latlon", "problem",
    ]  # fmt: skip
    for i, text in enumerate(several):
        alone = converted([text], ("mgrs", "latlon"))
        for name, values in columns.items():
            np.testing.assert_array_equal(values[i], alone[name][0])


@given(st.lists(st.tuples(places, st.integers(0, 9)), max_size=20))
@example([((0.5, 9.5, 1e5), 0), ((-0.4, -0.4, 1e5), 0), ((99.5 - 90, 99.95, 1e3), 1)])
def test_degrees_are_written_as_alone(several):
    """Against Python's own correctly rounded formatting, by way of the writer of one place."""
    texts = [FORMATS["latlon"].write(Position(a, o), size) for (a, o, size), _ in several]
    columns = converted(texts, ("latlon",))
    for text, row in zip(texts, columns["latlon"].tolist(), strict=True):
        (one,) = reading(text)
        assert row == FORMATS["latlon"].write(one.square.centre, one.square.size_m)


def test_every_format_can_be_written_and_none_begins_a_formula():
    places = [
        "31UDQ4825111932", "52.0N 5.0E", "46.9N 7.4E", "-36.8, 174.7", "-33.9, 151.2",
        "51.5N 0.1W", "53.3N 6.3W", "62.0N 25.0E", "59.3N 18.1E", "89.5N 10.5E", "-89.5, -10.5",
        "=1+1", "+cmd", "-x", "@sum", "\t=2", "18S 323483 4306479",
    ]  # fmt: skip
    columns = converted(places, tuple(FORMATS))
    for name in (*FORMATS, "format", "assumed", "problem"):
        for text in columns[name].tolist():
            assert not text.startswith(("=", "+", "-", "@", "\t", "\r")), (name, text)
            assert text.isprintable(), (name, text)
    for name in ("latlon", "utm", "mgrs", "maidenhead", "olc", "geohash", "georef", "gars"):
        assert columns[name][0], name
    read_back = reading(columns["utm"][9])
    assert [each.format for each in read_back] == ["ups"]


def test_several_meanings_are_all_named():
    row = converted(["18S 323483 4306479"])["problem"][0]
    assert row.startswith("2 meanings fit, ask the sender which one is meant: utm ")
    for each in reading("18S 323483 4306479"):
        centre = FORMATS["latlon"].write(each.square.centre, each.square.size_m)
        assert centre in row
        assert "; ".join(each.assumed) in row


def test_columns_drop_into_a_geodataframe():
    columns = converted(["31UDQ4825111932", "nowhere"])
    points = geopandas.points_from_xy(columns["lon_deg"], columns["lat_deg"])
    frame = geopandas.GeoDataFrame(columns, geometry=points, crs="EPSG:4326")
    assert frame.geometry[0].x == pytest.approx(2.2945, abs=2e-5)
    assert np.isnan(frame.geometry.x).tolist() == [False, True]
    assert frame.problem[0] == ""


def test_no_texts_and_no_formats():
    columns = converted([], ())
    assert {name: values.size for name, values in columns.items()} == dict.fromkeys(columns, 0)
    assert converted(["31UDQ4825111932"], ("mgrs", "mgrs"))["mgrs"].tolist() == ["31UDQ4825111932"]


def test_an_unknown_format_names_the_known_ones():
    with pytest.raises(FormatError, match="'feet' is not a format to write: expected some of mgrs"):
        converted(["31UDQ4825111932"], ("feet",))
