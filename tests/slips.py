"""A seeded generator of messages with slips, for the tests of doubt.

A sender within the area has moved since its last report, slower than its top speed, and reports its
place in one of seven notations. One slip (or two) then happens on the way. The kinds and their
rates, and which figure or letter is taken for which, are those of
`plotter/voice/data/slips_english.json`, which is assumed, not measured; the slips themselves are
made here by code of their own.
"""

import re
from dataclasses import dataclass

import numpy as np

from plotter.formats.latlon import format_latlon
from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.mgrs import format_mgrs
from plotter.formats.utm import format_utm
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.position import Area, Position
from plotter.voice.doubt import Context
from plotter.voice.mistakes import slip_chance

BANDS = "CDEFGHJKLMNPQRSTUVWX"
KINDS = {
    "figure": 0.34, "letter": 0.14, "swap": 0.14, "drop": 0.05, "double": 0.05,
    "easting and northing": 0.06, "latitude and longitude": 0.05, "hemisphere": 0.07,
    "zone or band": 0.05, "degrees for minutes": 0.05,
}  # fmt: skip


@dataclass(frozen=True)
class Message:
    true_text: str
    received: str
    kind: str
    context: Context


def spoken_mgrs(place: Position, figures: int) -> str:
    text = format_mgrs(place, figures)
    return f"{text[:3]} {text[3:5]} {text[5 : 5 + figures]} {text[5 + figures :]}"


def minutes(place: Position) -> str:
    """Degrees and minutes as they are said: 48 51.49N 2 17.67E."""
    return format_latlon(place, "ddm", 2).replace("°", " ").replace("'", "")


NOTATIONS = {
    "MGRS 10": lambda p: spoken_mgrs(p, 5),
    "MGRS 8": lambda p: spoken_mgrs(p, 4),
    "MGRS 6": lambda p: spoken_mgrs(p, 3),
    "UTM": format_utm,
    "degrees": lambda p: format_latlon(p, "dd", 4),
    "minutes": minutes,
    "locator": lambda p: format_maidenhead(p, 8).upper(),
}


def message(rng: np.random.Generator, radius_m: float, slips: int) -> Message:
    """One message with so many slips."""
    while True:
        middle = Position(rng.uniform(-60, 65), rng.uniform(-179, 179))
        area = Area(middle, radius_m)
        last = destination(middle, rng.uniform(0, 360), 0.9 * radius_m * np.sqrt(rng.uniform()))
        speed = float(rng.choice([1.5, 5.0, 20.0]))  # on foot, by boat, by car
        elapsed = rng.uniform(5, 60) * 60
        here = destination(
            last, rng.uniform(0, 360), 0.9 * speed * elapsed * np.sqrt(rng.uniform())
        )
        if geodesic(middle, here).distance_m > 0.95 * radius_m:
            continue
        notation = str(rng.choice(list(NOTATIONS)))
        true_text = NOTATIONS[notation](here)
        text, kinds = true_text, []
        for _ in range(slips):
            kind = str(rng.choice(list(KINDS), p=np.array(list(KINDS.values()))))
            changed = slip(rng, text, kind, notation)
            if changed is None or changed == text:
                break
            text = changed
            kinds.append(kind)
        else:
            context = Context(area, last, elapsed, speed)
            return Message(true_text, text, " + ".join(kinds) or "none", context)


def slip(  # noqa: PLR0912 - one branch a kind
    rng: np.random.Generator, text: str, kind: str, notation: str
) -> str | None:
    """Make one slip, or None where this notation does not allow it."""
    figures = [i for i, c in enumerate(text) if c.isdigit()]
    coded = notation.startswith("MGRS") or notation == "locator"
    letters = [i for i, c in enumerate(text) if c.isalpha()] if coded else []
    if kind == "figure":
        i = int(rng.choice(figures))
        return put(text, i, misheard(rng, text[i], "figure"))
    if kind == "letter" and letters:
        i = int(rng.choice(letters))
        return put(text, i, misheard(rng, text[i], "letter"))
    if kind == "swap":
        places = [i for i in figures if i + 1 in figures]
        i = int(rng.choice(places))
        return text[:i] + text[i + 1] + text[i] + text[i + 2 :]
    if kind == "drop":
        i = int(rng.choice(figures))
        return text[:i] + text[i + 1 :]
    if kind == "double":
        i = int(rng.choice(figures))
        return text[:i] + text[i] + text[i:]
    if kind == "easting and northing" and (notation.startswith("MGRS") or notation == "UTM"):
        *head, a, b = text.split(" ")
        return " ".join([*head, b, a])
    if kind == "latitude and longitude" and notation == "degrees":
        lat, lon = text.split(" ")
        return f"{lon[:-1]}{lat[-1]} {lat[:-1]}{lon[-1]}"
    if kind == "hemisphere" and notation in ("degrees", "minutes"):
        at = [i for i, c in enumerate(text) if c in "NSEW"]
        i = int(rng.choice(at))
        return put(text, i, {"N": "S", "S": "N", "E": "W", "W": "E"}[text[i]])
    if kind == "zone or band" and (notation.startswith("MGRS") or notation == "UTM"):
        if not re.match(r"\d\d[C-HJ-NP-X]", text):
            return None  # another slip took the zone or the band away
        zone, band = int(text[:2]), BANDS.index(text[2])
        if rng.uniform() < 0.5:
            zone = (zone - 1 + int(rng.choice([-1, 1]))) % 60 + 1
        else:
            band += int(rng.choice([-1, 1]))
        if not 0 <= band < len(BANDS):
            return None
        return f"{zone:02d}{BANDS[band]}{text[3:]}"
    if kind == "degrees for minutes" and notation == "minutes" and text.count(" ") == 3:
        degrees = text.split(" ")
        pairs = [(degrees[0], degrees[1]), (degrees[2], degrees[3])]
        return " ".join(f"{d}.{m.replace('.', '')}" for d, m in pairs)
    return None


def put(text: str, at: int, character: str) -> str:
    return text[:at] + character + text[at + 1 :]


def misheard(rng: np.random.Generator, meant: str, kind: str) -> str:
    alphabet = "0123456789" if kind == "figure" else "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    others = [c for c in alphabet if c != meant]
    chances = np.array([slip_chance(meant, other, kind) for other in others])
    return str(rng.choice(others, p=chances / chances.sum()))
