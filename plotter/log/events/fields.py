"""Fields of a stored line: what must not stand in them is written with a backslash before it."""

import re
from collections.abc import Iterable
from typing import Final

__all__ = ["field", "fields", "items", "joined", "joined_items", "unescaped"]

_ESCAPES: Final = {"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r", "\0": "\\0", "\x1f": "\\u"}
_PLAIN: Final = {escape: character for character, escape in _ESCAPES.items()}
_TO_ESCAPE: Final = re.compile(r"[\\\t\n\r\0\x1f]")
_ESCAPED: Final = re.compile(r"\\[\\tnr0u]")
_BETWEEN: Final = "\x1f"


def joined(parts: Iterable[str]) -> str:
    """Texts as fields of a line."""
    return _joined("\t", list(parts))


def joined_items(parts: Iterable[str]) -> str:
    """Texts as the items of one field."""
    return _joined(_BETWEEN, list(parts))


def _joined(between: str, parts: list[str]) -> str:
    whole = between.join(parts)
    # Most texts hold nothing to escape: then the only signs are those that were put between them.
    if len(_TO_ESCAPE.findall(whole)) == max(len(parts) - 1, 0):
        return whole
    return between.join(map(_escaped, parts))


def field(line: str, number: int) -> str:
    """One field of a line, from 0."""
    return unescaped(line.split("\t", number + 1)[number])


def fields(line: str) -> list[str]:
    """Every field of a line."""
    return [unescaped(each) for each in line.split("\t")]


def items(line: str, number: int) -> tuple[str, ...]:
    """The items of one field of a line; none where it is empty."""
    whole = line.split("\t", number + 1)[number]
    return tuple(unescaped(each) for each in whole.split(_BETWEEN)) if whole else ()


def unescaped(text: str) -> str:
    """A field as the text that it stands for."""
    return _ESCAPED.sub(lambda found: _PLAIN[found[0]], text) if "\\" in text else text


def _escaped(text: str) -> str:
    return _TO_ESCAPE.sub(lambda found: _ESCAPES[found[0]], text)
