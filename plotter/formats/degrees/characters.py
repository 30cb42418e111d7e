"""One character for another: figures of all scripts and look-alike marks become plain ones."""

import unicodedata
from dataclasses import dataclass
from typing import Final

__all__ = ["Plain", "plain", "same_marks"]

_SAME: Final = {
    "º": "°", "˚": "°", "⁰": "°", "∘": "°", "*": "°", "◦": "°", "゜": "°", "ᵒ": "°", "⁎": "°",
    "’": "'", "‘": "'", "′": "'", "´": "'", "`": "'", "ʹ": "'", "ʼ": "'",
    "‵": "'", "׳": "'", "‛": "'",
    "”": '"', "“": '"', "″": '"', "ʺ": '"', "״": '"', "„": '"', "‟": '"',
    "¨": '"', "˝": '"', "〃": '"',
    "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "‒": "-", "―": "-", "﹣": "-", "➖": "-",
    "·": ".", "٫": ".", "∙": ".", "⋅": ".", "。": ".", "،": ",", "、": ",", "٬": ",", "‚": ",",
    "؛": ";", "⁄": "/", "∕": "/", "÷": "/",
}  # fmt: skip
# They change the direction or the look of a line, not its characters.
_UNSEEN: Final = frozenset("\u200b\u200c\u200d\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2060\u2066\u2067\u2068\u2069\ufeff\u00ad\ufe0e\ufe0f")  # fmt: skip # noqa: E501
_VULGAR: Final = frozenset("½¼¾⅓⅔⅛⅜⅝⅞")


@dataclass(frozen=True, slots=True)
class Plain:
    """A text in plain characters, and where each of them stands in the text as given.

    Parameters
    ----------
    text : str
        The plain characters.
    at : tuple of int
        Place of each in the given text, and the length of that text at the end.
    """

    text: str
    at: tuple[int, ...] | range


def same_marks(text: str) -> str:
    """The text with look-alike marks made plain, every character in its place.

    Examples
    --------
    >>> same_marks("8°57′20´´N")
    "8°57'20''N"
    """
    return "".join(_SAME.get(character, character) for character in text)


def plain(text: str) -> Plain:
    """A text in plain characters.

    Examples
    --------
    >>> plain("４８，５′ Ν").text
    "48,5' Ν"
    """
    if text.isascii():
        plain_text = (
            text.replace("*", "°").replace("`", "'") if "*" in text or "`" in text else text
        )
        return Plain(plain_text, range(len(text) + 1))
    out: list[str] = []
    at: list[int] = []
    for i, character in enumerate(text):
        if character in _UNSEEN:
            continue
        same = _SAME.get(character)
        if same is None and not character.isascii() and character not in _VULGAR:
            same = _one(character)
        out.append(same or character)
        at.append(i)
    return Plain("".join(out), (*at, len(text)))


def _one(character: str) -> str:
    """The plain form of one character, where it has one of a single character."""
    figure = unicodedata.digit(character, None)
    if figure is not None and unicodedata.category(character) == "Nd":
        return str(figure)
    if unicodedata.category(character) == "Zs":
        return " "
    if unicodedata.category(character) == "No":
        return character  # a raised or circled figure is a footnote, and no figure
    # A form of full or half width only: "é" taken apart would lose its accent's place.
    wide = unicodedata.normalize("NFKC", character)
    same = wide if len(wide) == 1 else character
    return _SAME.get(same, same)
