"""Rows of CSV as the standard library's reader has them, whichever way they are read."""

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.exchange.csv_rows import CsvFile

values = st.text('ab1,;" \n\r°é', max_size=6)
pieces = ["a", ",", '"', '""', "\n", "\r\n", "\r", " ", '1"N', '",']
raw = st.lists(st.sampled_from(pieces), max_size=24)
proper = st.lists(st.tuples(values, values), min_size=1, max_size=6)


def rows_of(text, chunk_rows):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "in.csv")
        path.write_bytes(("one,two\n" + text).encode())
        file = CsvFile(path, chunk_rows)
        try:
            return [
                row
                for columns, _ in file.chunks()
                for row in zip(*(column.to_pylist() for column in columns), strict=True)
            ]
        finally:
            file.close()


@given(proper, st.sampled_from([1, 2, 3, 100]))
@settings(max_examples=150, deadline=None)
def test_what_the_standard_library_writes_is_read(rows, chunk_rows):
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    assert rows_of(out.getvalue(), chunk_rows) == rows


@given(raw.map("".join), st.sampled_from([2, 100]))
@settings(max_examples=300, deadline=None)
def test_quotes_by_hand_mean_what_they_mean_to_the_standard_library(text, chunk_rows):
    expected = [row for row in csv.reader(io.StringIO(text, newline="")) if row]
    found = rows_of(text, chunk_rows)
    assert len(found) == len(expected)
    for ours, theirs in zip(found, expected, strict=True):
        if len(theirs) == 2:
            assert list(ours) == theirs
