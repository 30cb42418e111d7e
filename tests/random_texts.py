"""Seeded random texts for the long run: jumbles of the reader's words, references with slips."""

import random
import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from formats.test_fuzz import PIECES, SAID
from reader_laws import AREA, obey

from plotter.errors import PlotterError
from plotter.formats.registry import FORMATS
from plotter.geodesy.position import Position

CHARACTERS = "0123456789ABCDEFGHJKLMNPQRSTUVWXYZ .,-+°'NSEW"


def texts(seed: int, count: int) -> Iterator[tuple[str, bool]]:
    """Texts, and whether each is to be read as spoken."""
    rng = random.Random(seed)  # noqa: S311 - a test needs to be repeatable, not secret
    names = list(FORMATS)
    done = 0
    while done < count:
        kind = rng.random()
        if kind < 0.5:
            place = Position(rng.uniform(-90, 90), rng.uniform(-180, 180))
            try:
                text = FORMATS[rng.choice(names)].write(place, 10 ** rng.uniform(-1, 5))
            except PlotterError:
                continue  # a national grid, and elsewhere
            for _ in range(rng.randint(0, 3)):
                text = slipped(rng, text)
            yield text, False
        elif kind < 0.9:
            glue = rng.choice(("", " "))
            yield glue.join(rng.choice(PIECES) for _ in range(rng.randint(1, 8))), False
        else:
            yield " ".join(rng.choice(PIECES + SAID) for _ in range(rng.randint(1, 10))), True
        done += 1


def slipped(rng: random.Random, text: str) -> str:
    """One character changed, left out, put in, or exchanged with its neighbour."""
    at = rng.randrange(len(text) or 1)
    way = rng.randrange(4)
    if way == 0:
        return text[:at] + rng.choice(CHARACTERS) + text[at + 1 :]
    if way == 1:
        return text[:at] + text[at + 1 :]
    if way == 2:
        return text[:at] + rng.choice(CHARACTERS) + text[at:]
    return text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]


def run(arguments: tuple[int, int]) -> tuple[int, int]:
    """Check the laws on so many texts; how many texts and how many readings there were."""
    seed, count = arguments
    done = readings = 0
    for i, (text, spoken) in enumerate(texts(seed, count)):
        try:
            readings += obey(text, spoken=spoken, areas=(AREA,) if i % 2 else (None,))
        except Exception as error:
            raise AssertionError(f"{text!r}: {error!r}") from error
        done += 1
    return done, readings
