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

from plotter.log.where import copy_beside

__all__ = ["SecondCopy"]


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
        lines = b"".join([b"%s %s\n" % (digest.encode(), body) for digest, body in records])
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
        """Every (hash, body) whose hash is right; nothing where there is no copy."""
        try:
            lines = self.path.read_bytes().split(b"\n")
        except OSError:
            return
        for line in lines:
            try:
                digest = bytes.fromhex(line[:64].decode("ascii"))
            except ValueError:
                continue
            if line[64:65] == b" " and sha256(line[65:]).digest() == digest:
                yield digest, line[65:]

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            os.close(self._file)
            self._file = None
