"""Words that are a figure or a side but for one letter: heard badly, or typed wrong."""

from collections.abc import Iterable
from functools import cache
from typing import Final

from plotter.formats.degrees.lexicon import lexicon
from plotter.voice.tables import language

__all__ = ["nearly_a_figure", "nearly_a_side", "says_a_side"]

_SHORTEST_FIGURE: Final = 3
_SHORTEST_SIDE: Final = 3
# Words of a report that are one letter off a figure or a side.
_OTHERS: Final = frozenset(
    {"fire", "fine", "find", "file", "fixed", "sever", "severe", "tent", "town", "tow", "too",
     "form", "foul", "flour", "fort", "foot", "night", "nice", "line", "once", "ones", "owe", "tee",
     "this", "then", "site", "sit", "zeros", "eights", "free", "rest", "test", "best", "vest",
     "nest", "lost", "post", "most", "cost", "host", "last", "easy", "ease", "eats", "went",
     "welt", "wet", "worth", "forth", "mouth", "youth", "sun", "sum", "sup", "cast", "fast", "past",
     "sound", "pest", "zest", "lest", "just", "must", "dust", "rust", "list", "mist", "fist"}
)  # fmt: skip


@cache
def nearly_a_figure(said: str) -> bool:
    """Whether a word is a spoken figure but for one letter: "sevn", "fourr"."""
    figures = (
        phrase[0]
        for phrase, meaning in language().phrases.items()
        if len(phrase) == 1 and len(phrase[0]) >= _SHORTEST_FIGURE and meaning.kind == "figure"
    )
    return _nearly(said, figures)


@cache
def nearly_a_side(said: str) -> bool:
    """Whether a word is a side of an angle in any language but for one letter: "wes", "oues"."""
    return _nearly(said, _side_words())


@cache
def says_a_side(said: str) -> bool:
    """Whether a word, or an abbreviation with its full stops, is a side in any language."""
    word = "".join(said.casefold().split()).replace(".", "")
    return any(role == "side" for role, _ in lexicon().get((word,), ()))


@cache
def _side_words() -> tuple[str, ...]:
    return tuple(
        phrase[0]
        for phrase, roles in lexicon().items()
        if len(phrase) == 1
        and len(phrase[0]) >= _SHORTEST_SIDE
        and any(role == "side" for role, _ in roles)
    )


def _nearly(said: str, words: Iterable[str]) -> bool:
    said = said.casefold()
    if said in _OTHERS or len(said) < _SHORTEST_SIDE:
        return False
    return any(_one_off(said, word) for word in words)


def _one_off(one: str, other: str) -> bool:
    """Whether two words differ by one letter that is missing, more, or another."""
    if abs(len(one) - len(other)) > 1 or one == other:
        return False
    same = next(
        (i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b),
        min(len(one), len(other)),
    )
    tails = ((same + 1, same + 1), (same + 1, same), (same, same + 1))
    return any(one[a:] == other[b:] for a, b in tails)
