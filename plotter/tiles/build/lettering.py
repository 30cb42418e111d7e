"""A name to its letters' shapes: every script shaped by its rules, digits never turned about."""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Final

from plotter.tiles.build.fonts import Face, face_of, faces, script_of

__all__ = ["Cluster", "Lettered", "lettered"]

# Bidirectional classes of Unicode that go from right to left, and those of figures.
_RIGHT: Final = frozenset({"R", "AL"})
_FIGURES: Final = frozenset({"EN", "AN"})


@dataclass(frozen=True, slots=True)
class Cluster:
    """Glyphs that belong together, as a letter and its accents.

    Parameters
    ----------
    face : int
        Number of the face.
    glyphs : tuple of (int, float, float)
        Number of each and its place from the cluster's left end on the base line, pixels, y down.
    width : float
        To the next cluster, pixels.
    """

    face: int
    glyphs: tuple[tuple[int, float, float], ...]
    width: float


@dataclass(frozen=True, slots=True)
class Lettered:
    """A name ready to be set.

    Parameters
    ----------
    clusters : tuple of Cluster
        From left to right; empty where a letter is missing: half a name is another name.
    width, size : float
        Of the whole, and of the letters, pixels.
    missing : tuple of str
        Scripts of letters that no font has.
    """

    clusters: tuple[Cluster, ...]
    width: float
    size: float
    missing: tuple[str, ...] = ()


@lru_cache(maxsize=8192)
def lettered(text: str, size: float) -> Lettered:
    """Shape a name.

    Parameters
    ----------
    text : str
        In reading order, as Unicode has it.
    size : float
        Of its em, pixels.

    Returns
    -------
    Lettered
        Runs of one direction each are shaped by themselves and set in the order of the name's own
        direction, so that 15 within an Arabic name stays 15.

    Source
    ------
    Unicode Standard Annex 9, bidirectional algorithm, without embeddings; shaping by HarfBuzz.
    """
    lacking = sorted({
        script_of(letter)
        for letter in text
        if unicodedata.category(letter)[0] not in "CZ" and face_of(ord(letter)) is None
    })  # fmt: skip
    if lacking:
        return Lettered((), 0.0, size, tuple(lacking))
    clusters = tuple(
        cluster for part, right in _in_order(text) for cluster in _shaped(part, size, right=right)
    )
    return Lettered(clusters, sum(cluster.width for cluster in clusters), size)


def _in_order(text: str) -> list[tuple[str, bool]]:
    """Runs of one direction from left to right, and whether each is written from the right."""
    classes = _resolved([unicodedata.bidirectional(letter) for letter in text])
    runs: list[tuple[str, str]] = []
    for kind, letters in groupby(zip(classes, text, strict=True), key=lambda pair: pair[0]):
        runs.append((kind, "".join(letter for _, letter in letters)))
    base = next((kind for kind in classes if kind in "LR"), "L")
    if base == "R":
        # Figures and letters from the left that follow each other are one run of their own.
        groups = [list(g) for _, g in groupby(runs, key=lambda run: run[0] == "R")]
        return [(part, kind == "R") for group in reversed(groups) for kind, part in group]
    groups = [list(g) for _, g in groupby(runs, key=lambda run: run[0] == "L")]
    found: list[tuple[str, bool]] = []
    for group in groups:
        turned = group[0][0] != "L" and any(kind == "R" for kind, _ in group)
        found += [(part, kind == "R") for kind, part in (reversed(group) if turned else group)]
    return found


def _resolved(classes: list[str]) -> list[str]:
    """Each letter's class as L, R or N (figures); what is neutral goes with its neighbours."""
    strong = [
        "R" if c in _RIGHT else "N" if c in _FIGURES else "L" if c == "L" else "" for c in classes
    ]
    base = next((kind for kind in strong if kind in ("L", "R")), "L")
    found = list(strong)
    for i, kind in enumerate(strong):
        if kind:
            continue
        before = next((k for k in reversed(strong[:i]) if k), base)
        after = next((k for k in strong[i + 1 :] if k), base)
        if classes[i] == "NSM" or before == after:
            found[i] = before
        else:
            sides = {
                "R" if k == "N" and base == "R" else "L" if k == "N" else k for k in (before, after)
            }
            found[i] = sides.pop() if len(sides) == 1 else base
    return found


def _shaped(text: str, size: float, *, right: bool) -> Iterator[Cluster]:
    pieces = list(_by_face(text))
    for number, piece in reversed(pieces) if right else pieces:
        yield from _clusters(piece, number, faces()[number], size, right=right)


def _by_face(text: str) -> Iterator[tuple[int, str]]:
    """Runs of one font; spaces, points and accents stay with the letter before them if they can."""
    number, piece = -1, ""
    for letter in text:
        weak = unicodedata.category(letter)[0] in "ZPCM"
        mine = number >= 0 and (
            unicodedata.category(letter)[0] == "C" or ord(letter) in faces()[number].letters
        )
        own = number if weak and mine else face_of(ord(letter))
        own = max(number, 0) if own is None else own
        if own != number and piece:
            yield number, piece
            piece = ""
        number = own
        piece += letter
    if piece:
        yield number, piece


def _clusters(text: str, number: int, face: Face, size: float, *, right: bool) -> Iterator[Cluster]:
    import uharfbuzz

    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if right else "ltr"
    uharfbuzz.shape(face.shaper, buffer)
    scale = size / face.units
    pairs = zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
    for _, group in groupby(pairs, key=lambda pair: pair[0].cluster):
        at, glyphs = 0.0, []
        for info, place in group:
            glyphs.append((info.codepoint, at + place.x_offset * scale, -place.y_offset * scale))
            at += place.x_advance * scale
        yield Cluster(number, tuple(glyphs), at)
