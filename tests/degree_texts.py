"""Two generators of degree notations with the place that each was made from; they share no code.

`by_grammar` writes the parts of the grammar backwards, in every combination; `by_habit` fills in
forms that people and devices really use. Common practice, no source.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Sample", "by_grammar", "by_habit"]


@dataclass(frozen=True)
class Sample:
    """A text, the place that was meant, and one unit of its last figure, degrees."""

    text: str
    lat_deg: float
    lon_deg: float
    unit_deg: float


# --- the grammar backwards -------------------------------------------------------------------

_RINGS = ["°", "º", "˚", "*", "d", "deg", " deg", " degrees", "°", " d"]
_PRIMES = ["'", "’", "′", "´", "m", "min", " min", " minutes", "'"]
_SECONDS = ['"', "”", "″", "''", "s", "sec", " sec", " seconds", '"']
_SIDES = {
    "N": ["N", "n", "North", "north", "NORTH", "nord", "norte", "с.ш.", "LU", "北緯"],
    "S": ["S", "s", "South", "south", "SOUTH", "sur", "Süd", "ю.ш.", "LS", "南緯"],
    "E": ["E", "e", "East", "east", "EAST", "este", "Ost", "в.д.", "BT", "東経"],
    "W": ["W", "w", "West", "west", "WEST", "oeste", "West", "з.д.", "BB", "西経"],
}


def by_grammar(seed: int, count: int) -> Iterator[Sample]:
    """Samples put together from the grammar's own parts."""
    rng = random.Random(seed)  # noqa: S311 - a test needs to be repeatable, not secret
    for _ in range(count):
        yield _from_grammar(rng)


def _from_grammar(rng: random.Random) -> Sample:
    style = rng.choice(["dd", "ddm", "dms"])
    decimals = rng.randint(3, 6) if style == "dd" else rng.randint(0, 3)
    kind = rng.choice(["mark", "gap", "dash", "colon"] if style != "dd" else ["mark", "none"])
    naming = rng.choice(
        ["after", "after", "before", "before", "mixed", "sign", "label", "label_side"]
    )
    lat = _split(rng.uniform(0, 90), style, decimals)
    lon = _split(rng.uniform(0, 180), style, decimals)
    values = [(lat, rng.choice([1, -1]), "lat"), (lon, rng.choice([1, -1]), "lon")]
    unit = {"dd": 1.0, "ddm": 1 / 60, "dms": 1 / 3600}[style] * 10.0**-decimals
    marks = [rng.choice(_RINGS), rng.choice(_PRIMES), rng.choice(_SECONDS)]
    if marks[1] == "m":
        marks[0] = "d"
    if marks[2] == "s":
        marks[0], marks[1] = "d", "m"
    comma = rng.random() < 0.15
    words = rng.randrange(10)
    swapped = naming in ("after", "before", "label_side", "label") and rng.random() < 0.2
    texts = []
    for index, (parts, sign, axis) in enumerate(values):
        body = _body(parts, style, decimals, kind, marks, axis, rng)
        if comma:
            body = body.replace(".", ",")
        side = {("lat", 1): "N", ("lat", -1): "S", ("lon", 1): "E", ("lon", -1): "W"}[axis, sign]
        word = _SIDES[side][words]
        glue = rng.choice(["", " "]) if word.isascii() and len(word) == 1 else " "
        where = naming if naming != "mixed" else ("before", "after")[index]
        if where in ("after", "label_side"):
            body = f"{body}{glue}{word}"
        elif where == "before":
            body = f"{word}{glue}{body}"
        elif sign < 0:
            body = f"-{body}"
        elif where == "sign" and values[1 - index][1] < 0:
            body = f"+{body}"
        if naming.startswith("label"):
            label = rng.choice(
                {
                    "lat": ["lat", "Lat:", "latitude", "LAT="],
                    "lon": ["lon", "Long:", "longitude", "LON="],
                }[axis]
            )
            body = f"{label} {body}"
        texts.append(body)
    if swapped:
        texts.reverse()
    separators = [" ", "  ", "; ", " / ", " | "] + ([", ", ","] if not comma else [])
    if (naming == "sign" and kind != "none") or style != "dd":
        separators = [", ", "; ", " / "] if not comma else ["; ", " / "]
    text = rng.choice(separators).join(texts)
    if rng.random() < 0.1:
        text = f"({text})"
    return Sample(text, *(_value(parts, style, decimals) * sign for parts, sign, _ in values), unit)


def _split(value: float, style: str, decimals: int) -> tuple[str, ...]:
    """Degrees, minutes and seconds of a value, rounded at their last figure, as texts."""
    parts = {"dd": 1, "ddm": 60, "dms": 3600}[style]
    units = int(value * parts * 10**decimals)
    whole, fraction = divmod(units, 10**decimals)
    tail = f".{fraction:0{decimals}d}" if decimals else ""
    if style == "dd":
        return (f"{whole}{tail}",)
    if style == "ddm":
        return (str(whole // 60), f"{whole % 60:02d}{tail}")
    return (str(whole // 3600), f"{whole // 60 % 60:02d}", f"{whole % 60:02d}{tail}")


def _value(parts: tuple[str, ...], _style: str, _decimals: int) -> float:
    return sum(float(part) / 60**place for place, part in enumerate(parts))


def _body(parts, _style, _decimals, kind, marks, axis, rng) -> str:
    width = 3 if axis == "lon" and rng.random() < 0.3 else 2 if rng.random() < 0.3 else 1
    head, _, tail = parts[0].partition(".")
    first = head.zfill(width) + (f".{tail}" if tail else "")
    numbers = [first, *parts[1:]]
    if kind == "mark":
        space = " " if any(mark.startswith(" ") for mark in marks) or rng.random() < 0.3 else ""
        return space.join(f"{n}{m}" for n, m in zip(numbers, marks, strict=False))
    return {"gap": " ", "dash": "-", "colon": ":", "none": ""}[kind].join(numbers)


# --- what people and devices really write ------------------------------------------------------

_FORMS = [
    line
    for line in (Path(__file__).parent / "degree_habits.txt")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]
_WORLD = {
    "N": {
        "North": "north", "nord": "nord", "рус": "с. ш.", "漢": "北緯",
        "bahasa": "LU", "norte": "norte", "noord": "NB", "شمال": "شمالا",
        "nBr": "n. Br.",
    },
    "S": {
        "North": "south", "nord": "sud", "рус": "ю. ш.", "漢": "南緯",
        "bahasa": "LS", "norte": "sur", "noord": "ZB", "شمال": "جنوبا",
        "nBr": "s. Br.",
    },
    "E": {
        "East": "east", "ost": "est", "Рус": "в. д.", "漢字": "東経",
        "Bahasa": "BT", "este": "este", "oost": "OL", "شرق": "شرقا",
        "oL": "ö. L.",
    },
    "W": {
        "East": "west", "ost": "ouest", "Рус": "з. д.", "漢字": "西経",
        "Bahasa": "BB", "este": "oeste", "oost": "WL", "شرق": "غربا",
        "oL": "w. L.",
    },
}  # fmt: skip
_ARABIC = str.maketrans("0123456789.", "٠١٢٣٤٥٦٧٨٩٫")
_WIDE = {ord(c): chr(ord(c) + 0xFEE0) for c in "0123456789."}


def by_habit(seed: int, count: int) -> Iterator[Sample]:
    """Samples in forms that are in use."""
    rng = random.Random(seed)  # noqa: S311 - a test needs to be repeatable, not secret
    for _ in range(count):
        form = rng.choice(_FORMS)
        scale = rng.choice([1.0, 1.0, 1.0, 0.05])
        ns, ew = rng.choice("NS"), rng.choice("EW")
        plain = not any(
            f"{{{key}" in form
            for key in (
                "NS",
                "ns",
                "North",
                "nord",
                "рус",
                "漢",
                "bahasa",
                "norte",
                "noord",
                "شمال",
                "nBr",
                "sign",
                "lat:",
                "lat}",
            )
        )
        if (
            plain
            or "{clat} {clon}" in form
            or form in ("{clat}; {clon}", "{clat} / {clon}", "{clat}, {clon}")
        ):
            ns, ew = "N", "E"
        # Whole units of the smallest part that any form has, so that nothing is rounded here.
        lat10, lon10 = (
            rng.randrange(1, int(90 * scale * 36000)),
            rng.randrange(1, int(180 * scale * 36000)),
        )
        if "{m" in form or "{M" in form or "{mc}" in form:
            unit, lat_deg, lon_deg = _minutes(form, rng, scale)
        elif "{s" in form or "{si" in form:
            whole = ":02d" in form and ("{si" in form)
            if whole:
                lat10, lon10 = lat10 // 10 * 10, lon10 // 10 * 10
            unit, lat_deg, lon_deg = (
                (1 / 3600 if whole else 1 / 36000),
                lat10 / 36000,
                lon10 / 36000,
            )
        else:
            places = 6 if ".6f" in form else 5 if ".5f" in form else 4
            unit = 10.0**-places
            lat_deg = rng.randrange(1, int(90 * scale * 10**places)) / 10**places
            lon_deg = rng.randrange(1, int(180 * scale * 10**places)) / 10**places
        slat = -lat_deg if ns == "S" else lat_deg
        slon = -lon_deg if ew == "W" else lon_deg
        fields = {
            "lat": slat,
            "lon": slon,
            "alat": lat_deg,
            "alon": lon_deg,
            "NS": ns,
            "EW": ew,
            "ns": ns.lower(),
            "ew": ew.lower(),
            "sign": "-" if ns == "S" else "+",
            "Sign": "-" if ew == "W" else "+",
        }
        fields |= _WORLD[ns] | _WORLD[ew]
        fields |= {
            "clat": f"{lat_deg:.4f}".replace(".", ","),
            "clon": f"{lon_deg:.4f}".replace(".", ","),
        }
        fields |= {
            "arab_lat": f"{lat_deg:.4f}".translate(_ARABIC),
            "arab_lon": f"{lon_deg:.4f}".translate(_ARABIC),
        }
        fields |= {
            "wide_lat": f"{lat_deg:.4f}".translate(_WIDE),
            "wide_lon": f"{lon_deg:.4f}".translate(_WIDE),
        }
        for value, low in ((lat_deg, "dmis"), (lon_deg, "DMIS")):
            thousandths = round(value * 60 * 10_000)
            tenths = round(value * 36_000)
            fields[low[0]] = (
                int(tenths // 36_000) if "s" in form or "S" in form else int(thousandths // 600_000)
            )
            if "{m" in form or "{M" in form:
                fields[low[0]] = thousandths // 600_000
            fields[low[1]] = thousandths % 600_000 / 10_000
            fields[low[1] + "c"] = f"{thousandths % 600_000 / 10_000:05.2f}".replace(".", ",")
            fields[low[2]] = tenths // 600 % 60
            fields[low[3]] = tenths % 600 / 10
            fields[low[3] + "i"] = tenths % 600 // 10
        yield Sample(form.format(**fields), slat, slon, unit)


def _minutes(form: str, rng: random.Random, scale: float) -> tuple[float, float, float]:
    places = 4 if "07.4f" in form else 3 if "06.3f" in form else 1 if "04.1f" in form else 2
    per = 60 * 10**places
    lat, lon = rng.randrange(1, int(90 * scale * per)), rng.randrange(1, int(180 * scale * per))
    return 1 / per, lat / per, lon / per
