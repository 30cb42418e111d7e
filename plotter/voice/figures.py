"""Number words in an ordinary sentence as figures; every other word stays as it is."""

from plotter.voice.numbers import join_numbers
from plotter.voice.tables import language
from plotter.voice.wording import LONGEST, Word, split_words

__all__ = ["in_figures"]


def in_figures(text: str, language_name: str = "english") -> str:
    """The text with figures for its number words, the same text where it has none.

    Words that may or may not be figures ("to", "for") are left alone, and so are slips.

    Examples
    --------
    >>> in_figures("two point four kilometres on two four zero magnetic ")
    '2.4 kilometres on 240 magnetic '
    """
    if len(text) > LONGEST:
        return text
    words = join_numbers(_zeros(split_words(text, language(language_name))))
    if not any(_is_figures(word) and not word.said.isdigit() for word in words):
        return text
    out = ""
    glue = False
    for at, word in enumerate(words):
        figures = _is_figures(word)
        point = word.kind == "mark" and word.options[0] == "." and _between(words, at)
        piece = word.options[0] if figures or point else word.said
        joins = point or glue or (word.kind == "pause" and word.said in ",;:.!?)]")
        out += piece if joins or not out else f" {piece}"
        after = words[at + 1] if at + 1 < len(words) else None
        single = word.kind == "figure" and after is not None and after.kind == "figure"
        glue = point or (single and not word.slip)
    return out + text[len(text.rstrip()) :]


def _zeros(words: list[Word]) -> list[Word]:
    """An "oh" before a figure is a zero."""
    found: list[Word] = []
    for word in reversed(words):
        zero = word.kind == "choice" and word.options[0] == "0"
        if zero and found and found[-1].kind == "figure":
            found.append(Word(word.said, "figure", ("0",)))
        else:
            found.append(word)
    return found[::-1]


def _is_figures(word: Word) -> bool:
    return word.kind in ("figure", "number") and not word.slip


def _between(words: list[Word], at: int) -> bool:
    """Whether a point stands between figures."""
    return (
        0 < at < len(words) - 1
        and (_is_figures(words[at - 1]) or words[at - 1].kind == "typed")
        and (_is_figures(words[at + 1]) or words[at + 1].kind == "typed")
    )
