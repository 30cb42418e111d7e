"""Files from strangers: read in bounded memory, in whatever encoding, with nothing followed out."""

import io
import stat
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from plotter.errors import LogError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = [
    "MOST_BYTES",
    "cleaned",
    "decoded",
    "lines_of",
    "read_bounded",
    "root_of_xml",
    "unzipped",
]

MOST_BYTES: Final = 32_000_000
"""Largest file that is taken as a whole; tracks of weeks are far smaller."""

_LONGEST_LINE: Final = 65_536
_MOST_MEMBERS: Final = 2_000
_DEEPEST: Final = 100
_WIDE_MARKS: Final = (b"\xff\xfe", b"\xfe\xff")
_NUL: Final = "\u2400"  # the sign that stands for it


def read_bounded(path: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """Read a whole file, or refuse it before it fills the memory.

    Raises
    ------
    LogError
        If it cannot be opened, is no regular file, or is larger.
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise LogError(
                f"{str(path)!r} is no file that can be read as a whole; follow it instead"
            )
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
    except OSError as error:
        raise LogError(f"cannot open {str(path)!r}: {error.strerror}") from error
    if len(data) > most_bytes:
        raise LogError(
            f"{str(path)!r} is larger than {most_bytes / 1e6:.0f} MB, more than reports or a track "
            "need: cut it into parts"
        )
    return data


def decoded(data: bytes) -> str:
    """Bytes as text: UTF-8, UTF-16 with its mark, else Windows-1252, so that no letter is lost."""
    if data[:2] in _WIDE_MARKS:
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def cleaned(text: str) -> str:
    """Text without NUL, which databases and C programs stop at; a visible sign stands for it."""
    return text.replace("\x00", _NUL)


def lines_of(path: Path) -> Iterator[tuple[int, str, bool]]:
    """Lines of a text file one by one, from 1; a longer one than 64 kB is cut.

    Yields
    ------
    number : int
        Of the line.
    text : str
        Without its end.
    cut : bool
        Whether it was longer; what was cut off is not kept in memory.

    Raises
    ------
    LogError
        If the file cannot be opened.
    """
    try:
        with path.open("rb") as file:
            if file.read(2) in _WIDE_MARKS:  # two bytes a letter: no line ends at a byte
                text = cleaned(decoded(read_bounded(path)))
                for number, line in enumerate(text.split("\n"), start=1):
                    yield number, line[:_LONGEST_LINE].rstrip("\r"), len(line) > _LONGEST_LINE
                return
            file.seek(0)
            number = 0
            while data := file.readline(_LONGEST_LINE + 1):
                number += 1
                cut = len(data) > _LONGEST_LINE
                while cut and data[-1:] != b"\n" and (more := file.readline(_LONGEST_LINE)):
                    if more.endswith(b"\n"):
                        break
                yield number, cleaned(decoded(data[:_LONGEST_LINE]).rstrip("\r\n")), cut
    except OSError as error:
        raise LogError(f"cannot open {str(path)!r}: {error.strerror}") from error


def root_of_xml(data: bytes, name: str) -> "Element":
    """Parse XML that may declare nothing and follow nothing.

    Parameters
    ----------
    data : bytes
        The whole document.
    name : str
        Of the file, for what goes wrong.

    Raises
    ------
    LogError
        If it is no XML, declares a document type or entities, or is nested too deeply.
    """
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import ParseError, iterparse

    depth, root = 0, None
    try:
        for event, element in iterparse(
            io.BytesIO(data), ("start", "end"), forbid_dtd=True, forbid_external=True
        ):
            depth += 1 if event == "start" else -1
            root = element if root is None else root
            if depth > _DEEPEST:
                raise LogError(f"{name!r} is nested deeper than {_DEEPEST} elements: not a log")
    except DefusedXmlException as error:
        raise LogError(
            f"{name!r} declares a document type or entities, which may hide a trap: save it again "
            "without them"
        ) from error
    except (ParseError, ValueError, LookupError) as error:
        raise LogError(f"{name!r} is not whole XML: {error}") from error
    if root is None:
        raise LogError(f"{name!r} is empty")
    found: Element = root
    return found


def unzipped(data: bytes, suffix: str, name: str) -> tuple[bytes, int]:
    """The first file with an ending out of a zip archive, in memory; nothing is written to disk.

    Returns
    -------
    content : bytes
        Of that file.
    others : int
        How many files besides it are in the archive.

    Raises
    ------
    LogError
        If it is no zip archive, holds no such file, or would unpack to more than 32 MB.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            if len(members) > _MOST_MEMBERS:
                raise LogError(f"{name!r} holds {len(members)} files: not a log")
            wanted = [each for each in members if each.filename.lower().endswith(suffix)]
            if not wanted:
                raise LogError(f"{name!r} holds no {suffix} file")
            # The one at the top, as the format has it; its stated size is not believed.
            wanted.sort(key=lambda each: each.filename.count("/"))
            with archive.open(wanted[0]) as file:
                content = file.read(MOST_BYTES + 1)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, RuntimeError, NotImplementedError, EOFError,
            OSError, ValueError) as error:  # fmt: skip
        raise LogError(f"{name!r} cannot be unpacked: {error}") from error
    if len(content) > MOST_BYTES:
        raise LogError(f"{name!r} unpacks to more than {MOST_BYTES / 1e6:.0f} MB: not taken")
    return content, sum(not each.is_dir() for each in members) - 1
