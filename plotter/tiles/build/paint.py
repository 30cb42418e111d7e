"""A canvas of skia over a numpy picture: areas, lines and letters in pixels."""

from collections.abc import Iterable, Sequence
from typing import Any, Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.errors import TileError
from plotter.geodesy.arrays import FloatArray
from plotter.tiles.build.fonts import faces, missing_library
from plotter.tiles.build.lettering import Cluster

__all__ = ["Canvas", "Set"]

Set: TypeAlias = tuple[Cluster, float, float, float, float]
"""Letters that are set: x and y of the cluster's left end on its base line, cosine and sine."""

_HALO_PX: Final = 2.4


class Canvas:
    """A picture to draw on, see-through where nothing is drawn.

    Parameters
    ----------
    pixels : int
        On each side.

    Raises
    ------
    TileError
        If the library that draws, or what it needs of the system, is missing.
    """

    def __init__(self, pixels: int) -> None:
        try:
            import skia
        except ImportError as error:
            raise TileError(missing_library(error)) from error
        self._skia = skia
        self.premultiplied: NDArray[np.uint8] = np.zeros((pixels, pixels, 4), dtype=np.uint8)
        self._surface = skia.Surface(
            self.premultiplied,
            skia.ColorType.kRGBA_8888_ColorType,
            skia.AlphaType.kPremul_AlphaType,
        )
        self._pen = self._surface.getCanvas()
        self._fonts: dict[tuple[int, float], Any] = {}

    def fill(self, areas: Iterable[shapely.Geometry], colour: str) -> None:
        """Fill areas, given in pixels, as one: edges within them do not show."""
        path = self._area_path(areas)
        self._pen.drawPath(path, self._paint(colour))

    def clear(self, areas: Iterable[shapely.Geometry]) -> None:
        """Make areas see-through again."""
        paint = self._paint("#000000")
        paint.setBlendMode(self._skia.BlendMode.kClear)
        self._pen.drawPath(self._area_path(areas), paint)

    def stroke(
        self,
        lines: Iterable[FloatArray],
        colour: str,
        width: float,
        dash: Sequence[float] = (),
    ) -> None:
        """Draw lines, each (n, 2) in pixels."""
        path = self._skia.Path()
        for line in lines:
            path.addPoly(self._points(line), False)
        paint = self._paint(colour)
        paint.setStyle(self._skia.Paint.kStroke_Style)
        paint.setStrokeWidth(width)
        paint.setStrokeJoin(self._skia.Paint.kRound_Join)
        if dash:
            paint.setPathEffect(self._skia.DashPathEffect.Make(list(dash), 0.0))
        else:
            paint.setStrokeCap(self._skia.Paint.kRound_Cap)
        self._pen.drawPath(path, paint)

    def letters(self, words: Iterable[Sequence[Set]], size: float, ink: str, halo: str) -> None:
        """Draw set letters with a halo, all halos below all letters."""
        blobs = [blob for word in words for blob in self._blobs(word, size)]
        edge = self._paint(halo)
        edge.setStyle(self._skia.Paint.kStroke_Style)
        edge.setStrokeWidth(_HALO_PX)
        edge.setStrokeJoin(self._skia.Paint.kRound_Join)
        for blob in blobs:
            self._pen.drawTextBlob(blob, 0.0, 0.0, edge)
        for blob in blobs:
            self._pen.drawTextBlob(blob, 0.0, 0.0, self._paint(ink))

    def fill_where(self, cells: NDArray[np.bool_], colour: str) -> None:
        """Fill the pixels of square cells that stand over the whole canvas, (n, n)."""
        side = len(self.premultiplied)
        rows = (np.arange(side) * len(cells)) // side
        red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        self.premultiplied[cells[np.ix_(rows, rows)]] = (red, green, blue, 255)

    def put(self, rgba: NDArray[np.uint8]) -> None:
        """Take over a whole picture, its colours not multiplied by its cover."""
        cover = rgba[..., 3:].astype(np.uint16)
        self.premultiplied[..., :3] = (rgba[..., :3] * cover // 255).astype(np.uint8)
        self.premultiplied[..., 3:] = rgba[..., 3:]

    def rgba(self) -> NDArray[np.uint8]:
        """The picture, its colours not multiplied by its cover."""
        cover = self.premultiplied[..., 3]
        if (cover == 255).all():
            return self.premultiplied
        found = self.premultiplied.copy()
        part = (cover > 0) & (cover < 255)
        colour = found[part].astype(np.uint16)
        found[part, :3] = np.minimum(colour[:, :3] * 255 // colour[:, 3:], 255).astype(np.uint8)
        return found

    def _paint(self, colour: str) -> Any:  # noqa: ANN401 - the library's own
        red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        return self._skia.Paint(Color=self._skia.Color(red, green, blue), AntiAlias=True)

    def _points(self, xy: FloatArray) -> list[Any]:
        point = self._skia.Point
        return [point(x, y) for x, y in xy.tolist()]

    def _area_path(self, areas: Iterable[shapely.Geometry]) -> Any:  # noqa: ANN401
        # Shells all turn one way and holes the other, so that areas that overlap add up.
        path = self._skia.Path()
        path.setFillType(self._skia.PathFillType.kWinding)
        parts = shapely.get_parts(np.array(list(areas), dtype=object))
        parts = shapely.orient_polygons(parts[shapely.get_type_id(parts) == 3])
        for part in parts.tolist():
            for ring in (part.exterior, *part.interiors):
                path.addPoly(self._points(shapely.get_coordinates(ring)[:-1]), True)
        return path

    def _blobs(self, word: Sequence[Set], size: float) -> list[Any]:
        skia, runs = self._skia, {}  # type: ignore[var-annotated]
        for cluster, x, y, cos, sin in word:
            numbers, places = runs.setdefault(cluster.face, ([], []))
            for glyph, dx, dy in cluster.glyphs:
                numbers.append(glyph)
                at = (x + dx * cos - dy * sin, y + dx * sin + dy * cos)
                places.append(skia.RSXform(cos, sin, *at))
        blobs = []
        for face, (numbers, places) in runs.items():
            builder = skia.TextBlobBuilder()
            builder.allocRunRSXform(self._font(face, size), numbers, places)
            blobs.append(builder.make())
        return blobs

    def _font(self, face: int, size: float) -> Any:  # noqa: ANN401
        if (face, size) not in self._fonts:
            font = self._skia.Font(faces()[face].drawn, size)
            font.setSubpixel(True)
            font.setEdging(self._skia.Font.Edging.kAntiAlias)
            font.setHinting(self._skia.FontHinting.kNone)
            self._fonts[face, size] = font
        return self._fonts[face, size]
