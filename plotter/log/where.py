"""Telling a log from other files, without opening it as one."""

from pathlib import Path
from typing import Final

__all__ = ["copy_beside", "is_log", "is_url"]

_MAGIC: Final = b"SQLite format 3\0"
_LOOK: Final = 65_536


def is_url(where: str | Path) -> bool:
    """Whether this names a database by its URL, and no file."""
    return isinstance(where, str) and where.startswith(("postgresql://", "postgresql+psycopg://"))


def copy_beside(path: Path) -> Path:
    """The second copy that lies beside a log's file."""
    return path.with_name(path.name + ".copy")


def is_log(where: str | Path) -> bool:
    """Whether this is a log, a damaged one as well: by its first bytes, its events, or its copy.

    Parameters
    ----------
    where : str or Path
        A file, or a URL.
    """
    if is_url(where):
        return True
    path = Path(where)
    try:
        with path.open("rb") as file:
            head = file.read(_LOOK)
    except OSError:
        head = b""
    if not head:
        return copy_beside(path).is_file()
    if head.startswith(_MAGIC):
        return True
    # A report file is text; a log whose first bytes were lost is not.
    return b"\0" in head and (b"event1\t" in head or copy_beside(path).exists())
