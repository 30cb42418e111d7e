"""A number at one place of a text, typed or spoken, with one unit of its last figure."""

import re
from dataclasses import dataclass
from functools import cache
from typing import Final
from unicodedata import digit

from plotter.errors import FormatError
from plotter.voice.figures import in_figures
from plotter.voice.tables import language

__all__ = ["Number", "number_at"]

_MOST_WORDS: Final = 16
_TOKEN: Final = re.compile(r"[^\W\d_]+|\d+(?:[.,]\d+)*|[.,]\d+")
_SPACES: Final = "[ \t\n\u00a0\u2009\u202f]"
_GAP: Final = re.compile(rf"-|{_SPACES}*")
_LEAD: Final = re.compile(rf"{_SPACES}*")
_ONE_BY_ONE: Final = re.compile(r"\d(?: \d)+")
_TYPED: Final = re.compile(r"[\d.,]+")
_NUMBER: Final = re.compile(r"\d*[.,]?\d+")
# 2 400 with the thin or plain space of ISO 80000-1, 7.3.1.
_GROUPED: Final = re.compile(r"\d{1,3}(?:[ \u00a0\u2009\u202f]\d{3})+(?:\.\d+)?")
_POINTED: Final = re.compile(r"[1-9]\d{0,2}\.\d{3}")
_METRES: Final = re.compile(r"\s*(?:m|met(?:re|er)s?)\b", re.IGNORECASE)
_EITHER: Final = re.compile(r"[1-9]\d{0,2},\d{3}")
_COMMAS: Final = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_FRACTIONS: Final = {"½": 0.5, "¼": 0.25, "¾": 0.75, "1/2": 0.5, "1/4": 0.25, "3/4": 0.75}
_FRACTION: Final = re.compile(r"(?:(?P<whole>\d+)\s*)?(?P<part>[½¼¾]|(?<![\d/])[13]/[24](?![\d/]))")
_AND_A_HALF: Final = re.compile(
    r"\s+and\s+(?:(?:a\s+|one\s+)?(?P<one>half|quarter)|three[\s-]+(?P<three>quarters))\b",
    re.IGNORECASE,
)
_A_HALF: Final = re.compile(
    r"(?:(?:a\s+|one\s+)?(?P<one>half|quarter)|three[\s-]+(?P<three>quarters))\b", re.IGNORECASE
)
_ARTICLE: Final = re.compile(r"an?\s+(?=[a-z])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Number:
    """A number as said.

    Parameters
    ----------
    value : float
        Not below zero.
    unit : float
        One unit of its last figure; of a fraction that fraction: a half is said to halves.
    """

    value: float
    unit: float


def number_at(
    text: str, at: int, *, grouped: bool = False, article: bool = False
) -> tuple[Number, int] | None:
    """The longest number that begins at a place of a text, and where it ends.

    Parameters
    ----------
    text : str
        A report.
    at : int
        Where the number begins; spaces before it are skipped.
    grouped : bool
        Whether figures may be parted into thousands by a space.
    article : bool
        Whether "a" before a word stands for one, as in "a kilometre".

    Raises
    ------
    FormatError
        If a comma may part thousands as well as decimals.

    Examples
    --------
    >>> number_at("two decimal four km", 0)
    (Number(value=2.4, unit=0.1), 16)
    >>> number_at("a hundred and fifty one degrees", 0)
    (Number(value=151.0, unit=1.0), 23)
    >>> number_at("two and a half km", 0)
    (Number(value=2.5, unit=0.5), 14)
    """
    lead = _LEAD.match(text, at)
    start = lead.end() if lead else at
    if match := _FRACTION.match(text, start):
        part = _FRACTIONS[match["part"]]
        whole = float(match["whole"] or 0)
        return Number(whole + part, 0.5 if part == 0.5 else 0.25), match.end()
    if (match := _A_HALF.match(text, start)) and not _part_of_word(text, match.end()):
        return _fraction(match, 0.0), match.end()
    if grouped and (match := _GROUPED.match(text, start)) and not text[match.end() :][:1].isdigit():
        figures = _figures(re.sub(r"\s", "", match[0]))
        return Number(float(figures), _unit(figures)), match.end()
    for end in reversed(_run(text, start)):
        said = text[start:end]
        figures = _figures(said)
        if _EITHER.fullmatch(figures) and not figures.startswith("0"):
            raise FormatError(
                f"{said!r} in {text!r} can be {figures.replace(',', '')} or "
                f"{figures.replace(',', '.')}: write it without the comma, or with a point",
                text,
            )
        if _POINTED.fullmatch(said) and _METRES.match(text, end):
            # Nobody measures a way to the millimetre: half the world parts thousands so.
            raise FormatError(
                f"{said!r} in {text!r} can be {said.replace('.', '')} metres or {said}: write it "
                "without the point, or ask for it in kilometres",
                text,
            )
        if _COMMAS.fullmatch(figures) and not figures.startswith("0"):
            figures = figures.replace(",", "")
        if _NUMBER.fullmatch(figures):
            figures = figures.replace(",", ".")
            value = float(figures)
            half = _AND_A_HALF.match(text, end)
            if half and "." not in figures:
                return _fraction(half, value), half.end()
            return Number(value, _unit(figures)), end
    if article and (match := _ARTICLE.match(text, start)):
        return Number(1.0, 1.0), match.end() - 1
    return None


def _unit(figures: str) -> float:
    return float(10.0 ** -len(figures.partition(".")[2]))


def _fraction(match: re.Match[str], whole: float) -> Number:
    if match["three"]:
        return Number(whole + 0.75, 0.25)
    part = 0.5 if match["one"].lower() == "half" else 0.25
    return Number(whole + part, part)


def _part_of_word(text: str, at: int) -> bool:
    """Whether the fraction is the beginning of something else: half-way."""
    return re.match(r"[\s-]*way\b", text[at:], re.IGNORECASE) is not None


def _run(text: str, start: int) -> list[int]:
    """Where the words of a number may end, shortest first."""
    known = _number_words()
    ends: list[int] = []
    at = start
    for count in range(_MOST_WORDS):
        token = _TOKEN.match(text, at)
        if token is None:
            break
        word = token[0].lower()
        typed = word[0].isdigit() or word[0] in ".,"
        if not typed and not (
            word in known or (count and word == "and") or (word == "a" and _hundred(text, token))
        ):
            break
        ends.append(token.end())
        gap = _GAP.match(text, token.end())
        at = gap.end() if gap else token.end()
        if at == token.end() and not (typed and text[at : at + 1].isalpha()):
            break
        if typed and at == token.end():  # 600m: a unit glued to its figures
            break
    return ends


def _hundred(text: str, token: re.Match[str]) -> bool:
    return re.match(r"\s+(?:hundred|thousand)\b", text[token.end() :], re.IGNORECASE) is not None


def _figures(said: str) -> str:
    """The words of a number in figures; anything else where they are none."""
    # Figures of any script are figures: their commas part thousands or decimals as ours do.
    said = "".join(str(digit(each)) if each.isdecimal() else each for each in said)
    plain = " ".join(said.replace("-", " ").split())
    if _ONE_BY_ONE.fullmatch(plain):
        # "Casualty 1 2 km": the first figure may belong to a name.
        raise FormatError(
            f"{said!r} may be one number or two: ask for it again, in one piece", said
        )
    if _TYPED.fullmatch(plain):
        return plain
    # "A hundred" is one hundred: alone the multiplier would be lost and 151 become 51.
    plain = re.sub(r"(?i)^(?:a\s+)?(?=(?:hundred|thousand)\b)", "one ", plain)
    plain = re.sub(r"(?i)(?<=\s)a\s+(?=(?:hundred|thousand)\b)", "one ", plain)
    plain = re.sub(r"(?i)\bcomma\b", "decimal", plain)
    if re.match(r"(?i)(?:decimal|point)\b", plain):
        plain = f"zero {plain}"
    return in_figures(plain)


@cache
def _number_words() -> frozenset[str]:
    """Every single word that can be part of a spoken number."""
    kinds = ("figure", "tens", "teen", "hundred", "thousand", "times")
    found = {
        word
        for phrase, meaning in language("english").phrases.items()
        for word in phrase
        if meaning.kind in kinds and not meaning.slip
    }
    # Words of the long figure names of the tables that are common words by themselves.
    return frozenset(found - {"in", "to", "no", "th"} | {"decimal", "point", "comma", "oh", "o"})
