"""A second seeded generator of messages with slips: of hand, eye and memory, not of sound.

Somebody takes a position from a map or a receiver, keeps it in mind, writes it or keys it in. It
shares no code and no table with `slips.py`, nor with the project: the texts are written by other
packages (mgrs, utm, maidenhead) or by plain formatting. Which characters look alike or lie side by
side on a keypad, that memory exchanges and repeats within a group and loses the middle of it, and
the rates are common practice or assumed, with no source.
"""

from dataclasses import dataclass

import maidenhead
import mgrs
import numpy as np
import utm
from pyproj import Geod

from plotter.geodesy.position import Area, Position
from plotter.voice.doubt import Context

GEOD = Geod(ellps="WGS84")
LOOK = ("17", "06", "49", "38", "56", "27", "UV", "EF", "PR", "CG", "MN", "KX", "DQ", "HN", "BR",
        "LT", "JT")  # fmt: skip
KEYPAD = ("123", "456", "789", "147", "258", "369", "0258")
BOARD = ("QWERTYUP", "ASDFGHJKL", "ZXCVBNM")
KINDS = {
    "look": 0.22, "key": 0.16, "memory exchanged": 0.14, "memory repeated": 0.08,
    "left out": 0.06, "written twice": 0.06, "groups exchanged": 0.08, "side": 0.05,
    "next sheet": 0.07, "next grid line": 0.08,
}  # fmt: skip


@dataclass(frozen=True)
class Message:
    true_text: str
    received: str
    kind: str
    context: Context


def written(rng: np.random.Generator, lat: float, lon: float) -> list[str]:
    """A place in one of many notations, as its groups; they are joined by single blanks."""
    ns, ew = "NS"[lat < 0], "EW"[lon < 0]
    a, b = abs(lat), abs(lon)
    notation = int(rng.integers(8))
    if notation <= 2:
        figures = (5, 4, 3)[notation]
        text = mgrs.MGRS().toMGRS(lat, lon, MGRSPrecision=figures)
        head, numbers = text[: -2 * figures].rjust(5, "0"), text[-2 * figures :]
        groups = [head[:3], head[3:], numbers[:figures], numbers[figures:]]
        return groups[1:] if rng.uniform() < 0.2 else groups
    if notation == 3:
        east, north, zone, band = utm.from_latlon(lat, lon)
        return [f"{zone}{band}", str(int(east)), str(int(north))]
    if notation == 4:
        return [f"{a:.5f}{ns}", f"{b:.5f}{ew}"]
    if notation == 5:
        return [
            f"{int(a):02d}",
            f"{a % 1 * 60:06.3f}{ns}",
            f"{int(b):03d}",
            f"{b % 1 * 60:06.3f}{ew}",
        ]
    if notation == 6:
        parts = []
        for value, side, width in ((a, ns, 2), (b, ew, 3)):
            seconds = int(value * 3600.0)
            parts += [
                f"{seconds // 3600:0{width}d}°", f"{seconds // 60 % 60:02d}'",
                f'{seconds % 60:02d}"{side}',
            ]  # fmt: skip
        return parts
    return [maidenhead.to_maiden(lat, lon, precision=4).upper()]


def message(rng: np.random.Generator, radius_m: float, slips: int) -> Message:
    """One message with so many slips; without slips every other one is from the area's edge."""
    while True:
        lat0, lon0 = rng.uniform(-60, 65), rng.uniform(-178, 178)
        share = np.sqrt(rng.uniform())
        if slips == 0 and rng.uniform() < 0.5:
            share = rng.uniform(0.98, 0.9999)
        lon, lat, _ = GEOD.fwd(lon0, lat0, rng.uniform(0, 360), share * radius_m)
        groups = written(rng, lat, lon)
        true_text = " ".join(groups)
        changed, kinds = groups, []
        for _ in range(slips):
            kind = str(
                rng.choice(list(KINDS), p=np.array(list(KINDS.values())) / sum(KINDS.values()))
            )
            after = slip(rng, list(changed), kind)
            if after is None or after == changed:
                break
            changed = after
            kinds.append(kind)
        else:
            if slips and changed == groups:
                continue  # the second slip mended the first
            context = Context(Area(Position(lat0, lon0), radius_m))
            if rng.uniform() < 0.5:  # somebody who has reported before, and moves at most at 5 m/s
                away = rng.uniform(0, 4_500)
                lon1, lat1, _ = GEOD.fwd(lon, lat, rng.uniform(0, 360), away)
                context = Context(context.area, Position(lat1, lon1), 1_000.0, 5.0)
            return Message(true_text, " ".join(changed), " + ".join(kinds) or "none", context)


def slip(  # noqa: PLR0912 - one branch a kind
    rng: np.random.Generator, groups: list[str], kind: str
) -> list[str] | None:
    """The groups after one slip, or None where they do not allow it."""
    places = [
        (g, i)
        for g, group in enumerate(groups)
        for i, c in enumerate(group)
        if c.isdigit() or (c.isalpha() and "." not in group and not is_angle(groups))
    ]
    if kind in ("look", "key"):
        g, i = places[int(rng.integers(len(places)))]
        near = looks_like(groups[g][i]) if kind == "look" else beside(groups[g][i])
        return put(groups, g, i, str(rng.choice(near))) if near else None
    if kind == "memory exchanged":
        g, i = places[int(rng.integers(len(places)))]
        j = i + int(rng.choice([1, 1, 1, 2]))
        if (g, j) not in places or groups[g][i].isdigit() != groups[g][j].isdigit():
            return None
        a, b = groups[g][i], groups[g][j]
        return put(put(groups, g, i, b), g, j, a)
    if kind == "memory repeated":
        g, i = places[int(rng.integers(len(places)))]
        others = [c for c in groups[g] if c.isdigit() and c != groups[g][i]]
        if not others or not groups[g][i].isdigit():
            return None
        return put(groups, g, i, str(rng.choice(others)))
    if kind in ("left out", "written twice"):
        g, i = places[int(rng.integers(len(places)))]
        group = groups[g]
        if kind == "left out" and (i == 0 or i == len(group) - 1) and rng.uniform() < 0.6:
            return None  # the ends of a group are kept in mind better
        new = group[:i] + group[i + 1 :] if kind == "left out" else group[:i] + group[i] + group[i:]
        return [*groups[:g], new, *groups[g + 1 :]] if new else None
    if kind == "groups exchanged":
        return exchanged(groups)
    if kind == "side":
        at = [(g, len(group) - 1) for g, group in enumerate(groups) if group[-1] in "NSEW"]
        if not is_angle(groups) or not at:
            return None
        g, i = at[int(rng.integers(len(at)))]
        return put(groups, g, i, {"N": "S", "S": "N", "E": "W", "W": "E"}[groups[g][i]])
    if kind == "next sheet":
        g, i = places[int(rng.integers(len(places)))]
        if not groups[g][i].isalpha():
            return None
        new = chr(ord(groups[g][i]) + int(rng.choice([-1, 1])))
        return put(groups, g, i, new) if "A" <= new <= "Z" else None
    g, i = places[int(rng.integers(len(places)))]  # the next grid line, or graduation of the edge
    if not groups[g][i].isdigit():
        return None
    new = int(groups[g][i]) + int(rng.choice([-1, 1]))
    return put(groups, g, i, str(new)) if 0 <= new <= 9 else None


def exchanged(groups: list[str]) -> list[str] | None:
    if is_angle(groups):
        half = len(groups) // 2
        if half > 1:
            return None
        a, b = groups
        return [b[:-1] + a[-1], a[:-1] + b[-1]]
    if len(groups) < 3:
        return None
    return [*groups[:-2], groups[-1], groups[-2]]


def is_angle(groups: list[str]) -> bool:
    return len(groups) > 1 and groups[-1][-1] in "EW"


def looks_like(character: str) -> list[str]:
    return [c for pair in LOOK if character in pair for c in pair if c != character]


def beside(character: str) -> list[str]:
    rows = KEYPAD if character.isdigit() else BOARD
    return [
        row[j]
        for row in rows
        for i, c in enumerate(row)
        if c == character
        for j in (i - 1, i + 1)
        if 0 <= j < len(row)
    ]


def put(groups: list[str], g: int, i: int, character: str) -> list[str]:
    new = groups[g][:i] + character + groups[g][i + 1 :]
    return [*groups[:g], new, *groups[g + 1 :]]
