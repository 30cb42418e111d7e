"""A pen on a PDF page: millimetres, embedded fonts, and inks that survive a grey printer."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from typing import Any, Final, Literal

from plotter.sheet.frame import Rect

__all__ = [
    "BLACK",
    "BLUE",
    "BOLD",
    "GREY",
    "ITALIC",
    "OCHRE",
    "PLAIN",
    "POINTS_PER_MM",
    "VERMILION",
    "WHITE",
    "Ink",
    "Pen",
    "lacks_letters",
    "load_fonts",
    "printable",
]

Ink = tuple[float, float, float]
Point = tuple[float, float]

POINTS_PER_MM: Final = 72.0 / 25.4


def _ink(text: str) -> Ink:
    red, green, blue = (int(text[k : k + 2], 16) / 255.0 for k in (0, 2, 4))
    return red, green, blue


# Okabe and Ito's set of colours that the colour-blind tell apart (2008).
BLUE: Final = _ink("0072B2")
VERMILION: Final = _ink("D55E00")
OCHRE: Final = _ink("E69F00")
BLACK: Final = _ink("1A1A1A")
GREY: Final = _ink("5C5C5C")
WHITE: Final = _ink("FFFFFF")

PLAIN: Final = "SheetPlain"
BOLD: Final = "SheetBold"
ITALIC: Final = "SheetItalic"
_FILES: Final = {
    PLAIN: "FiraSansCondensed-Regular.ttf",
    BOLD: "FiraSansCondensed-SemiBold.ttf",
    ITALIC: "FiraSansCondensed-Italic.ttf",
}
# Signs that the font lacks and that mean the same in print.
_INSTEAD: Final = str.maketrans(
    {"′": "'", "″": '"', "\u2009": "\u00a0", "\u202f": "\u00a0", "\t": " ", "\n": " ", "\r": " "}
)
_MISSING: Final = "?"


@cache
def load_fonts() -> frozenset[int]:
    """Register the fonts, and return the characters that all of them can print."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    known: set[int] | None = None
    folder = files("fontpkg_fira_sans_condensed").joinpath("files")
    for name, file in _FILES.items():
        with as_file(folder.joinpath(file)) as path:
            font = TTFont(name, str(path))
        pdfmetrics.registerFont(font)
        glyphs = set(font.face.charToGlyph)
        known = glyphs if known is None else known & glyphs
    pdfmetrics.registerFontFamily("Sheet", PLAIN, BOLD, ITALIC, BOLD)
    return frozenset(known or ())


def printable(text: str) -> str:
    """Return a text in characters that the fonts have; "?" stands for each of the others."""
    known = load_fonts()
    return "".join(
        c if ord(c) in known else _MISSING
        for c in text.translate(_INSTEAD)
        if c.isprintable() or c == "\u00a0"
    )


def lacks_letters(texts: Iterable[str]) -> bool:
    """Whether any text has a character that would be printed as "?"."""
    return any(printable(text).count(_MISSING) > text.count(_MISSING) for text in texts)


@dataclass(frozen=True, slots=True)
class Pen:
    """Draws on a canvas in millimetres from the lower left corner.

    Parameters
    ----------
    canvas : reportlab Canvas
        In its own units; the pen converts.
    """

    canvas: Any

    def line(
        self,
        points: Sequence[Point],
        width_mm: float,
        ink: Ink = BLACK,
        dash_mm: Sequence[float] = (),
        *,
        alpha: float = 1.0,
    ) -> None:
        """Draw an open line."""
        self._stroke(width_mm, ink, dash_mm, alpha)
        self.canvas.drawPath(self._path(points, closed=False), stroke=1, fill=0)

    def shape(
        self,
        rings: Sequence[Sequence[Point]],
        width_mm: float = 0.0,
        ink: Ink = BLACK,
        fill: Ink | None = None,
        dash_mm: Sequence[float] = (),
        *,
        fill_alpha: float = 1.0,
    ) -> None:
        """Draw closed rings as one shape; inner rings are holes."""
        self._stroke(max(width_mm, 0.01), ink, dash_mm, 1.0)
        path = self.canvas.beginPath()
        for ring in rings:
            self._path(ring, closed=True, path=path)
        if fill is not None:
            self.canvas.setFillColorRGB(*fill)
            self.canvas.setFillAlpha(fill_alpha)
        self.canvas.drawPath(path, stroke=int(width_mm > 0), fill=int(fill is not None), fillMode=0)
        self.canvas.setFillAlpha(1.0)

    def circle(
        self, x: float, y: float, radius_mm: float, width_mm: float, ink: Ink = BLACK,
        fill: Ink | None = None,
    ) -> None:  # fmt: skip
        """Draw a circle."""
        self._stroke(max(width_mm, 0.01), ink, (), 1.0)
        if fill is not None:
            self.canvas.setFillColorRGB(*fill)
        k = POINTS_PER_MM
        self.canvas.circle(
            x * k, y * k, radius_mm * k, stroke=int(width_mm > 0), fill=int(fill is not None)
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size_mm: float,
        font: str = PLAIN,
        ink: Ink = BLACK,
        *,
        anchor: Literal["start", "middle", "end"] = "start",
        angle_deg: float = 0.0,
        halo_mm: float = 0.0,
        alpha: float = 1.0,
    ) -> None:
        """Write words on a base line that starts, is centred or ends at a point."""
        words = printable(words)
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        k, canvas = POINTS_PER_MM, self.canvas
        canvas.saveState()
        canvas.translate(x * k, y * k)
        if angle_deg:
            canvas.rotate(angle_deg)
        start = -shift * self.width(words, size_mm, font) * k
        if halo_mm > 0:
            # The mode of writing lives in the page, not in the text: keep it from what follows.
            canvas.saveState()
            canvas.setLineJoin(1)
            canvas.setDash([])
            canvas.setStrokeAlpha(0.85)
            canvas.setStrokeColorRGB(*WHITE)
            canvas.setLineWidth(2 * halo_mm * k)
            self._write(start, words, size_mm, font, WHITE, mode=1)
            canvas.restoreState()
        canvas.setFillAlpha(alpha)
        self._write(start, words, size_mm, font, ink, mode=0)
        canvas.restoreState()

    def width(self, words: str, size_mm: float, font: str = PLAIN) -> float:
        """Width of printed words in millimetres."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        load_fonts()
        return float(stringWidth(printable(words), font, size_mm))

    def wrapped(self, words: str, size_mm: float, wide_mm: float, font: str = PLAIN) -> list[str]:
        """Break words into lines that fit a width."""
        lines: list[str] = []
        for word in words.split(" "):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.width(longer, size_mm, font) <= wide_mm:
                lines[-1] = longer
            else:
                lines.append(word)
        return lines

    def block(
        self,
        x: float,
        top: float,
        words: str,
        size_mm: float,
        wide_mm: float,
        font: str = PLAIN,
        ink: Ink = BLACK,
        *,
        most_lines: int | None = None,
    ) -> float:
        """Write a paragraph below a height; return the height below it."""
        lines = self.wrapped(words, size_mm, wide_mm, font)
        if most_lines is not None and len(lines) > most_lines:
            lines = [*lines[: most_lines - 1], lines[most_lines - 1] + " …"]
        for line in lines:
            top -= 1.22 * size_mm
            self.text(x, top + 0.22 * size_mm, line, size_mm, font, ink)
        return top

    @contextmanager
    def within(self, rect: Rect) -> Iterator[None]:
        """Draw nothing outside a rectangle."""
        k = POINTS_PER_MM
        self.canvas.saveState()
        path = self.canvas.beginPath()
        path.rect(rect.left * k, rect.bottom * k, rect.width * k, rect.height * k)
        self.canvas.clipPath(path, stroke=0, fill=0)
        yield
        self.canvas.restoreState()

    @contextmanager
    def within_rings(self, rings: Sequence[Sequence[Point]]) -> Iterator[None]:
        """Draw nothing outside a shape with holes."""
        self.canvas.saveState()
        path = self.canvas.beginPath()
        for ring in rings:
            self._path(ring, closed=True, path=path)
        self.canvas.clipPath(path, stroke=0, fill=0, fillMode=0)
        yield
        self.canvas.restoreState()

    def _write(
        self, start: float, words: str, size_mm: float, font: str, ink: Ink, *, mode: int
    ) -> None:
        load_fonts()
        text = self.canvas.beginText(start, 0)
        text.setTextRenderMode(mode)
        text.setFont(font, size_mm * POINTS_PER_MM)
        text.setFillColorRGB(*ink)
        text.textOut(words)
        self.canvas.drawText(text)

    def _stroke(self, width_mm: float, ink: Ink, dash_mm: Sequence[float], alpha: float) -> None:
        canvas, k = self.canvas, POINTS_PER_MM
        canvas.setLineWidth(width_mm * k)
        canvas.setStrokeColorRGB(*ink)
        canvas.setStrokeAlpha(alpha)
        canvas.setDash([d * k for d in dash_mm])
        canvas.setLineJoin(1)

    def _path(self, points: Sequence[Point], *, closed: bool, path: Any = None) -> Any:  # noqa: ANN401 - reportlab has no types
        path = self.canvas.beginPath() if path is None else path
        k = POINTS_PER_MM
        for index, (x, y) in enumerate(points):
            (path.lineTo if index else path.moveTo)(x * k, y * k)
        if closed:
            path.close()
        return path
