"""A second copy of every event, as lines of text beside the log's file.

SQLite's file is the log: an event is acknowledged when it is durable there. The copy is written
right after, by one system call and without waiting for the disk, which costs some microseconds. It
serves when the file is cut short or bytes of it are changed, for no file can restore what was cut
off its own end. A line is the hash as 64 hexadecimal figures, a blank, and the event's bytes.
"""

import os
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Final

from plotter.log.where import copy_beside

__all__ = ["SecondCopy"]

_LAST_BYTES: Final = 1 << 16


class SecondCopy:
    """The copy beside a log's file; made when the first event is written.

    Attributes
    ----------
    problem : str
        Why the last events could not be copied; empty where they could.
    """

    def __init__(self, log: Path) -> None:
        self.path = copy_beside(log)
        self.problem = ""
        self._file: int | None = None

    def add(self, records: Iterable[tuple[str, bytes]]) -> None:
        """Copy events of (hash, body); never fails, for they are already durable."""
        lines = b"".join([f"{digest} ".encode() + body + b"\n" for digest, body in records])
        try:
            if self._file is None:
                self._file = self._open()
            # All in one call: lines of two writing processes do not mix.
            written = os.write(self._file, lines)
            if written < len(lines):
                self.close()  # the next line begins behind a line end
                self.problem = f"{self.path} could not be written whole: is the disk full?"
            else:
                self.problem = ""
        except OSError as error:
            self.close()
            self.problem = f"{self.path} could not be written: {error.strerror}"

    def _open(self) -> int:
        flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
        file = os.open(self.path, flags, 0o644)
        size = os.fstat(file).st_size
        if size:
            os.lseek(file, size - 1, os.SEEK_SET)
            if os.read(file, 1) != b"\n":
                os.write(file, b"\n")  # a line that was cut off stays alone
        return file

    def sound(self) -> Iterator[tuple[bytes, bytes]]:
        """Every (digest, body) whose hash is right; nothing where there is no copy."""
        try:
            lines = self.path.read_bytes().split(b"\n")
        except OSError:
            return
        for line in lines:
            if (found := _parts(line)) is not None:
                yield found

    def last(self) -> bytes | None:
        """Digest of the last event in the copy; None where there is none, or it is cut off."""
        try:
            with self.path.open("rb") as file:
                size = file.seek(0, os.SEEK_END)
                file.seek(max(0, size - _LAST_BYTES))
                lines = file.read().rsplit(b"\n", 2)
        except OSError:
            return None
        found = _parts(lines[-2]) if len(lines) > 1 else None
        return found[0] if found else None

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            os.close(self._file)
            self._file = None


def _parts(line: bytes) -> tuple[bytes, bytes] | None:
    """Digest and body of a line, where the one is that of the other."""
    try:
        digest = bytes.fromhex(line[:64].decode("ascii"))
    except ValueError:
        return None
    sound = line[64:65] == b" " and sha256(line[65:]).digest() == digest
    return (digest, line[65:]) if sound else None
