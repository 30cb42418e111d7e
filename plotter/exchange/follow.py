"""Following what comes in: a growing file, a pipe, or a serial device, line by line."""

import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from plotter.errors import LogError
from plotter.exchange.guarded import cleaned, decoded

__all__ = ["followed_lines", "set_speed"]

_LONGEST: Final = 65_536
_CHUNK: Final = 8_192


def followed_lines(
    path: Path, wait: Callable[[], bool], *, from_start: bool = True
) -> Iterator[tuple[int, str, bool]]:
    """Lines as they come; a file that was cut short or replaced is begun again.

    A named pipe is waited at, whether anybody writes to it yet or not.

    Parameters
    ----------
    path : Path
        A file that grows, a pipe, or a device.
    wait : callable
        Called where nothing more is there yet; waits a little, and says whether to go on.
    from_start : bool
        Whether a file's present lines are taken too.

    Yields
    ------
    number : int
        Of the line, from 1.
    text : str
        Without its end. A last line without an end comes when following stops.
    cut : bool
        Whether it was longer than 64 kB.

    Raises
    ------
    LogError
        If it cannot be opened.
    """
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    except OSError as error:
        raise LogError(f"cannot open {str(path)!r}: {error.strerror}") from error
    number, waiting, lost = 0, b"", False
    try:
        about = os.fstat(handle)
        is_file = stat.S_ISREG(about.st_mode)
        # A pipe with a name may be opened by another writer; one without cannot.
        is_named_pipe = stat.S_ISFIFO(about.st_mode) and Path(os.path.realpath(path)).exists()
        ends = not is_file and not is_named_pipe
        if is_file and not from_start:
            os.lseek(handle, 0, os.SEEK_END)
        while True:
            data = _read(handle)
            if data == b"" and ends:
                break  # a pipe whose writer has gone
            # At a named pipe the next writer begins a line of its own.
            data = b"\n" if data == b"" and is_named_pipe and waiting else data
            if data:
                *whole, waiting = (waiting + data).split(b"\n")
                for line in whole:
                    number += 1
                    yield number, _text(line), lost or len(line) > _LONGEST
                    lost = False
                if len(waiting) > _LONGEST:  # no end in sight: its beginning is enough
                    number += 1
                    yield number, _text(waiting), True
                    waiting, lost = b"", True
                continue
            if not wait():
                break
            if is_file and _cut_short(handle, path):
                os.close(handle)
                handle = os.open(path, os.O_RDONLY)
                number, waiting, lost = 0, b"", False
        if waiting.strip():
            yield number + 1, _text(waiting), lost
    except OSError as error:
        raise LogError(f"{str(path)!r} can no longer be read: {error.strerror}") from error
    finally:
        os.close(handle)


def _read(handle: int) -> bytes | None:
    """What is there; nothing at the end; None where it may still come."""
    try:
        return os.read(handle, _CHUNK)
    except BlockingIOError:
        return None


def _text(line: bytes) -> str:
    return cleaned(decoded(line[:_LONGEST]).rstrip("\r"))


def _cut_short(handle: int, path: Path) -> bool:
    """Whether the file was cut short, or another one stands in its place."""
    try:
        now = path.stat()
    except OSError:
        return False
    mine = os.fstat(handle)
    return now.st_ino != mine.st_ino or now.st_size < os.lseek(handle, 0, os.SEEK_CUR)


def set_speed(path: Path, baud: int) -> bool:
    """Set a serial device to plain 8-bit lines at a speed; False where it is none.

    Raises
    ------
    LogError
        If there is no such speed, or the device refuses it.
    """
    if not path.is_char_device():
        return False
    try:
        import termios
        import tty
    except ImportError:  # another system sets its devices by its own means
        return False
    speed = getattr(termios, f"B{baud}", None)
    if speed is None:
        raise LogError(f"no serial device runs at {baud}: expected 4800, 9600, 38400 ...")
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
        try:
            tty.setraw(handle)
            settings = termios.tcgetattr(handle)
            settings[4] = settings[5] = speed
            termios.tcsetattr(handle, termios.TCSANOW, settings)
        finally:
            os.close(handle)
    except (OSError, termios.error) as error:
        raise LogError(f"{str(path)!r} cannot be set to {baud}: {error}") from error
    return True
