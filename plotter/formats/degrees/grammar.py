"""Every way to make two angles out of all the tokens of a text.

::

    text  = [ order ] angle separator angle [ order ]      nothing may be left over
    order = label [/ , and -] label [: =]                  "Lat/Lon:", "(lat, lon)"
    angle = [ label [: = is] ] [ sign ] [ side ] [ sign ] body [ side ] [ label ]
    body  = number [unit] [ joint number [unit] [ joint number [unit] ] ]
    joint = gap | - | : | . | nothing behind a unit | a side (48N30.5); of one kind in an angle
    number = figures [. , figures] | figures fraction | figures exponent

Only the last number of an angle may have decimals. A unit must be that of its place.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from plotter.formats.degrees.lexicon import Axis, Side
from plotter.formats.degrees.tokens import Token

__all__ = ["Angle", "Number", "Pair", "Parses", "parses"]

Joint = Literal["", "gap", "dash", "colon", "point", "side", "unit"]

_MOST: Final = 40
_BEHIND_LABEL: Final = ("colon", "is")
_SEPARATORS: Final = ("comma", "semicolon", "slash", "bar")


@dataclass(frozen=True, slots=True)
class Number:
    """One number of an angle as written.

    Parameters
    ----------
    whole, decimals : str
        Figures before and after the point or comma.
    at : int
        Where its figures begin in the text as given; its decimals follow a mark behind `whole`.
    fraction : (int, int) or None
        A half, a quarter ...
    exponent : int
        Power of ten.
    comma : bool
        Whether its decimals follow a comma.
    spoken : bool
        Whether its figures were said one by one.
    """

    whole: str
    decimals: str = ""
    at: int = 0
    fraction: tuple[int, int] | None = None
    exponent: int = 0
    comma: bool = False
    spoken: bool = False

    @property
    def is_whole(self) -> bool:
        """Whether it is figures alone."""
        return not self.decimals and self.fraction is None and not self.exponent

    @property
    def text(self) -> str:
        """As written, with a point."""
        tail = f".{self.decimals}" if self.decimals else ""
        part = f" {self.fraction[0]}/{self.fraction[1]}" if self.fraction else ""
        power = f"e{self.exponent}" if self.exponent else ""
        return f"{self.whole}{tail}{part}{power}"


@dataclass(frozen=True, slots=True)
class Angle:
    """One angle as written.

    Parameters
    ----------
    numbers : tuple of Number
        Degrees, minutes, seconds.
    joint : Joint
        What stands between its numbers; empty for a single one.
    units : tuple of int
        Places of the numbers that carry their unit.
    sign : str
        ``+``, ``-`` or nothing.
    sides : tuple of Side
        What its side letter or word can mean; empty without one.
    side_text : str
        That letter or word.
    side_first : bool
        Whether the side stands before the numbers.
    label : Axis or None
        Which angle a word says it is.
    side_open : bool
        Whether that letter has this meaning in some languages only.
    """

    numbers: tuple[Number, ...] = ()
    joint: Joint = ""
    units: tuple[int, ...] = ()
    sign: str = ""
    sides: tuple[Side, ...] = ()
    side_text: str = ""
    side_first: bool = False
    label: Axis | None = None
    side_open: bool = False

    @property
    def marked(self) -> bool:
        """Whether any unit stands in it."""
        return bool(self.units)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two angles in the order written.

    Parameters
    ----------
    first, second : Angle
        The angles.
    order : Axis or None
        Which the first one is, where a label of both says it.
    separator : str
        Name of what stands between them; empty for a gap or nothing.
    loose : bool
        Whether a side stands between two angles with equal gaps, so that it may belong to either.
    """

    first: Angle
    second: Angle
    order: Axis | None = None
    separator: str = ""
    loose: bool = False


@dataclass(frozen=True, slots=True)
class Parses:
    """All pairs of a text.

    Parameters
    ----------
    pairs : tuple of Pair
        Every way that uses all tokens.
    stuck : Token or None
        Where there is none: the first token that no way could take; None at the end of the text.
    one_angle : bool
        Whether the text makes one whole angle.
    """

    pairs: tuple[Pair, ...]
    stuck: Token | None
    one_angle: bool


def parses(tokens: Sequence[Token]) -> Parses:
    """Every pair of angles that uses all the tokens."""
    found = _Parser(_without_brackets(tokens))
    pairs: list[Pair] = []
    for pair in found.text():
        if pair not in pairs:
            pairs.append(pair)
        if len(pairs) >= _MOST:
            break
    deepest = found.deepest
    stuck = None
    if not pairs and deepest < len(found.tokens):
        stuck = found.tokens[deepest]
    return Parses(tuple(pairs), stuck, found.one_angle())


def _without_brackets(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """The tokens without brackets about all of them."""
    inner = tuple(tokens)
    while (
        len(inner) > 2
        and inner[0].value("open") is not None
        and inner[-1].value("close") is not None
        and not any(each.value("open") is not None for each in inner[1:-1])
    ):
        inner = (replace(inner[1], glued=False), *inner[2:-1])
    return inner


class _Parser:
    """The tokens, and how far any way through them has come."""

    __slots__ = ("_angles", "_names", "deepest", "tokens")

    def __init__(self, tokens: tuple[Token, ...]) -> None:
        self.tokens = tokens
        self.deepest = 0
        self._names = tuple(frozenset(role for role, _ in token.roles) for token in tokens)
        # Many ways to end the first angle begin the second one at the same token.
        self._angles: dict[tuple[int, bool], list[tuple[Angle, int]]] = {}

    def _is(self, at: int, *names: str) -> bool:
        return 0 <= at < len(self._names) and not self._names[at].isdisjoint(names)

    def _glued(self, at: int) -> bool:
        return at < len(self.tokens) and self.tokens[at].glued

    def _reach(self, at: int) -> None:
        self.deepest = max(self.deepest, at)

    def text(self) -> Iterator[Pair]:
        for start, before in self._order(0):
            for pair, end in self._pair(start):
                self._reach(end)
                for stop, behind in self._order(end):
                    if stop == len(self.tokens) and not (before and behind):
                        yield replace(pair, order=before or behind)

    def one_angle(self) -> bool:
        return any(end == len(self.tokens) for _, end in self._angle(0))

    def _order(self, at: int) -> Iterator[tuple[int, Axis | None]]:
        """A label of both angles, or nothing."""
        yield at, None
        opened = self._is(at, "open")
        begin = at + 1 if opened else at
        if not self._is(begin, "label"):
            return
        middle = begin + 1
        if self._is(middle, "slash", "comma", "and", "dash"):
            middle += 1
        if not self._is(middle, "label"):
            return
        first, second = (self.tokens[i].value("label") for i in (begin, middle))
        if first == second:
            return
        end = middle + 1
        if opened:
            if not self._is(end, "close"):
                return
            end += 1
        yield end, first
        if self._is(end, *_BEHIND_LABEL):
            yield end + 1, first

    def _pair(self, start: int) -> Iterator[tuple[Pair, int]]:
        for first, end in self._angle(start):
            self._reach(end)
            for begin, name in self._separator(end):
                if name == "and" and first.side_first and self._is(end, "side"):
                    continue  # "N 47 e 8": where sides come first, a lone "e" is the next one
                for second, stop in self._angle(begin, after=name):
                    yield (
                        Pair(first, second, None, name, self._loose(first, second, end, begin)),
                        stop,
                    )

    def _loose(self, first: Angle, second: Angle, end: int, begin: int) -> bool:
        """Whether the only side stands between two gaps, as in 68 E 62."""
        if begin != end or bool(first.sides) == bool(second.sides) or first.label or second.label:
            return False
        at = end - 1 if first.sides and not first.side_first else begin
        if (first.sides and first.side_first) or (second.sides and not second.side_first):
            return False
        return not self._glued(at) and not self._glued(at + 1)

    def _separator(self, at: int) -> Iterator[tuple[int, str]]:
        """What stands between two angles, by name."""
        if at >= len(self.tokens):
            return
        token = self.tokens[at]
        if not (token.glued and self._is(at, "figures") and self._is(at - 1, "figures")):
            yield at, ""
        for name in _SEPARATORS:
            if self._is(at, name):
                yield at + 1, name
                if self._is(at + 1, "and") and not self._is(at + 1, "side"):
                    yield at + 2, name
        if self._is(at, "and") and not (len(token.text) == 1 and token.text.isupper()):
            yield at + 1, "and"
        if self._is(at, "point") and token.glued and not self._glued(at + 1):
            yield at + 1, "point"
        if self._is(at, "dash") and token.glued == self._glued(at + 1):
            yield at + 1, "dash"

    def _angle(self, start: int, after: str = "") -> list[tuple[Angle, int]]:
        key = (start, start == 0 or bool(after))
        if key not in self._angles:
            self._angles[key] = list(self._angles_from(*key))
        return self._angles[key]

    def _angles_from(self, start: int, bare: bool) -> Iterator[tuple[Angle, int]]:  # noqa: FBT001
        for head, begin in self._head(start, Angle(), first=True, bare=bare):
            for body, end in self._body(begin, head):
                self._reach(end)
                yield from self._tail(end, body)

    def _head(
        self, at: int, angle: Angle, *, first: bool, bare: bool
    ) -> Iterator[tuple[Angle, int]]:
        """Label, sign and side before the numbers, in any order, each once."""
        yield angle, at
        if at >= len(self.tokens):
            return
        token = self.tokens[at]
        label = token.value("label")
        if label and not angle.label:
            named = replace(angle, label=label)
            ends = [at + 1] + ([at + 2] if self._is(at + 1, *_BEHIND_LABEL) else [])
            for end in ends:
                yield from self._head(end, named, first=False, bare=True)
        sign = token.value("sign") or ("-" if token.value("dash") is not None else None)
        if sign and not angle.sign:
            # "48.5 - 2.3" and "48.5 -2.3": a minus; "48.5- 2.3" is none.
            spoken = token.text.isalpha()
            alone = bare or not first or spoken or not token.glued or self._is(at - 1, "comma")
            if alone or self._glued(at + 1):
                yield from self._head(at + 1, replace(angle, sign=sign), first=False, bare=bare)
        for sides, text, end in self._side(at):
            # Glued on one side only, it belongs there.
            behind = token.glued and self._is(at - 1, "figures", "unit", "fraction")
            if not angle.sides and not (behind and not self._glued(end)):
                with_side = replace(angle, sides=sides, side_text=text, side_first=True)
                yield from self._head(end, with_side, first=False, bare=bare)
                if self._is(end, "point", "colon"):
                    yield from self._head(end + 1, with_side, first=False, bare=bare)

    def _side(self, at: int) -> Iterator[tuple[tuple[Side, ...], str, int]]:
        """A side, in brackets or not."""
        opened = self._is(at, "open")
        begin = at + 1 if opened else at
        if not self._is(begin, "side"):
            return
        if opened and not self._is(begin + 1, "close"):
            return
        token = self.tokens[begin]
        yield token.value("side"), token.text.rstrip("."), begin + (2 if opened else 1)

    def _tail(self, at: int, angle: Angle) -> Iterator[tuple[Angle, int]]:
        """Side and label behind the numbers."""
        yield angle, at
        if at >= len(self.tokens):
            return
        if not angle.sides:
            begin = at
            if self._is(at, "comma") and (
                not self._is(at + 2, "figures") or not self._glued(at + 2)
            ):
                begin = at + 1  # "4851.492,N,00217.670,E"
            for sides, text, end in self._side(begin):
                if not self._glued(begin) and self._glued(end) and self._is(end, "figures"):
                    continue
                yield from self._tail(end, replace(angle, sides=sides, side_text=text))
        label = self.tokens[at].value("label")
        if label and not angle.label:
            yield from self._tail(at + 1, replace(angle, label=label))

    def _body(self, at: int, head: Angle) -> Iterator[tuple[Angle, int]]:
        """Degrees, then minutes, then seconds."""
        for number, end in self._number(at):
            yield from self._more(end, replace(head, numbers=(number,)), unit=False)

    def _more(self, at: int, angle: Angle, *, unit: bool) -> Iterator[tuple[Angle, int]]:
        """The angle as it is, its unit, and what may follow."""
        self._reach(at)
        place = len(angle.numbers) - 1
        # "33.9" is no 33°09': points join three parts, or two where the decimals have a comma.
        if angle.joint != "point" or place == 2 or (place and angle.numbers[1].comma):
            yield angle, at
        if not unit and self._is_unit(at, place, angle):
            with_unit = replace(angle, units=(*angle.units, place))
            yield from self._more(at + 1, with_unit, unit=True)
            # "30'.3": the mark stands over the point.
            for end, number in self._decimals(at, angle.numbers[-1]):
                if number.decimals and angle.numbers[-1].is_whole:
                    numbers = (*angle.numbers[:-1], number)
                    yield from self._more(end, replace(with_unit, numbers=numbers), unit=True)
        last = angle.numbers[-1]
        if place == 2 or not last.is_whole:
            return
        for begin, kind, joined in self._joint(at, angle, unit=unit):
            if angle.joint not in ("", kind, "unit") and kind != "unit":
                continue
            joint = kind if angle.joint in ("", "unit") else angle.joint
            for number, end in self._number(begin):
                if place == 0 and len(last.whole) > 3:
                    continue
                if number.fraction is None and len(number.whole) > 2:
                    continue
                if kind == "point" and number.decimals and not number.comma and place == 0:
                    continue
                grown = replace(joined, joint=joint, numbers=(*angle.numbers, number))
                yield from self._more(end, grown, unit=False)

    def _is_unit(self, at: int, place: int, angle: Angle) -> bool:
        if at >= len(self.tokens):
            return False
        token = self.tokens[at]
        if not any(role == "unit" and value == place for role, value in token.roles):
            return False
        if token.letter and token.text not in "°'\"" and place:
            # "m" may be metres and "s" south, unless the part before has its letter as well.
            return angle.marked and token.glued
        return True

    def _joint(self, at: int, angle: Angle, *, unit: bool) -> Iterator[tuple[int, Joint, Angle]]:
        """What joins the next number on: where that begins, the kind, the angle with its side."""
        if at >= len(self.tokens):
            return
        token = self.tokens[at]
        if self._is(at, "figures") or (self._is(at, "point") and not token.glued):
            if unit:
                yield at, "unit", angle
            elif not token.glued:
                yield at, "gap", angle
        tight = token.glued and self._glued(at + 1) and self._is(at + 1, "figures")
        if self._is(at, "dash") and tight:
            yield at + 1, "unit" if unit else "dash", angle
        if self._is(at, "colon") and tight:
            yield at + 1, "colon", angle
        if self._is(at, "point") and tight and not angle.units:
            yield at + 1, "point", angle
        parted = self._is(at, "and") or (self._is(at, "comma") and not tight)
        if unit and parted and self._is(at + 1, "figures"):
            yield at + 1, "unit", angle
        if self._is(at, "side") and tight and not angle.sides and not unit:
            side = replace(angle, sides=token.value("side"), side_text=token.text)
            yield at + 1, "side", side

    def _number(self, at: int) -> Iterator[tuple[Number, int]]:
        if at >= len(self.tokens):
            return
        token = self.tokens[at]
        if self._is(at, "point") and self._is(at + 1, "figures") and self._glued(at + 1):
            # "46 .5197" is no 46°00.5197': a figure just before it may be its whole part.
            apart = not token.glued and self._is(at - 2, "point")
            if not self._is(at - 1, "figures") or apart:
                decimals = self.tokens[at + 1].text
                yield Number("0", decimals, token.start), at + 2
            return
        if not self._is(at, "figures"):
            return
        whole = Number(token.text, at=token.start, spoken=token.spoken)
        yield whole, at + 1
        for end, number in self._decimals(at, whole):
            yield number, end
            yield from self._powers(end, number)
        yield from self._powers(at + 1, whole)
        if self._is(at + 1, "fraction"):
            yield replace(whole, fraction=self.tokens[at + 1].value("fraction")), at + 2
        if (
            self._is(at + 1, "figures")
            and self._is(at + 2, "slash")
            and self._is(at + 3, "figures")
            and self._glued(at + 2)
            and self._glued(at + 3)
            and self.tokens[at + 3].text in {"2", "3", "4", "8"}
            and int(self.tokens[at + 1].text) < int(self.tokens[at + 3].text)
        ):
            part = int(self.tokens[at + 1].text), int(self.tokens[at + 3].text)
            yield replace(whole, fraction=part), at + 4

    def _decimals(self, at: int, whole: Number) -> Iterator[tuple[int, Number]]:
        if not (self._is(at + 1, "point", "comma") and self._glued(at + 1)):
            return
        comma = self._is(at + 1, "comma")
        if self._is(at + 2, "figures") and self._glued(at + 2):
            yield at + 3, replace(whole, decimals=self.tokens[at + 2].text, comma=comma)
        elif not comma:
            yield at + 2, whole  # "48." and "48.°"

    def _powers(self, at: int, number: Number) -> Iterator[tuple[Number, int]]:
        if (
            self._is(at, "exponent")
            and self._is(at + 1, "dash", "sign")
            and self._is(at + 2, "figures")
        ):
            minus = self._is(at + 1, "dash")
            power = int(self.tokens[at + 2].text)
            yield replace(number, exponent=-power if minus else power), at + 3
