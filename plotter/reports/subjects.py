"""Whose place is it: the words about a position, and who or what they say is there.

The sender is there only where the words say so, or where there are none but the position and those
of procedure. Somebody or something that is named is the subject. Where neither is plain the answer
says so and holds a question: a sender who is moved by a guess takes its next bearing from there.
"""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Literal

from plotter.reports.names import key_of
from plotter.reports.numbers import number_at
from plotter.voice.tables import language

__all__ = ["Subject", "Thing", "changes_nothing", "subject_of"]

Thing = Literal["", "person", "object", "hazard", "place", "station"]

_FILE: Final = Path(__file__).resolve().parent / "data" / "subjects.json"
_CLAUSE_END: Final = re.compile(r"[.;:,!?()]+(?=\s|$)|\s[-–—]+\s|\bbreak\b", re.IGNORECASE)
_WORD: Final = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*")
_THIS_IS: Final = re.compile(r"(?:^|.*\s)(?:this\s+is|from)\s+(?P<who>.+)", re.IGNORECASE)
_THINGS: Final[tuple[tuple[str, Thing], ...]] = (
    ("people", "person"), ("objects", "object"), ("hazards", "hazard"), ("places", "place"),
)  # fmt: skip
# "In 20 minutes" and "an hour ago" say that nobody is there now.
_NOT_NOW: Final = re.compile(
    r"\b(?:in|within|after)\s+(?:about\s+)?(?:an?|\d+|half\s+an|[a-z]+(?:\s+[a-z]+)?)\s+"
    r"(?:min(?:ute)?s?|hours?|hrs?|days?)\b|\bago\b",
    re.IGNORECASE,
)
_TIME: Final = re.compile(
    r"(?:at\s+|time\s+)?\d{1,2}[:.]?\d{2}\s*(?:z|zulu|utc|hours|hrs|h|local)?", re.IGNORECASE
)
_GREETING: Final = re.compile(r"(?:hello|hi|good\s+\w+)\s+(?P<who>.+)", re.IGNORECASE)
# "The mill is at", "Otter are now 2 km north of": whose place it is stands before the verb.
_IS_AT: Final = re.compile(
    r"(?P<who>.+?)\s+(?:is|are)(?:\s+(?:now|currently|located|situated|at|in|still))*",
    re.IGNORECASE,
)
_TELLING: Final = frozenset(
    {"report", "reports", "reporting", "saw", "sees", "says", "heard", "told"}
)
# Before a name they say a place.
_PLACING: Final = frozenset(
    {"in", "on", "at", "near", "by", "from", "behind", "above", "below", "the"}
)
_ARTICLES: Final = frozenset({"the", "a", "an"})
_LONGEST_NAME: Final = 40
_MOST_PHRASE: Final = 5
_MOST_NAME_WORDS: Final = 3


@dataclass(frozen=True, slots=True)
class Subject:
    """Who or what is at a position, as its words have it.

    Parameters
    ----------
    whose : {"sender", "named", "unclear"}
        The sender itself, somebody or something that is named, or not plain.
    name : str
        What is there, as said; empty for the sender.
    kind : Thing
        What kind of thing that is; empty where it is not known.
    number : int or None
        How many, where it was said.
    state : str
        What else was said of it, as heard.
    said : str
        Everything that was said beside the position, as heard.
    question : str
        What to ask; empty where it is plain.
    says_so : bool
        Whether the words say that the sender itself is there.
    """

    whose: Literal["sender", "named", "unclear"]
    name: str = ""
    kind: Thing = ""
    number: int | None = None
    state: str = ""
    said: str = ""
    question: str = ""
    says_so: bool = False


@dataclass(frozen=True, slots=True)
class _Clause:
    """A clause and what it says.

    "own", "thing", "station", "pronoun"; "called" for a station that may only be called; "voice"
    for somebody else who speaks; "empty" for procedure; "other".
    """

    text: str
    what: str
    name: str = ""
    kind: Thing = ""
    state: str = ""
    unsure: bool = False


def subject_of(before: str, after: str, sender: str, known: Iterable[str] = ()) -> Subject:
    """Find whose place it is in the words before and after a position.

    Parameters
    ----------
    before, after : str
        What was said before the position and after it.
    sender : str
        Who said it.
    known : iterable of str
        Names of others who may be there or may be called.

    Examples
    --------
    >>> subject_of("we are now at", "two casualties", "Bravo").whose
    'sender'
    >>> found = subject_of("two injured walkers at", "need a stretcher", "Bravo")
    >>> found.name, found.number, found.state
    ('two injured walkers', 2, 'need a stretcher')
    >>> subject_of("heading for", "", "Bravo").question
    "Whose place is this: Bravo's, or what does 'heading for' say?"
    """
    others = {key_of(name): name for name in known if key_of(name) != key_of(sender)}
    said = "; ".join(words for words in (_tidy(before), _tidy(after)) if words)
    lead = [_clause(text, sender, others) for text in _clauses(before)]
    tail = [_clause(text, sender, others) for text in _clauses(after)]
    spoken = [each for each in lead if each.what != "empty"]
    own = any(each.what == "own" for each in (*lead, *tail))
    if not own and not spoken and _acknowledges(before):
        # "Copy 47.2N 14.6E": what was heard is read back, and nobody says to be there.
        words = _short(_tidy(before))
        return Subject("unclear", words, said=said, question=_asked(words, sender))
    # Who is called stands alone at the beginning: "Base, we are at ...".
    if len(spoken) > 1 and spoken[0].what == "called":
        spoken = spoken[1:]
    if not spoken:
        return _by_the_tail(tail, sender, said)
    last = spoken[-1]
    if last.what == "pronoun" and not last.unsure:
        last = next((each for each in reversed(spoken) if each.what == "thing"), last)
    plain = not last.unsure and all(each.what != "voice" for each in spoken)
    after_words = "; ".join(each.text for each in tail if each.what != "empty")
    if plain and last.what == "own":
        return Subject("sender", state=after_words, said=said, says_so=True)
    rest = [each.text for each in spoken if each is not last and each.what != "pronoun"]
    state = "; ".join(words for words in (*rest, last.state, after_words) if words)
    if plain and last.what in ("thing", "station"):
        return Subject("named", last.name, last.kind, _number(last.name), state, said)
    words = _short("; ".join(each.text for each in spoken))
    name = last.name if last.what == "thing" else words
    return Subject("unclear", name, last.kind, _number(name), state, said, _asked(words, sender))


def _acknowledges(before: str) -> bool:
    """Whether words before a position answer somebody, or say that it is only near."""
    words = " ".join(_words(before))
    return any(re.search(rf"(?:^|\s){each}(?:\s|$)", words) for each in _table("acknowledging"))


def _by_the_tail(tail: list[_Clause], sender: str, said: str) -> Subject:
    """With nothing before the position: the sender's, unless what follows says or may say more."""
    spoken = [each for each in tail if each.what != "empty"]
    if all(each.what == "own" or _own_state(each.text) for each in spoken):
        own = any(each.what == "own" for each in spoken)
        state = "; ".join(each.text for each in spoken)
        return Subject("sender", state=state, said=said, says_so=own)
    words = _short("; ".join(each.text for each in spoken))
    thing = next((each for each in spoken if each.what in ("thing", "station")), None)
    name = thing.name if thing else words
    kind: Thing = thing.kind if thing else ""
    return Subject("unclear", name, kind, _number(name), words, said, _asked(words, sender))


def changes_nothing(words: str) -> bool:
    """Whether words after a position are known to say who, how many, or how, and nothing of where.

    Examples
    --------
    >>> changes_nothing("two casualties"), changes_nothing("strike that")
    (True, False)
    """
    needs = {
        "need",
        "needs",
        "needing",
        "request",
        "requesting",
        "require",
        "requires",
        "have",
        "has",
    }
    return all(
        _own_state(clause) or _thing(clause) is not None or needs & set(_words(clause))
        for clause in _clauses(words)
    )


def _asked(words: str, sender: str) -> str:
    return f"Whose place is this: {sender}'s, or what does {words!r} say?"


def _clauses(text: str) -> list[str]:
    return [part for part in (_tidy(each) for each in _CLAUSE_END.split(text)) if part]


def _tidy(text: str) -> str:
    return " ".join(text.split()).strip(" ,;:.!?()-–—")


def _clause(text: str, sender: str, others: dict[str, str]) -> _Clause:
    """What a clause says about who is there."""
    greeted = _GREETING.fullmatch(text)
    if _TIME.fullmatch(text) or (greeted and key_of(greeted["who"]) in others):
        return _Clause(text, "empty")
    if match := _THIS_IS.fullmatch(text):
        who = _own_name(match["who"], sender)
        if who is not None:
            # "Base this is Bravo we are at": what follows the name counts.
            return _clause(who, sender, others) if who else _Clause(text, "empty")
        if _is_voice(match["who"], others):
            return _Clause(text, "voice")
    called = _called(text, others)
    if called:
        who = _own_name(called, sender)
        if who == "":
            return _Clause(text, "empty")
        if who is not None or _own(_words(called)):
            return _clause(who if who is not None else called, sender, others)
    first = _words(text)[:1]
    if first and first[0] in _table("orders") and _words(text)[:2] != ["go", "ahead"]:
        # "Go 600 m east of": somebody is told to be there, nobody is.
        return _Clause(text, "other", unsure=True)
    bare = _bare(text)
    if not bare:
        # "Am at", "I am": the verb alone is the sender's.
        return _Clause(text, "own" if _own(_words(text)) else "empty")
    own = _own_name(" ".join(bare), sender)
    if own == "":
        return _Clause(text, "own")
    return _about(text, bare, own if own is not None else text, others)


def _about(text: str, bare: list[str], rest: str, others: dict[str, str]) -> _Clause:
    """What a clause says that is no call: its words, its bare words, those after the own name."""
    words = _words(rest)
    unsure = _NOT_NOW.search(text) is not None or any(w in _table("unsure") for w in words)
    name = others.get(key_of(" ".join(bare)))
    if name and _words(text)[:1] and _words(text)[0] in _PLACING:
        # "In the harbour at": a place of that name, or the team that is called so.
        return _Clause(text, "other", name, unsure=True)
    if name:
        # "Charlie is at" says where Charlie is; "Charlie" alone may only be called.
        what = "called" if key_of(text) == key_of(name) else "station"
        return _Clause(text, what, name, "station", "", unsure)
    thing = _thing(rest)
    if thing is None and not unsure and not _own(words) and (match := _IS_AT.fullmatch(rest)):
        named = _bare(match["who"])
        plain = not any(word.lower() in _table("pronouns") | {"i", "we"} for word in named)
        if plain and 0 < len(named) <= _MOST_NAME_WORDS:
            thing = (" ".join(named), "", "")
    if _own(words):
        # "We are with an injured man at": both are there, or one of them.
        return _Clause(text, "own", *(thing or ("", "", "")), unsure or thing is not None)
    if thing is not None:
        return _Clause(text, "thing", *thing, unsure)
    if all(word in _table("pronouns") or word in _table("joints") for word in words):
        return _Clause(text, "pronoun", unsure=unsure)
    return _Clause(text, "other", unsure=unsure)


def _called(text: str, others: dict[str, str]) -> str | None:
    """What follows the name of somebody else; None where the words do not begin with one."""
    words = key_of(text).split()
    while words and words[0] in ("hello", "hi"):
        words.pop(0)
    for size in range(min(_MOST_NAME_WORDS, len(words)), 0, -1):
        if " ".join(words[:size]) in others:
            return " ".join(words[size:])
    return None


def _is_voice(who: str, others: dict[str, str]) -> bool:
    """Whether "this is" these words names somebody else who speaks."""
    if _called(who, others) is not None:
        return True
    words = _bare(who)
    return (
        bool(words)
        and len(words) <= _MOST_NAME_WORDS
        and not _own(_words(who))
        and (_thing(who) is None)
    )


def _own_name(words: str, sender: str) -> str | None:
    """What follows the sender's own name; None where the words do not begin with it."""
    name = key_of(sender).split()
    found = key_of(words).split()
    if not name or found[: len(name)] != name:
        return None
    return " ".join(found[len(name) :])


def _words(text: str) -> list[str]:
    return [match[0].lower().replace("’", "'") for match in _WORD.finditer(text)]


def _bare(text: str) -> list[str]:
    """Words of a clause but those that only join it to a position, and those of procedure."""
    words = _with_article(_WORD.findall(text))
    while words:
        for size in range(min(_MOST_PHRASE, len(words)), 0, -1):
            if _joins(words[-size:]):
                words = words[:-size]
                break
            if _joins(words[:size]):
                words = words[size:]
                break
        else:
            break
    return words


def _with_article(words: list[str]) -> list[str]:
    """The same, an article and a word of procedure behind it as one: "the well" is a thing."""
    found: list[str] = []
    for word in words:
        if found and found[-1].lower() in _ARTICLES and _procedure(word):
            found[-1] = f"{found[-1]} {word}"
        else:
            found.append(word)
    return found


def _joins(words: list[str]) -> bool:
    return _procedure(" ".join(words)) or (len(words) == 1 and words[0].lower() in _table("joints"))


def _own(words: list[str]) -> bool:
    """Whether a clause begins by saying that the speaker is there, and says no more than how."""
    while words:
        size = next((n for n in range(_MOST_PHRASE, 0, -1) if _procedure(" ".join(words[:n]))), 0)
        if not size:
            break
        words = words[size:]
    for head in sorted(_table("own_nouns") | _table("own_heads"), key=len, reverse=True):
        parts = head.split()
        if words[: len(parts)] == parts:
            rest = words[len(parts) :]
            return all(
                word in _table("joints")
                or word in _table("own_states")
                or word in _nouns()
                or word in _table("unsure")
                or word in _table("reporting")
                or _procedure(word)
                for word in rest
            )
    return False


def _own_state(text: str) -> bool:
    """Whether words after a position say how the sender is or moves, and name nobody else."""
    if _NOT_NOW.search(text):
        return False
    if not _bare(text):
        return True
    if " ".join(_words(text)) in _table("own_states"):
        return True
    return all(
        word in _table("own_states") or word in _table("joints") or _procedure(word) or
        (word.isdigit() and len(word) <= 2)
        for word in _words(text)
    )  # fmt: skip


def _thing(text: str) -> tuple[str, Thing, str] | None:
    """Name, kind and state of what a clause names; None where it names nothing of the table."""
    words = list(_WORD.finditer(text))
    at = next((i for i, word in enumerate(words) if word[0].lower() in _nouns()), None)
    if at is None:
        return None
    if any(word[0].lower() in _TELLING for word in words[at + 1 :]):
        return None  # "base reports team 3 at": who tells is not who is there
    kind = _nouns()[words[at][0].lower()]
    while at + 1 < len(words) and words[at + 1][0].lower() in _nouns():
        at += 1  # the last noun is what it is: a car wreck, a landing zone
        kind = _nouns()[words[at][0].lower()]
    start = 0
    for i, word in enumerate(words[:at]):
        if word[0].lower() in _table("reporting") or word[0].lower() in _table("pronouns"):
            start = i + 1
    while start < at and words[start][0].lower() in ("a", "an", "the", "is", "are", "one's"):
        start += 1
    end = words[at].end()
    if of := re.match(r"\s+of\s+", text[end:], re.IGNORECASE):
        number = number_at(text, end + of.end())
        end = number[1] if number else end
    elif numbered := re.match(r"\s+(?:number\s+|no\.?\s*)?\d{1,3}\b", text[end:], re.IGNORECASE):
        end += numbered.end()  # boat 3 is another one than boat 4
    rest = _WORD.findall(text[end:])
    while rest and rest[-1].lower() in _table("joints"):
        rest.pop()
    return text[words[start].start() : end], kind, _tidy(_as_said(text[end:], len(rest)))


def _as_said(text: str, count: int) -> str:
    """The first words of a text, as they stand there."""
    words = list(_WORD.finditer(text))
    return text[: words[count - 1].end()] if count else ""


def _number(name: str) -> int | None:
    """How many, where a name says it at its beginning or after "of"."""
    for start in (0, *(match.end() for match in re.finditer(r"\bof\s+", name))):
        found = number_at(name, start)
        if found and found[0].unit == 1.0:
            return int(found[0].value)
    return None


def _short(words: str) -> str:
    if len(words) <= _LONGEST_NAME:
        return words
    return f"{words[: _LONGEST_NAME - 1].rsplit(' ', 1)[0]} …"


@cache
def _tables() -> dict[str, frozenset[str]]:
    tables: dict[str, list[str]] = json.loads(_FILE.read_text(encoding="utf-8"))
    return {name: frozenset(words) for name, words in tables.items()}


def _table(name: str) -> frozenset[str]:
    return _tables()[name]


@cache
def _nouns() -> dict[str, Thing]:
    return {word: kind for name, kind in reversed(_THINGS) for word in _table(name)}


@cache
def _procedure_words() -> frozenset[str]:
    """Words of radio procedure: the tables' own, and greetings."""
    kinds = ("opener", "soft_opener", "ender", "filler", "pause", "and", "again")
    found = {
        " ".join(phrase)
        for phrase, meaning in language("english").phrases.items()
        if meaning.kind in kinds
    }
    greetings = {
        "hello", "hi", "good", "morning", "afternoon", "evening", "day", "all", "stations",
        "message", "sitrep", "posrep", "update", "radio", "go ahead", "acknowledged", "thanks",
        "thank you", "sir", "for info", "for your information", "how are you",
    }  # fmt: skip
    own = {" ".join(each.split()) for each in _table("own_heads")}
    others = {"he is at", "she is at", "they are at", "it is at", "it's at", "i think", "then"}
    return (
        frozenset(found | greetings)
        - others
        - own
        - {
            phrase
            for phrase in found
            if phrase.startswith(("my ", "our ", "i am", "we are", "i'm"))
        }
    )


def _procedure(words: str) -> bool:
    return words.lower().replace("’", "'") in _procedure_words()
