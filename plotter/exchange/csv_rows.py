"""CSV in and out as streams of columns, whatever its encoding, and no row lost."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from itertools import chain, islice
from pathlib import Path
from typing import IO, Any, Final

from plotter.errors import TableError

__all__ = ["CsvFile", "csv_bytes"]

_DELIMITERS: Final = (",", ";", "\t")
_PIECE: Final = 1 << 20
# What makes a value need quotes; a lone carriage return ends a line for many readers.
_SPECIAL: Final = '"\r\n'
_UNLIKE: Final = re.compile(r"(?:^|\n)\r?\n|\r(?!\n)")


class CsvFile:
    """A CSV file that is read a chunk at a time, every value as its text.

    A row with more or fewer values than the header is kept, with what is wrong with it: its values
    may stand under the wrong names.

    Parameters
    ----------
    path : Path
        UTF-8 with or without a byte order mark, UTF-16 with one; other bytes are taken as
        Windows-1252. Commas, semicolons or tabs separate: whichever the header has most of.
    chunk_rows : int
        Rows in a chunk.

    Raises
    ------
    TableError
        If it has no header.
    """

    def __init__(self, path: Path, chunk_rows: int) -> None:
        self._path, self._chunk_rows = path, chunk_rows
        self._size = max(path.stat().st_size, 1)
        self._raw: IO[bytes] = path.open("rb")
        self._file = io.TextIOWrapper(
            self._raw, encoding=_encoding(path), errors="replace", newline=""
        )
        head = next((line for line in self._file if line.strip()), "")
        self.delimiter = max(_DELIMITERS, key=head.count)
        self._line = 0
        header = next(iter(self._rows([head])), [])
        if not any(name.strip() for name in header):
            self.close()
            raise TableError(
                f"{str(path)!r} is empty: expected a header with the names of the columns"
            )
        self.names: list[str] = header

    @property
    def done(self) -> float:
        """Part of the file that has been read, 0 to 1."""
        return min(self._raw.tell() / self._size, 1.0) if not self._raw.closed else 1.0

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def chunks(self) -> Iterator[tuple[list[Any], dict[int, str]]]:
        """Columns as arrow arrays of text, and what is wrong with which row."""
        import pyarrow as pa

        while lines := list(islice(self._file, self._chunk_rows)):
            text = "".join(lines)
            if (plain := self._plain(text)) is not None:
                yield plain, {}
                continue
            rows, wrong = self._fitted(self._rows(lines))
            if rows:
                yield [pa.array(column, pa.string()) for column in zip(*rows, strict=True)], wrong

    def _plain(self, text: str) -> list[Any] | None:
        """Columns of whole rows that fit the header; None where the slower reader must look."""
        import pyarrow as pa
        from pyarrow import csv as arrow_csv

        quoted = '"' in text
        # A value that runs on to the next lines has its other quote there. Blank lines and lone
        # carriage returns are rows for one reader and nothing for the other.
        if text.count('"') % 2 or _UNLIKE.search(text):
            return None
        keys = [str(i) for i in range(len(self.names))]
        try:
            table = arrow_csv.read_csv(
                pa.BufferReader(text.encode()),
                read_options=arrow_csv.ReadOptions(column_names=keys, block_size=2 * len(text) + 2),
                parse_options=arrow_csv.ParseOptions(
                    delimiter=self.delimiter,
                    quote_char='"' if quoted else False,
                    newlines_in_values=quoted,
                    ignore_empty_lines=False,
                ),
                convert_options=arrow_csv.ConvertOptions(
                    column_types=dict.fromkeys(keys, pa.string()),
                    strings_can_be_null=False,
                    check_utf8=False,
                ),
            )
        except pa.ArrowInvalid:
            return None
        return [pa.concat_arrays(column.chunks) for column in table.columns]

    def _rows(self, lines: Sequence[str]) -> list[list[str]]:
        """Rows of some lines, and of those after them that a quoted value runs on to."""
        reader = csv.reader(chain(lines, self._file), delimiter=self.delimiter)
        rows: list[list[str]] = []
        try:
            for row in reader:
                rows.append(row)
                if reader.line_num >= len(lines):
                    break
        except csv.Error as error:
            raise TableError(
                f"{str(self._path)!r} cannot be taken apart after {rows[-1:]!r} ({error}): look "
                "for a quotation mark that is opened and not closed"
            ) from error
        return rows

    def _fitted(self, rows: list[list[str]]) -> tuple[list[list[str]], dict[int, str]]:
        """Rows of the header's width, and what is wrong with those that were not."""
        width = len(self.names)
        kept: list[list[str]] = []
        wrong: dict[int, str] = {}
        for row in rows:
            if not row and width > 1:
                continue  # an empty line
            if len(row) != width:
                wrong[len(kept)] = (
                    f"{len(row)} values under {width} names: values may stand in the wrong "
                    "column, so the position is not read; correct the row"
                )
            fitted = row + [""] * (width - len(row))
            if len(row) > width:
                fitted[width - 1 :] = [self.delimiter.join(row[width - 1 :])]
            kept.append(fitted)
        return kept, wrong


def _encoding(path: Path) -> str:
    """Encoding of a text file, by its byte order mark or by trying, in flat memory."""
    import codecs

    with path.open("rb") as file:
        if file.read(2) in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
            return "utf-16"
        file.seek(0)
        decoder = codecs.getincrementaldecoder("utf-8")()
        try:
            while piece := file.read(_PIECE):
                decoder.decode(piece)
            decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            return "cp1252"
    return "utf-8-sig"


def csv_bytes(columns: Sequence[Any], delimiter: str) -> Any:  # noqa: ANN401 - an arrow buffer
    """Rows of CSV, quoted only where they must be.

    Parameters
    ----------
    columns : sequence of pyarrow.Array
        Columns of text, all of one length, at least one row.
    delimiter : str
        What stands between values.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    texts = [pc.fill_null(column.cast(pa.large_string()), "") for column in columns]
    texts = [_quoted(text, delimiter) for text in texts]
    end, between = (pa.scalar(mark, pa.large_string()) for mark in ("\n", delimiter))
    nothing = pa.scalar("", pa.large_string())
    texts[-1] = pc.binary_join_element_wise(texts[-1], end, nothing)
    lines = pc.binary_join_element_wise(*texts, between)
    # The values of such an array stand behind one another in its last buffer.
    return lines.buffers()[-1]


def _quoted(texts: Any, delimiter: str) -> Any:  # noqa: ANN401 - arrow arrays
    import pyarrow as pa
    import pyarrow.compute as pc

    # Most columns hold nothing special, and looking through their bytes at once is quick.
    data = texts.buffers()[-1]
    held = data.to_pybytes() if data is not None else b""
    if not any(mark.encode() in held for mark in _SPECIAL + delimiter):
        return texts
    special = pc.match_substring_regex(texts, f"[{_SPECIAL}{delimiter}]")
    doubled = pc.replace_substring(texts, '"', '""')
    mark = pa.scalar('"', pa.large_string())
    return pc.if_else(
        special,
        pc.binary_join_element_wise(mark, doubled, mark, pa.scalar("", pa.large_string())),
        texts,
    )
