"""Running the doubt over generated messages and counting what it finds."""

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from slips import message

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.voice.doubt import weigh


@dataclass
class Counts:
    noticed: int = 0
    top1: int = 0
    top3: int = 0
    unreadable: int = 0
    unreadable_top3: int = 0
    plausible: int = 0
    kept_first: int = 0
    staked: int = 0


@dataclass
class Result:
    messages: int
    first: float
    warned: float
    by_kind: dict[str, Counts] = field(default_factory=dict)

    def _sum(self, name: str) -> int:
        return sum(getattr(counts, name) for counts in self.by_kind.values())

    @property
    def noticed_top3(self) -> float:
        return self._sum("top3") / max(self._sum("noticed"), 1)

    @property
    def noticed_first(self) -> float:
        return self._sum("top1") / max(self._sum("noticed"), 1)

    @property
    def plausible_staked(self) -> float:
        return self._sum("staked") / max(self._sum("plausible"), 1)

    @property
    def plausible_first(self) -> float:
        return self._sum("kept_first") / max(self._sum("plausible"), 1)


def trials(count: int, *, radius_m: float, slips: int, seed: int) -> Result:
    """Doubt `count` messages; without slips count the false warnings instead."""
    rng = np.random.default_rng(seed)
    kinds: dict[str, Counts] = defaultdict(Counts)
    first = warned = 0
    for _ in range(count):
        sent = message(rng, radius_m, slips)
        counts = kinds[sent.kind]
        try:
            weighed = weigh(sent.received, sent.context)
        except FormatError:
            counts.unreadable += 1
            continue
        readings, found = weighed.readings, weighed.doubt
        truth = reading(sent.true_text, sent.context.area)[0].square
        ranks = [
            i
            for i, each in enumerate(found.alternatives)
            if np.hypot(
                each.reading.square.centre.lat_deg - truth.centre.lat_deg,
                each.reading.square.centre.lon_deg - truth.centre.lon_deg,
            )
            < 1e-8
        ]
        rank = ranks[0] if ranks else 99
        plausible = [fit for fit in found.plausibility if fit >= 0.5]
        if slips == 0:
            first += bool(plausible) and readings[0].square.centre == truth.centre
            warned += found.ask is not None
        elif plausible:
            counts.plausible += 1
            # As said, first and sure beside every alternative; and where it cannot be told, the
            # stake is named.
            sure = 1.0 - sum(each.probability for each in found.alternatives)
            counts.kept_first += found.plausibility[0] >= 0.5 and sure > 0.5
            counts.staked += bool(found.stake) or found.ask is not None
        elif readings:
            counts.noticed += 1
            counts.top1 += rank == 0
            counts.top3 += rank < 3
        else:
            counts.unreadable += 1
            counts.unreadable_top3 += rank < 3
    return Result(count, first / count, warned / count, dict(kinds))


def table(title: str, result: Result) -> str:
    """Markdown table by kind, the commonest first."""
    lines = [
        (
            f"{title}: {result.messages} messages; of the noticed errors first "
            f"{result.noticed_first:.3f}, among the first three {result.noticed_top3:.3f}"
        ),
        "",
        "| kind | noticed | first | first three | unreadable | first three | still plausible |",
        "|---|---|---|---|---|---|---|",
    ]
    ordered = sorted(result.by_kind.items(), key=lambda item: -item[1].noticed)
    for kind, c in ordered[:20]:
        share = f"{c.top1 / c.noticed:.2f} | {c.top3 / c.noticed:.2f}" if c.noticed else "– | –"
        late = f"{c.unreadable_top3 / c.unreadable:.2f}" if c.unreadable else "–"
        lines.append(
            f"| {kind} | {c.noticed} | {share} | {c.unreadable} | {late} | {c.plausible} |"
        )
    return "\n".join(lines)
