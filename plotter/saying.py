"""Words from outside, made harmless where people see them: nothing in them can act or hide."""

import re
from typing import Final

__all__ = ["harmless", "harmless_json", "on_one_line"]

# Characters that a screen obeys or does not show: control characters, marks of direction, joiners
# and spaces without a width, tags, separators of lines, halves of characters.
_UNSEEN: Final = (
    "\x00-\x09\x0b-\x1f\x7f-\x9f\u00ad\u061c\u06dd\u070f\u180e\u200b-\u200f\u2028-\u202e"
    "\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb\U00013430-\U0001345f\U0001bca0-\U0001bca3"
    "\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
)
_SOME: Final = re.compile(f"[{_UNSEEN}]")
_ALL: Final = re.compile(f"[{_UNSEEN}\n]")


def harmless(text: str) -> str:
    """Text for a screen; lines stay lines.

    Parameters
    ----------
    text : str
        Whatever came in.

    Returns
    -------
    str
        With the number in place of each character that acts or cannot be seen; a tab is a blank.

    Examples
    --------
    >>> harmless("all well" + chr(27) + "[2J")
    'all well<U+001B>[2J'
    """
    return _SOME.sub(_shown, text)


def on_one_line(text: str) -> str:
    """The same for a text that must not begin a line of its own.

    Examples
    --------
    >>> on_one_line("first" + chr(10) + "second")
    'first<U+000A>second'
    """
    return _ALL.sub(_shown, text)


def harmless_json(text: str) -> str:
    r"""JSON whose strings hold no such character as it is: each is written ``\u001b``."""
    return _SOME.sub(_escaped, text)


def _shown(match: re.Match[str]) -> str:
    return " " if match[0] == "\t" else f"<U+{ord(match[0]):04X}>"


def _escaped(match: re.Match[str]) -> str:
    units = match[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[i : i + 2].hex()}" for i in range(0, len(units), 2))
