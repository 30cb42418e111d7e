"""Running the doubt over generated messages and counting what it finds."""

import itertools
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Square
from plotter.voice.doubt import Context, weigh


class Message(Protocol):
    """What a generator makes."""

    true_text: str
    received: str
    kind: str
    context: Context


Generator = Callable[[np.random.Generator, float, int], Message]


@dataclass
class Counts:
    """Messages of one kind of slip, by how they were received, and where the truth was ranked."""

    noticed: int = 0
    noticed_first: int = 0
    noticed_third: int = 0
    unreadable: int = 0
    unreadable_first: int = 0
    unreadable_third: int = 0
    plausible: int = 0


@dataclass
class Result:
    """What came of many messages.

    "Tellable" are those outside the area or out of the sender's reach, and the unreadable ones.
    Of these: `first` and `third` have the very square that was meant first, or among the first
    three, `near` a place within 1 km of it among the first three.
    """

    messages: int
    tellable: int = 0
    first: int = 0
    third: int = 0
    near_first: int = 0
    near: int = 0
    plausible: int = 0
    kept_first: int = 0
    staked: int = 0
    as_said_near: int = 0
    truth_first: int = 0
    warned: int = 0
    seconds: list[float] = field(default_factory=list)
    # Probabilities that were given to the alternatives, and whether the truth was within 1 km.
    forecasts: list[tuple[float, bool]] = field(default_factory=list)
    by_kind: dict[str, Counts] = field(default_factory=lambda: defaultdict(Counts))

    def share(self, name: str) -> float:
        """Share of the tellable messages."""
        return getattr(self, name) / max(self.tellable, 1)


def trials(generate: Generator, count: int, *, radius_m: float, slips: int, seed: int) -> Result:
    """Doubt `count` messages; without slips count the false warnings instead."""
    rng = np.random.default_rng(seed)
    result = Result(count)
    for _ in range(count):
        sent = generate(rng, radius_m, slips)
        truth = reading(sent.true_text, sent.context.area)[0].square
        started = time.perf_counter()
        try:
            weighed = weigh(sent.received, sent.context)
        except FormatError:
            weighed = None
        result.seconds.append(time.perf_counter() - started)
        _count(result, sent, truth, weighed)
    return result


def _count(result: Result, sent: Message, truth: Square, weighed) -> None:
    counts = result.by_kind[sent.kind]
    found = weighed.doubt if weighed else None
    places = [each.reading.square for each in found.alternatives] if found else []
    same = [_same(each, truth) for each in places]
    away = [geodesic(each.centre, truth.centre).distance_m for each in places]
    if weighed and weighed.readings and found.plausible:
        result.plausible += 1
        counts.plausible += 1
        said = weighed.readings[0].square
        result.truth_first += _same(said, truth)
        result.as_said_near += geodesic(said.centre, truth.centre).distance_m < 1_000.0
        result.warned += found.ask is not None
        # As said, first and sure beside every alternative; where it cannot be told, the stake said.
        result.kept_first += found.plausibility[0] >= 0.5 and found.as_said[0] > 0.5
        result.staked += bool(found.stake) or found.ask is not None
        return
    result.warned += 1
    result.tellable += 1
    first, third = same[:1] == [True], any(same[:3])
    result.first += first
    result.third += third
    result.near_first += any(d < 1_000.0 for d in away[:1])
    result.near += any(d < 1_000.0 for d in away[:3])
    for each, d in zip(found.alternatives if found else (), away, strict=True):
        result.forecasts.append((each.probability, d < 1_000.0))
    name = "noticed" if weighed and weighed.readings else "unreadable"
    for suffix, more in (("", 1), ("_first", first), ("_third", third)):
        setattr(counts, name + suffix, getattr(counts, name + suffix) + more)


def _same(square: Square, truth: Square) -> bool:
    return bool(
        np.hypot(
            square.centre.lat_deg - truth.centre.lat_deg,
            square.centre.lon_deg - truth.centre.lon_deg,
        )
        < 1e-8
    )


def table(title: str, result: Result, rows: int = 20) -> str:
    """Markdown table by kind, the commonest first."""
    lines = [
        (
            f"{title}: {result.messages} messages, {result.tellable} tellable or unreadable; of "
            f"these the true square first {result.share('first'):.3f}, among the first three "
            f"{result.share('third'):.3f}; within 1 km first {result.share('near_first'):.3f}, "
            f"among the first three {result.share('near'):.3f}; "
            f"{1000 * np.mean(result.seconds):.0f} ms a message"
        ),
        "",
        "| kind | noticed | first | in three | unreadable | first | in three | still plausible |",
        "|---|---|---|---|---|---|---|---|",
    ]
    ordered = sorted(result.by_kind.items(), key=lambda item: -item[1].noticed)
    for kind, c in ordered[:rows]:
        noticed = _shares(c.noticed, c.noticed_first, c.noticed_third)
        unreadable = _shares(c.unreadable, c.unreadable_first, c.unreadable_third)
        lines.append(
            f"| {kind} | {c.noticed} | {noticed} | {c.unreadable} | {unreadable} | {c.plausible} |"
        )
    return "\n".join(lines)


def _shares(whole: int, *parts: int) -> str:
    return " | ".join(f"{part / whole:.2f}" if whole else "–" for part in parts)


def reliability(result: Result, edges: tuple[float, ...]) -> list[tuple[float, float, int]]:
    """Mean probability given, share that came true and number, in bins of the probability."""
    given = np.array([p for p, _ in result.forecasts])
    true = np.array([hit for _, hit in result.forecasts])
    rows = []
    for low, high in itertools.pairwise(edges):
        inside = (given >= low) & (given < high)
        if inside.any():
            rows.append(
                (float(given[inside].mean()), float(true[inside].mean()), int(inside.sum()))
            )
    return rows
