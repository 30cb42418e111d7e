"""Names of people, things and places: when two are one name, and when they only nearly are.

Two names are one where they differ in case, spacing, hyphens or a leading article. Where they
differ in less than a listener is sure to hear, somebody has to be asked: they are never taken for
one. Names that tell people apart by a number, a letter or a word of the spelling alphabet are
unlike as soon as these are.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache, lru_cache
from itertools import pairwise
from typing import Final

from plotter.reports.numbers import number_at
from plotter.voice.tables import language

__all__ = ["Names", "alike", "is_own_place", "key_of", "sounds_like"]

_OWN: Final = frozenset({
    "own place", "own position", "own location", "my place", "my position", "my location",
    "our place", "our position", "our location", "this place", "this position", "this location",
    "here", "me", "us", "where i am", "where we are",
})  # fmt: skip
_GROUPS: Final = frozenset({"team", "party", "group", "crew", "unit", "patrol", "squad", "section"})
# Shorter words are too alike to ask about: Tom and Tim are two people.
_LEAST_LETTERS: Final = 4
_LEAST_SOUNDS: Final = 3
_PIECES: Final = re.compile(r"\d+|[^\W\d_]+")
_SAME_SOUND: Final = (
    (re.compile(r"ph"), "f"), (re.compile(r"ck|qu|q|c(?![eiyh])|k"), "k"),
    (re.compile(r"c(?=[eiy])|z"), "s"), (re.compile(r"tch"), "ch"), (re.compile(r"wh"), "w"),
    (re.compile(r"^kn"), "n"), (re.compile(r"^wr"), "r"),
    (re.compile(r"gh(?!$)|(?<!c)(?<!s)h"), ""), (re.compile(r"x"), "ks"), (re.compile(r"v"), "f"),
)  # fmt: skip


def key_of(name: str) -> str:
    """Name as looked up: case, spacing and a leading article do not matter."""
    words = name.lower().replace("-", " ").split()
    return " ".join(words[1:] if len(words) > 1 and words[0] == "the" else words)


def is_own_place(where: str) -> bool:
    """Whether words mean the place of whoever says them.

    Examples
    --------
    >>> is_own_place("our position"), is_own_place("the chapel")
    (True, False)
    """
    return key_of(where.rstrip(" .,;")) in _OWN


def sounds_like(one: str, other: str) -> bool:
    """Whether two unlike names could be one: by their sound, their spelling, or their numbers.

    Examples
    --------
    >>> sounds_like("Alpha", "Alfa"), sounds_like("team two", "Team 2")
    (True, True)
    >>> sounds_like("Team 1", "Team 2"), sounds_like("Team 1", "team 1")
    (False, False)
    """
    if key_of(one) == key_of(other):
        return False
    if _who(key_of(one)) == _who(key_of(other)) != "":
        return True
    first, second = _parts(key_of(one)), _parts(key_of(other))
    if "".join(first) == "".join(second):
        return True
    marks = [tuple(part for part in parts if _tells_apart(part)) for parts in (first, second)]
    if marks[0] != marks[1] and not _one_misspelled(first, second):
        return False
    if len(first) != len(second):
        return _nearly("".join(first), "".join(second)) and any(
            len(part) >= _LEAST_LETTERS for part in (*first, *second)
        )
    unlike = [(a, b) for a, b in zip(first, second, strict=True) if a != b]
    return all(_same_sound(a, b) for a, b in unlike) or (
        len(unlike) == 1 and _word_nearly(*unlike[0])
    )


def _who(key: str) -> str:
    """A name without the word for what kind of group it is: Kestrel may be the Kestrel team."""
    return " ".join(word for word in key.split() if word not in _GROUPS)


def alike(name: str, known: Iterable[str]) -> tuple[str, ...]:
    """Those of the known names that this one could be, but is not by its letters.

    Examples
    --------
    >>> alike("Alpha", ["Bravo", "Alfa"])
    ('Alfa',)
    """
    return tuple(dict.fromkeys(each for each in known if sounds_like(name, each)))


@dataclass(slots=True)
class Names:
    """Names as they come in; each new one is held against those that could be meant.

    A name is compared with those that share a sound, or all letters but one, with it: to compare it
    with every other would keep a person waiting where there are thousands.
    """

    _known: dict[str, str] = field(default_factory=dict)
    _by_hint: dict[str, list[str]] = field(default_factory=dict)

    def add(self, name: str) -> tuple[str, ...]:
        """Remember a name; the known ones that a new one could be, none for one that is known."""
        key = key_of(name)
        if not key or key in self._known:
            return ()
        hints = _hints(key)
        near = dict.fromkeys(
            other for hint in hints for other in self._by_hint.get(hint, ()) if other != key
        )
        found = tuple(self._known[other] for other in near if sounds_like(key, other))
        self._known[key] = name
        for hint in hints:
            self._by_hint.setdefault(hint, []).append(key)
        return found


@lru_cache(maxsize=4096)
def _parts(key: str) -> tuple[str, ...]:
    """Words and numbers of a name: number words in figures, spelling words as their letters."""
    found: list[str] = []
    at = 0
    while match := _PIECES.search(key, at):
        number = number_at(key, match.start()) if match[0][0].isalpha() else None
        if number is not None and number[1] > match.start() and key[number[1] :][:1] in ("", " "):
            found.append(f"{number[0].value:g}")
            at = number[1]
        else:
            word = match[0]
            found.append(str(int(word)) if word.isdecimal() else _letters().get(word, word))
            at = match.end()
    return tuple(found)


@cache
def _letters() -> dict[str, str]:
    """Spelling words, in every spelling of the tables, to the letter that they stand for."""
    return {
        phrase[0]: meaning.options[0]
        for phrase, meaning in language("english").phrases.items()
        if meaning.kind == "letter" and len(phrase) == 1 and len(phrase[0]) >= _LEAST_SOUNDS
    }


def _tells_apart(part: str) -> bool:
    """Whether a word is a number, a letter, or stands for one."""
    return part.isdecimal() or len(part) == 1


def _one_misspelled(first: tuple[str, ...], second: tuple[str, ...]) -> bool:
    """Whether the only difference is a spelling word beside a word that nearly is one."""
    if len(first) != len(second):
        return False
    unlike = [pair for pair in zip(first, second, strict=True) if pair[0] != pair[1]]
    return len(unlike) == 1 and sum(part.isupper() for part in unlike[0]) == 1


def _word_nearly(one: str, other: str) -> bool:
    """Whether two words differ by one letter; a letter stands for its spelling words."""
    if one.isupper() != other.isupper():
        letter, word = (one, other) if one.isupper() else (other, one)
        return any(
            len(spelling) >= _LEAST_LETTERS and _nearly(spelling, word)
            for spelling, stands_for in _letters().items()
            if stands_for == letter
        )
    return min(len(one), len(other)) >= _LEAST_LETTERS and _nearly(one, other)


def _nearly(one: str, other: str) -> bool:
    """Whether one letter was changed, left out, put in, or changed places with the next."""
    if any(character.isdecimal() for character in one + other):
        return False
    if abs(len(one) - len(other)) > 1:
        return False
    if len(one) > len(other):
        one, other = other, one
    start = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), len(one))
    rest, beside = one[start:], other[start:]
    if len(one) < len(other):
        return rest == beside[1:]
    return rest[1:] == beside[1:] or (rest[:2] == beside[1::-1] and rest[2:] == beside[2:])


def _same_sound(one: str, other: str) -> bool:
    if one.isdecimal() or other.isdecimal() or min(len(one), len(other)) < _LEAST_LETTERS:
        return False
    sound = _sound(one)
    return len(sound) >= _LEAST_SOUNDS and sound == _sound(other)


@lru_cache(maxsize=4096)
def _sound(word: str) -> str:
    """Consonants of a word as they are heard, with the vowel it begins with."""
    for pattern, heard in _SAME_SOUND:
        word = pattern.sub(heard, word)
    first, rest = word[:1], re.sub(r"[aeiouyw]", "", word[1:])
    whole = ("a" if first in "aeiouy" else first) + rest
    return whole[:1] + "".join(b for a, b in pairwise(whole) if a != b)


def _hints(key: str) -> frozenset[str]:
    """What a name shares with every other that `sounds_like` it."""
    parts = _parts(key)
    whole = "".join(parts)
    found = {whole, "/" + "/".join(_sound(part) if part.islower() else part for part in parts)}
    found.add(f"={_who(key)}")
    spellings = {whole}
    for i, part in enumerate(parts):
        if part.isupper():
            for spelling, letter in _letters().items():
                if letter == part:
                    spellings.add("".join((*parts[:i], spelling, *parts[i + 1 :])))
    for each in spellings:
        found.add(each)
        found |= {each[:i] + each[i + 1 :] for i in range(len(each)) if not each[i].isdecimal()}
    return frozenset(found)
