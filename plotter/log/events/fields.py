"""Fields of a stored line: what must not stand in them is written with a backslash before it."""

import re
from typing import Final

__all__ = ["BETWEEN_ITEMS", "escaped", "field", "fields", "is_plain", "items", "unescaped"]

_ESCAPES: Final = {"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r", "\0": "\\0", "\x1f": "\\u"}
_MEANT: Final = {escape: character for character, escape in _ESCAPES.items()}
_TO_ESCAPE: Final = re.compile(r"[\\\t\n\r\0\x1f]")
_ESCAPED: Final = re.compile(r"\\[\\tnr0u]")
BETWEEN_ITEMS: Final = "\x1f"


def is_plain(text: str) -> bool:
    """Whether it surely holds nothing to escape, as most texts; what is escaped does not print."""
    return text.isprintable() and "\\" not in text


def escaped(text: str) -> str:
    """A text as it is written in a field, or as one item of a field."""
    return text if is_plain(text) else _TO_ESCAPE.sub(lambda found: _ESCAPES[found[0]], text)


def field(line: str, number: int) -> str:
    """One field of a line, from 0."""
    return unescaped(line.split("\t", number + 1)[number])


def fields(line: str) -> list[str]:
    """Every field of a line."""
    return [unescaped(each) for each in line.split("\t")]


def items(line: str, number: int) -> tuple[str, ...]:
    """The items of one field of a line; none where it is empty."""
    whole = line.split("\t", number + 1)[number]
    return tuple(unescaped(each) for each in whole.split(BETWEEN_ITEMS)) if whole else ()


def unescaped(text: str) -> str:
    """A field as the text that it stands for."""
    return _ESCAPED.sub(lambda found: _MEANT[found[0]], text) if "\\" in text else text
