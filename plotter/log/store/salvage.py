"""Events out of a damaged SQLite file, below SQLite: page by page, and by their hash.

First every page that looks like one of a table is taken apart as the file format says, also where
nothing points to it any more (https://www.sqlite.org/fileformat.html, sections 1.6, 2.1 and 4.1;
the tables of the log have no rowid, so they are index b-trees). Then the bytes that every event
begins with are looked for: the hash stands in the 32 bytes before them, and the event ends where
the hash is right. What is found is sound by its hash; nothing is taken on trust.
"""

from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Final

from plotter.log.events.encoding import FIRST_BYTES

__all__ = ["salvaged"]

_LEAF, _INTERIOR = 0x0A, 0x02
_PAGE_SIZES: Final = frozenset(1 << bits for bits in range(9, 17))
_USUAL_PAGE: Final = 8_192
_LONGEST_LOCAL: Final = 65_536
_LONGEST_EVENT: Final = 1 << 26


def salvaged(path: Path) -> Iterator[tuple[bytes, bytes]]:
    """Every sound (hash, body) that is left in a file and in its write-ahead log, once.

    Parameters
    ----------
    path : Path
        The database; what cannot be opened yields nothing.
    """
    data = _bytes(path)
    size = int.from_bytes(data[16:18], "big") or 65_536
    size = size if size in _PAGE_SIZES and size >= 512 else _USUAL_PAGE
    pages = {i // size + 1: data[i : i + size] for i in range(0, len(data), size)}
    images = list(pages.items())
    for number, page in _wal_pages(_bytes(path.with_name(path.name + "-wal")), size):
        pages[number] = page
        images.append((number, page))
    seen: set[bytes] = set()
    for number, page in images:
        found = list(_of_page(number, page, pages, size))
        if page.count(FIRST_BYTES) > len(found):
            found += _by_hash(page)
        for digest, body in found:
            if digest not in seen:
                seen.add(digest)
                yield digest, body


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError:
        return b""


def _wal_pages(wal: bytes, size: int) -> list[tuple[int, bytes]]:
    """Pages of the write-ahead log up to its last commit: later ones were never acknowledged."""
    salts = wal[16:24]
    found: list[tuple[int, bytes]] = []
    committed = 0
    for at in range(32, len(wal) - 24, size + 24):
        head = wal[at : at + 24]
        if head[8:16] != salts:
            continue
        found.append((int.from_bytes(head[:4], "big"), wal[at + 24 : at + 24 + size]))
        if int.from_bytes(head[4:8], "big"):
            committed = len(found)
    return found[:committed]


def _of_page(
    number: int, page: bytes, pages: Mapping[int, bytes], size: int
) -> Iterator[tuple[bytes, bytes]]:
    """Sound events in the cells of a page."""
    start = 100 if number == 1 else 0
    kind = page[start] if len(page) > start + 12 else 0
    if kind not in (_LEAF, _INTERIOR):
        return
    first = start + (8 if kind == _LEAF else 12)
    for i in range(int.from_bytes(page[start + 3 : start + 5], "big")):
        at = int.from_bytes(page[first + 2 * i : first + 2 * i + 2], "big")
        try:
            payload = _payload(page, at + (0 if kind == _LEAF else 4), pages, size)
            digest, body = _columns(payload)[3:5]
        except (IndexError, ValueError):
            continue
        if sha256(body).digest() == digest:
            yield digest, body


def _payload(page: bytes, at: int, pages: Mapping[int, bytes], size: int) -> bytes:
    """Payload of an index cell with its overflow pages."""
    length, at = _varint(page, at)
    if length > _LONGEST_EVENT:
        raise ValueError(length)
    most = (size - 12) * 64 // 255 - 23
    if length <= most:
        return page[at : at + length]
    least = (size - 12) * 32 // 255 - 23
    local = least + (length - least) % (size - 4)
    local = local if local <= most else least
    parts = [page[at : at + local]]
    following = int.from_bytes(page[at + local : at + local + 4], "big")
    left = length - local
    while left > 0:
        overflow = pages.get(following, b"")
        if len(overflow) < 4:
            raise ValueError(following)
        parts.append(overflow[4 : 4 + left])
        left -= size - 4
        following = int.from_bytes(overflow[:4], "big")
    return b"".join(parts)


def _columns(payload: bytes) -> list[bytes]:
    """Columns of a record, as bytes."""
    end, at = _varint(payload, 0)
    sizes: list[int] = []
    while at < end:
        kind, at = _varint(payload, at)
        sizes.append((kind - 12) // 2 if kind >= 12 else (0, 1, 2, 3, 4, 6, 8, 8, 0, 0, 0, 0)[kind])
    columns: list[bytes] = []
    for width in sizes:
        columns.append(payload[at : at + width])
        at += width
    return columns


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for i in range(9):
        byte = data[at + i]
        if i == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + i + 1
    raise ValueError(at)


def _by_hash(page: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Events that lie whole in some bytes, whatever became of the structure around them."""
    at = page.find(FIRST_BYTES)
    while at >= 0:
        digest = page[max(at - 32, 0) : at]
        growing = sha256(FIRST_BYTES)
        for end in range(at + len(FIRST_BYTES), min(len(page), at + _LONGEST_LOCAL)):
            growing.update(page[end : end + 1])
            if growing.digest() == digest:
                yield digest, page[at : end + 1]
                break
        at = page.find(FIRST_BYTES, at + 1)
