"""From a spoken line to the characters that were meant, with what was left out beside them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from plotter.errors import FormatError
from plotter.voice.numbers import join_numbers
from plotter.voice.tables import language
from plotter.voice.wording import Word, split_words

__all__ = ["Heard", "hear", "hear_all", "hear_words"]

_MOST_CHOICES: Final = 4
_STRONG: Final = frozenset({"letter", "figure", "number", "typed", "mark", "direction", "label"})
_LEFT_OUT: Final = frozenset(
    {
        "filler", "opener", "soft_opener", "ender", "again", "correction", "and", "negation",
        "unknown",
    }
)  # fmt: skip
_SINGLE: Final = frozenset({"letter", "figure"})


@dataclass(frozen=True, slots=True)
class Heard:
    """The characters that a spoken line stands for.

    Parameters
    ----------
    said : str
        The words as they came.
    text : str
        The characters meant.
    dropped : tuple of str
        Words that stand for no character, in order, as said.
    assumed : tuple of str
        Which meaning was given to a word that has more than one.
    unknown : tuple of str
        Those of the dropped words that are in no table.
    unknown_after : bool
        Whether any of these come after the characters.
    """

    said: str
    text: str
    dropped: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    unknown_after: bool = False


def hear(text: str, language_name: str = "english") -> Heard:
    """The likeliest characters that a spoken line stands for.

    Parameters
    ----------
    text : str
        Words, typed characters, or both, in any case.
    language_name : str
        Whose words.

    Raises
    ------
    FormatError
        If a word between the characters is in no table, or the line is too long.

    Examples
    --------
    >>> hear("grid is tree wun Uniform, Delta Quebec, double four, zero niner, over").text
    '31U DQ 44 09'
    """
    return hear_all(text, language_name)[0]


def hear_all(text: str, language_name: str = "english") -> tuple[Heard, ...]:
    """Every meaning of a spoken line, the likeliest first; see `hear`."""
    return hear_words(split_words(text, language(language_name)), text)


def hear_words(words: Sequence[Word], text: str) -> tuple[Heard, ...]:
    """Every meaning of words that were looked up already."""
    kept, before, after = _trimmed(join_numbers(words), text)
    runs = _runs_of_choices(kept)
    if len(runs) > _MOST_CHOICES:
        said = ", ".join(sorted({repr(kept[run[0]].said) for run in runs}))
        raise FormatError(
            f"too many words of {text[:80]!r} have more than one meaning ({said}): ask for it "
            "again in figures and spelling words",
            text,
        )
    dropped = tuple(
        w.said
        for w in (
            *(w for w in before if w.kind != "pause"),
            *(w for w in kept if w.kind in _LEFT_OUT),
            *(w for w in after if w.kind != "pause"),
        )
    )
    unknown = tuple(w.said for w in (*before, *after) if w.kind == "unknown")
    behind = any(w.kind == "unknown" for w in after)
    slips = tuple(dict.fromkeys(f"{w.said!r} taken as {w.options[0]}" for w in kept if w.slip))
    found: dict[str, Heard] = {}
    # The likeliest of each first, then with as few of the other meanings as possible.
    ways = sorted(product(*(range(len(kept[run[0]].options)) for run in runs)), key=sum)
    for way in ways:
        chosen: dict[int, str] = {}
        notes: list[str] = []
        left: list[str] = []
        for run, option in zip(runs, way, strict=True):
            word = kept[run[0]]
            character = word.options[option]
            for at in run:
                chosen[at] = character
            notes.append(
                f"{word.said!r} taken as {_name(character)}"
                if character
                else f"{word.said!r} left out as a word without meaning"
            )
            left += [] if character else [kept[at].said for at in run]
        heard = _assemble(kept, chosen)
        found.setdefault(
            heard,
            Heard(text, heard, (*dropped, *left), (*slips, *dict.fromkeys(notes)), unknown, behind),
        )
    return tuple(found.values())


def _name(character: str) -> str:
    return f"the {'figure' if character.isdigit() else 'letter'} {character}"


def _trimmed(words: Sequence[Word], text: str) -> tuple[list[Word], list[Word], list[Word]]:
    """Words from the first that means something to the last, and what lies before and after."""
    strong = [i for i, word in enumerate(words) if word.kind in _STRONG]
    if not strong:
        strong = [i for i, word in enumerate(words) if word.kind == "choice"]
    if not strong:
        raise FormatError(
            f"no figures or letters in {text[:80]!r}: expected a position, said or spelled", text
        )
    first, last = strong[0], strong[-1]
    unknown = [i for i, word in enumerate(words) if word.kind == "unknown"]
    inside = next((words[i] for i in unknown if first < i < last), None)
    if inside is not None:
        raise FormatError(
            f"cannot tell what {inside.said!r} stands for in {text[:80]!r}: ask for the position "
            "again",
            text,
        )
    start = max((i + 1 for i in unknown if i < first), default=0)
    stop = min((i for i in unknown if i > last), default=len(words))
    return list(words[start:stop]), list(words[:start]), list(words[stop:])


def _runs_of_choices(words: list[Word]) -> list[list[int]]:
    """Words with more than one meaning; the same word in a row has one meaning throughout.

    Between two figures an "oh" is a zero: no format has a letter O there.
    """
    runs: list[list[int]] = []
    for at, word in enumerate(words):
        if word.kind != "choice":
            continue
        if runs and runs[-1][-1] == at - 1 and words[at - 1].options == word.options:
            runs[-1].append(at)
        else:
            runs.append([at])
    return [run for run in runs if not _sure(words, run)]


def _sure(words: list[Word], run: list[int]) -> bool:
    before = words[run[0] - 1].kind if run[0] else ""
    after = words[run[-1] + 1].kind if run[-1] + 1 < len(words) else ""
    return (
        words[run[0]].options[-1] == "O"
        and before in ("figure", "number")
        and after in ("figure", "number")
    )


def _pieces(words: list[Word], chosen: dict[int, str]) -> Iterator[tuple[str, str]]:
    """Kind and characters of each word that stands for some."""
    for at, word in enumerate(words):
        if word.kind in _LEFT_OUT:
            continue
        if word.kind == "choice":
            character = chosen.get(at, word.options[0])
            if character:
                yield ("figure" if character.isdigit() else "letter"), character
        elif word.kind == "pause":
            yield "pause", " "
        else:
            yield word.kind, word.options[0]


def _assemble(words: list[Word], chosen: dict[int, str]) -> str:
    """Characters in one line: figures and letters said one by one run together."""
    text = ""
    before = "pause"
    glue = False  # whether the next piece joins on
    for kind, piece in _pieces(words, chosen):
        if kind == "pause":
            before, glue = ("pause", False) if before != "mark" else (before, glue)
            continue
        if piece == "minus":
            text = f"{text} -"
            before, glue = "mark", True
            continue
        degree_mark = kind == "mark" and piece in "°'\""
        joins = glue or kind == "mark" or (kind in _SINGLE and before in _SINGLE)
        text += piece if joins else f" {piece}"
        before, glue = kind, kind == "mark" and not degree_mark
    return " ".join(text.split())
