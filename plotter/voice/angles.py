"""Latitude and longitude as spoken: the words become the tokens of the degree grammar.

Characters that somebody typed stay what they are; only words are given their figures, marks and
sides. A word that stands for nothing in an angle is an error, never passed over.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, pairwise, product
from typing import Final, TypeAlias

from plotter.errors import FormatError
from plotter.formats.degrees.lexicon import SIDES
from plotter.formats.degrees.tokens import Token, tokenisations
from plotter.formats.latlon import readings_of_tokens
from plotter.formats.result import Reading
from plotter.geodesy.position import Area
from plotter.voice.numbers import join_numbers
from plotter.voice.tables import language
from plotter.voice.wording import Word

__all__ = ["angles_spoken"]

_SPOKEN_FIGURES: Final = ("figure", "number", "tens", "teen", "hundred", "thousand")
_MOST_WAYS: Final = 12
_SIDE_OF_WORD: Final = {"north": "N", "south": "S", "east": "E", "west": "W"}
_LABELS: Final = {"latitude": "lat", "longitude": "lon"}
_PLAIN_MARKS: Final = {".": "point", "-": "dash", "/": "slash", ",": "comma", ":": "colon"}
# A dash between two whole numbers and two blanks.
_SPAN: Final = re.compile(r"(?<![\d.,:])\d{1,3}\s+[-–—−]\s+\d{1,3}(?![\d.,:])")
_UNITS: Final = {"°": 0, "'": 1, '"': 2}

_Way: TypeAlias = tuple[tuple[Token, ...], tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class _Piece:
    """What a word becomes in one of its meanings: tokens, and what that assumes."""

    tokens: tuple[Token, ...]
    assumed: tuple[str, ...] = ()


def angles_spoken(words: Sequence[Word], text: str, area: Area | None) -> list[Reading]:
    """Every pair of angles that words stand for.

    Parameters
    ----------
    words : sequence of Word
        From the first to the last word of the position.
    text : str
        The whole line, for what goes wrong.
    area : Area or None
        As for any reader.

    Raises
    ------
    FormatError
        If they make none: the word that stands for nothing, or what is wrong.
    """
    if not words:
        raise FormatError(f"no figures in {text[:80]!r}: ask for the figures", text)
    found: dict[tuple[object, ...], Reading] = {}
    error: FormatError | None = None
    _refuse_touching(words, text)
    for tokens, assumed in islice(_ways(join_numbers(words), text), _MOST_WAYS):
        meant = _text_of(tokens)
        try:
            readings = readings_of_tokens(tokens, meant, area)
        except FormatError as wrong:
            error = error or wrong
            continue
        for each in readings:
            key = (each.square.centre, each.square.size_m)
            why = (f"the words mean {meant!r}", *assumed, *each.assumed)
            if key not in found or len(why) < len(found[key].assumed):
                found[key] = replace(each, assumed=why)
    if found and _SPAN.search(text) and all(each.unstated >= {"order"} for each in found.values()):
        raise FormatError(
            f"{text[:120]!r} may say a span from one number to another: ask for latitude and "
            "longitude, each with its side",
            text,
        )
    if not found and error is not None:
        raise FormatError(f"heard {error.text!r} in {text[:120]!r}: {error}", text)
    return list(found.values())


def _refuse_touching(words: Sequence[Word], text: str) -> None:
    """Reject a word that nobody knows just before a spoken figure: it may have been one."""
    first = words[0]
    if first.start <= 0 or first.said[:1].isdigit() or first.kind not in _SPOKEN_FIGURES:
        return
    before = re.search(r"([^\W\d_]+)[\s-]*$", text[: first.start])
    known = before is None or (before[1].lower(),) in language().phrases
    if not known and before is not None:
        raise FormatError(
            f"cannot tell what {before[1]!r} stands for before {first.said!r} in {text[:120]!r}: "
            "it may have been a figure; ask for the position again",
            text,
        )


def _ways(words: Sequence[Word], text: str) -> Iterator[_Way]:
    """Token lists of the words in every meaning, the likeliest first."""
    meanings = [_pieces(words, at, text) for at in range(len(words))]
    order = (
        sorted(product(*(range(len(each)) for each in meanings)), key=sum)
        if _few(meanings)
        else [tuple(0 for _ in meanings)]
    )
    for choice in order:
        pieces = [each[i] for each, i in zip(meanings, choice, strict=True)]
        assumed = tuple(dict.fromkeys(why for piece in pieces for why in piece.assumed))
        apart = [token for piece in pieces for token in piece.tokens]
        for tokens, why in _joined(apart):
            yield tokens, (*assumed, *why)


def _few(meanings: Sequence[Sequence[_Piece]]) -> bool:
    ways = 1
    for each in meanings:
        ways *= len(each)
    return ways <= 64


def _joined(tokens: Sequence[Token]) -> Iterator[tuple[tuple[Token, ...], tuple[str, ...]]]:
    """Figures said one by one as one run; single typed ones apart as well; a hundred unsaid."""
    typed = [i for i, t in enumerate(tokens) if t.letter and t.value("figures") is not None]
    neighbours = any(b - a == 1 for a, b in pairwise(typed))
    runs = [_runs(tokens, typed_too=False)] if neighbours else []
    # "4 7 30.5": whoever types one number by its figures types the other so too.
    together = _runs(tokens, typed_too=True)
    sided = any(token.value(role) is not None for token in tokens for role in ("side", "label"))
    numbers = [token for token in together if token.value("figures") is not None]
    joined = sum(token.spoken for token in numbers)
    if not neighbours or sided or joined != 1 or len(numbers) == 1:
        runs.append(together)
    for run in runs:
        yield run, ()
        hundred = _with_hundred(run)
        if hundred != run:
            yield hundred, ("a hundred that was not said",)


def _runs(tokens: Sequence[Token], *, typed_too: bool) -> tuple[Token, ...]:
    found: list[Token] = []

    def is_single(token: Token | None) -> bool:
        figures = token is not None and token.value("figures") is not None
        return figures and token is not None and (token.spoken or (token.letter and typed_too))

    for at, token in enumerate(tokens):
        after = tokens[at + 1] if at + 1 < len(tokens) else None
        last = found[-1] if found else None
        single, before = is_single(token), is_single(last)
        if token.value("dash") is not None and token.glued and before and is_single(after):
            continue  # 3-8-2-5: figures said one by one
        if single and before and last is not None:
            found[-1] = replace(
                last, text=last.text + token.text, end=token.end, spoken=True, letter=False
            )
        else:
            found.append(token)
    return tuple(found)


def _with_hundred(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """The words "one fifty one" as 151."""
    found: list[Token] = []
    for token in tokens:
        last = found[-1] if found else None
        if (
            last is not None
            and last.text == "1"
            and last.spoken
            and last.value("figures") is not None
            and token.value("figures") is not None
            and not token.spoken
            and not token.glued
            and len(token.text) == 2
        ):
            found[-1] = replace(token, text="1" + token.text, start=last.start, glued=last.glued)
        else:
            found.append(token)
    return tuple(found)


def _text_of(tokens: Sequence[Token]) -> str:
    text = ""
    for token in tokens:
        text += token.text if token.glued or not text else f" {token.text}"
    return text


def _pieces(words: Sequence[Word], at: int, text: str) -> list[_Piece]:
    """What a word can become, the likeliest first."""
    word = words[at]
    slip = (f"{word.said!r} taken as {word.options[0]}",) if word.slip else ()
    option = word.options[0]
    if word.kind in ("figure", "number"):
        if word.slip and _stands_alone(words, at):
            # "Ate 7.5": only among figures that are said is such a word one.
            raise FormatError(
                f"cannot tell whether {word.said!r} is a figure in {text[:120]!r}: ask for the "
                "position again",
                text,
            )
        typed = word.said.isdigit()
        # In "8 4:05" the 4 begins a number of its own: it is no figure said by itself.
        after = words[at + 1] if at + 1 < len(words) else None
        touches = after is not None and after.start == word.end >= 0 and after.said != "-"
        single = word.kind == "figure" and not (typed and touches)
        token = _token(
            word, option, ("figures", ""), letter=single and typed, spoken=single and not typed,
            glued=_after_joint(words, at),
        )  # fmt: skip
        return [_Piece((token,), slip)]
    if word.kind in ("tens", "teen"):
        return [_Piece((_token(word, option, ("figures", ""), glued=_after_joint(words, at)),))]
    if word.kind == "mark":
        return [_mark(words, at, text)]
    if word.kind == "fraction":
        top, _, below = option.partition("/")
        return [_Piece((_token(word, option, ("fraction", (int(top), int(below)))),))]
    if word.kind == "direction" and option in _SIDE_OF_WORD:
        return [_Piece((_token(word, option, ("side", (SIDES[_SIDE_OF_WORD[option]],))),))]
    if word.kind == "label" and option in _LABELS:
        return [_Piece((_token(word, option, ("label", _LABELS[option])),))]
    if word.kind == "letter" and len(word.said) > 1 and option in SIDES:
        why = (f"{word.said!r} taken as the letter {option}",)
        return [_Piece((_token(word, option, ("side", (SIDES[option],))),), why)]
    if word.kind == "and":
        return [_Piece((_token(word, "and", ("and", "")),))]
    if word.kind == "pause":
        return [_pause(word)]
    if word.kind == "filler":
        return [_Piece((), (f"left out {word.said!r}",))]
    if word.kind == "choice":
        return _choice(words, at)
    return _typed(word, text, glued=_after_joint(words, at))


def _stands_alone(words: Sequence[Word], at: int) -> bool:
    """Whether no figure is said beside a word."""
    beside = [words[i] for i in (at - 1, at + 1) if 0 <= i < len(words)]
    return not any(
        word.kind in ("figure", "number", "tens", "teen", "mark", "times", "hundred")
        and word.said.replace(" ", "").isalpha()
        for word in beside
    )


def _token(
    word: Word,
    text: str,
    role: tuple[str, object],
    *,
    letter: bool = False,
    spoken: bool = False,
    glued: bool = False,
) -> Token:
    start = max(word.start, 0)
    return Token(text, start, max(word.end, start), glued, (role,), letter, spoken)


def _after_joint(words: Sequence[Word], at: int) -> bool:
    """Whether a decimal point, or a dash between figures, stands just before."""
    before = words[at - 1] if at else None
    return before is not None and before.kind == "mark" and before.options[0] in (".", "-")


def _mark(words: Sequence[Word], at: int, text: str) -> _Piece:
    word, sign = words[at], words[at].options[0]
    if sign == "minus":
        return _Piece((_token(word, "minus", ("sign", "-")),))
    if sign == "+":
        return _Piece((_token(word, "plus", ("sign", "+")),))
    if sign in _UNITS:
        return _Piece((_token(word, sign, ("unit", _UNITS[sign]), glued=True),))
    name = _PLAIN_MARKS.get(sign)
    if name is None:
        return _Piece((replace(_token(word, sign, ("", "")), roles=()),))
    after = words[at + 1] if at + 1 < len(words) else None
    if name == "point" and word.said.isalpha() and not (after and _begins_with_figure(after)):
        raise FormatError(
            f"no figure behind {word.said!r} in {text[:120]!r}: one was not heard; ask for the "
            "position again",
            text,
        )
    glued = name not in ("slash", "comma")
    return _Piece((_token(word, sign, (name, ""), glued=glued),))


def _begins_with_figure(word: Word) -> bool:
    return word.options[0][:1].isdigit() or word.kind in ("choice", "times")


def _pause(word: Word) -> _Piece:
    """A mark between words; a comma and a full stop part two angles."""
    if word.said in (",", ";", "."):
        return _Piece((_token(word, ",", ("comma", ""), glued=True),))
    if word.said == ":":
        return _Piece((_token(word, ":", ("colon", ""), glued=True),))
    if word.said in ("(", "["):
        return _Piece((_token(word, word.said, ("open", "")),))
    if word.said in (")", "]"):
        return _Piece((_token(word, word.said, ("close", ""), glued=True),))
    return _Piece(())


def _choice(words: Sequence[Word], at: int) -> list[_Piece]:
    """A word that is a figure, a side, or nothing."""
    word = words[at]
    found: list[_Piece] = []
    beside = [words[i].kind if 0 <= i < len(words) else "" for i in (at - 1, at + 1)]
    if len(word.said) == 1 and "figure" not in beside:
        token = next(tokenisations(word.said))[0]
        if token.roles:
            return [_Piece((replace(token, start=word.start, end=word.end),))]
    # "48.5 to": a small word is a figure only among others that are said.
    alone = _stands_alone(words, at) and len(word.said) > 1
    for option in () if alone else word.options:
        if option.isdigit():
            token = _token(
                word, option, ("figures", ""), spoken=True, glued=_after_joint(words, at)
            )
            found.append(_Piece((token,), (f"{word.said!r} taken as the figure {option}",)))
        elif not option and not (at and words[at - 1].kind in ("number", "tens")):
            found.append(_Piece((), (f"{word.said!r} left out as a word without meaning",)))
    sure = beside == ["figure", "figure"] and word.options[-1] == "O"
    return [_Piece(found[0].tokens)] if sure and found else found or _typed(word, word.said)


def _typed(word: Word, text: str, *, glued: bool = False) -> list[_Piece]:
    """Characters as somebody typed them, and words of other languages."""
    if word.kind in ("typed", "unknown", "letter"):
        ways = [
            _Piece(
                tuple(
                    replace(
                        token,
                        start=token.start + word.start,
                        end=token.end + word.start,
                        glued=token.glued or (glued and not i),
                    )
                    for i, token in enumerate(tokens)
                )
            )
            for tokens in tokenisations(word.said)
            if all(token.roles for token in tokens)
        ]
        if ways:
            return ways
    raise FormatError(
        f"cannot tell what {word.said!r} stands for in {text[:120]!r}: ask for the position again",
        text,
    )
