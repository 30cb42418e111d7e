"""The words of a spoken language and what each stands for, loaded from a data file when asked."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, Literal, TypeAlias

from plotter.errors import FormatError

__all__ = ["Kind", "Language", "Meaning", "language", "languages", "spelled"]

_FOLDER: Final = Path(__file__).resolve().parent / "data"

Kind: TypeAlias = Literal[
    "letter", "figure", "tens", "teen", "hundred", "thousand", "million", "fraction", "times",
    "mark", "direction", "label", "choice", "pause", "opener", "soft_opener", "ender", "again",
    "correction", "filler", "and", "negation", "relation",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a word or a phrase stands for.

    Parameters
    ----------
    kind : Kind
        Letter, figure, mark ...; how it joins its neighbours.
    options : tuple of str
        The characters it can stand for, likeliest first; an empty string leaves it out.
    slip : bool
        Whether it is no proper spelling but what a listener or a machine makes of one.
    """

    kind: Kind
    options: tuple[str, ...] = ("",)
    slip: bool = False


@dataclass(frozen=True, slots=True)
class Language:
    """The words of one language.

    Parameters
    ----------
    name : str
        Name of its data file.
    phrases : mapping of tuple of str to Meaning
        From the words of a phrase, in lower case and without hyphens, to what it stands for.
    longest : int
        Words of the longest phrase.
    short_words : frozenset of str
        Words of two or three letters that are words, not letters that somebody typed.
    letters_to_say, figures_to_say, figures_of_the_itu, marks_to_say : mapping of str to str
        What to say for a character.
    points : tuple of (str, str)
        The 32 points of the compass from north, by name and by letters.
    counted, measured : tuple of tuple of str
        Words after a figure that say what it counts, and before one that say what it measures.
    """

    name: str
    phrases: Mapping[tuple[str, ...], Meaning]
    longest: int
    short_words: frozenset[str]
    letters_to_say: Mapping[str, str]
    figures_to_say: Mapping[str, str]
    figures_of_the_itu: Mapping[str, str]
    marks_to_say: Mapping[str, str]
    points: tuple[tuple[str, str], ...]
    counted: tuple[tuple[str, ...], ...]
    measured: tuple[tuple[str, ...], ...]


def spelled(phrase: str) -> tuple[str, ...]:
    """Words of a phrase as they are looked up.

    Examples
    --------
    >>> spelled("X-ray")
    ('x', 'ray')
    """
    return tuple(phrase.lower().replace("’", "'").replace("-", " ").split())


def languages() -> tuple[str, ...]:
    """Names of the languages whose tables are installed.

    A file with an underscore in its name holds something else about a language.
    """
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.json") if "_" not in path.stem))


@cache
def language(name: str = "english") -> Language:
    """Words of a language.

    Raises
    ------
    FormatError
        If there is no table of that name, or it gives one phrase two meanings.
    """
    if name not in languages():
        raise FormatError(
            f"no words of the language {name!r}: expected one of {', '.join(languages())}", name
        )
    table: dict[str, Any] = json.loads((_FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    phrases: dict[tuple[str, ...], Meaning] = {}
    for phrase, meaning in _entries(table):
        key = spelled(phrase)
        if phrases.setdefault(key, meaning) != meaning:
            raise FormatError(f"{phrase!r} has two meanings in the words of {name!r}", phrase)
    first = {letter: words[0] for letter, words in table["letters"].items()}
    said = table["marks"] | table["directions"] | table["labels"]
    marks = {mark: words[0] for mark, words in said.items()}
    return Language(
        name,
        MappingProxyType(phrases),
        max(len(key) for key in phrases),
        frozenset(table["short_words"]),
        MappingProxyType(first),
        MappingProxyType(dict(table["figures_to_say"])),
        MappingProxyType(dict(table["figures_of_the_itu"])),
        MappingProxyType(marks),
        tuple((name, letters) for name, letters in table["points_of_the_compass"]),
        tuple(spelled(phrase) for phrase in table["counted"]),
        tuple(spelled(phrase) for phrase in table["measured"]),
    )


def _entries(table: dict[str, Any]) -> Iterator[tuple[str, Meaning]]:
    """Every phrase of a table with its meaning."""
    by_character: tuple[tuple[str, Kind, bool], ...] = (
        ("letters", "letter", False),
        ("letter_names", "letter", True),
        ("older_letters", "letter", True),
        ("figures", "figure", False),
        ("slips", "figure", True),
        ("teens", "teen", False),
        ("tens", "tens", False),
        ("times", "times", False),
        ("fractions", "fraction", False),
        ("marks", "mark", False),
        ("directions", "direction", False),
        ("labels", "label", False),
    )
    for section, kind, slip in by_character:
        for character, words in table[section].items():
            for phrase in words:
                yield phrase, Meaning(kind, (character,), slip)
    for phrase, options in table["choices"].items():
        yield phrase, Meaning("choice", tuple(options))
    by_kind: tuple[tuple[str, Kind], ...] = (
        ("hundred", "hundred"),
        ("thousand", "thousand"),
        ("million", "million"),
        ("relations", "relation"),
        ("pauses", "pause"),
        ("openers", "opener"),
        ("soft_openers", "soft_opener"),
        ("enders", "ender"),
        ("negations", "negation"),
        ("again", "again"),
        ("corrections", "correction"),
        ("fillers", "filler"),
        ("and", "and"),
    )
    for section, kind in by_kind:
        for phrase in table[section]:
            yield phrase, Meaning(kind)
