"""Numbers said as numbers: "forty-five", "double four", "two hundred and six", in figures."""

from collections.abc import Sequence
from dataclasses import replace

from plotter.voice.wording import Word

__all__ = ["join_numbers"]


def join_numbers(words: Sequence[Word]) -> list[Word]:
    """The same words with each spoken number as one word of its figures.

    Figures said one by one stay apart; "double" and "triple" repeat the next one. A hundred or a
    thousand multiplies the figures just before it.
    """
    found: list[Word] = []
    words = [_one(word, words[at + 1 :]) for at, word in enumerate(words)]
    at = 0
    while at < len(words):
        word = words[at]
        if word.kind == "times":
            at = _repeat(words, at, found)
        elif word.kind in ("tens", "teen", "figure") and (size := _number(words, at, found)):
            at += size
        elif word.kind in ("hundred", "thousand", "million"):
            # Of nothing that was heard.
            found.append(Word(word.said, "unknown", start=word.start, end=word.end))
            at += 1
        else:
            found.append(word)
            at += 1
    return found


def _one(word: Word, after: Sequence[Word]) -> Word:
    """The "a" of a hundred as a figure."""
    counts = after and after[0].kind in ("hundred", "thousand", "million")
    if counts and word.kind == "choice" and word.said.lower() == "a":
        return replace(word, kind="figure", options=("1",))
    return word


def _repeat(words: Sequence[Word], at: int, found: list[Word]) -> int:
    """Say the next single character as often as "double" or "triple" tell."""
    after = words[at + 1] if at + 1 < len(words) else None
    if after is None or after.kind not in ("figure", "letter", "choice"):
        found.append(replace(words[at], kind="unknown", options=("",)))
        return at + 1
    times = int(words[at].options[0])
    said = f"{words[at].said} {after.said}"
    again = replace(after, said=said, start=words[at].start)
    found += [again] * times
    return at + 2


def _number(words: Sequence[Word], at: int, found: list[Word]) -> int:
    """Append the number that begins here; how many words it took, 0 for a figure on its own."""
    digits, size = _head(words, at)
    kinds = [word.kind for word in words[at : at + size + 1]]
    if len(kinds) <= size or kinds[size] not in ("hundred", "thousand", "million"):
        if words[at].kind == "figure":
            return 0
        found.append(_as_number(words, at, size, digits))
        return size
    total, value = 0, int(digits)
    end = at + size
    if words[end].kind == "hundred":
        tail, took = _tail(words, end + 1, ("hundred",))
        value, end = value * 100 + tail, end + 1 + took
    if end < len(words) and words[end].kind == "thousand":
        total, value = value * 1000, 0
        end += 1
        tail, took = _tail(words, end, ("thousand",))
        if took and end + took < len(words) and words[end + took].kind == "hundred":
            rest, more = _tail(words, end + took + 1, ("hundred", "thousand"))
            tail, took = tail * 100 + rest, took + 1 + more
        value, end = tail, end + took
    total += value
    if end < len(words) and words[end].kind == "million":
        total, end = total * 1_000_000, end + 1
        tail_words: list[Word] = []
        skip = 1 if end < len(words) and words[end].kind == "and" else 0
        if end + skip < len(words) and words[end + skip].kind in ("tens", "teen", "figure"):
            more = _number(words, end + skip, tail_words)
            if more and int(tail_words[0].options[0]) < 1_000_000:
                total, end = total + int(tail_words[0].options[0]), end + skip + more
    found.append(_as_number(words, at, end - at, str(total)))
    return end - at


def _as_number(words: Sequence[Word], at: int, size: int, digits: str) -> Word:
    said = " ".join(word.said for word in words[at : at + size])
    slip = any(word.slip for word in words[at : at + size])
    return Word(said, "number", (digits,), slip, words[at].start, words[at + size - 1].end)


def _head(words: Sequence[Word], at: int) -> tuple[str, int]:
    """Figures said one by one, or a number below a hundred; with how many words."""
    word = words[at]
    if word.kind == "teen":
        return word.options[0], 1
    if word.kind == "tens":
        unit = words[at + 1] if at + 1 < len(words) else None
        if unit is not None and unit.kind == "figure" and unit.options[0] != "0":
            return word.options[0][0] + unit.options[0], 2
        return word.options[0], 1
    size = 0
    while size < 6 and at + size < len(words) and words[at + size].kind == "figure":
        size += 1
    # Nobody multiplies a longer run, and looking no further keeps the time linear.
    return "".join(word.options[0] for word in words[at : at + size]), size


def _tail(words: Sequence[Word], at: int, not_before: tuple[str, ...]) -> tuple[int, int]:
    """What is added after a hundred or a thousand, unless it begins a number of its own.

    Several figures one by one are not added, nor what is itself so many hundreds or thousands.
    """
    skip = 1 if at < len(words) and words[at].kind == "and" else 0
    start = at + skip
    if start >= len(words) or words[start].kind not in ("tens", "teen", "figure"):
        return 0, 0
    digits, size = _head(words, start)
    after = words[start + size].kind if start + size < len(words) else ""
    if after in not_before or (words[start].kind == "figure" and size > 1):
        return 0, 0
    return int(digits), skip + size
