"""Sheets of invented ground, rendered, and what can be measured on the picture of a page."""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pypdfium2
from PIL import Image
from pyproj import Transformer
from scipy import ndimage

from plotter.board import scene
from plotter.geodesy.position import Area, Position
from plotter.reports.evidence import fixes
from plotter.reports.replay import replay
from plotter.reports.report import Said
from plotter.sheet import build_sheet, ground_of, plan_pages

DAY = dt.date(2026, 3, 14)
NOON = dt.datetime(2026, 3, 14, 12, tzinfo=dt.UTC)
PRINTED = dt.datetime(2026, 3, 14, 13, 5, tzinfo=dt.UTC)
DPI = 300
MM = DPI / 25.4
PLACE_INK = (0x3F, 0x5F, 0x4F)
VERMILION = (0xD5, 0x5E, 0x00)


def degrees(place):
    lat, lon = place
    return f"{abs(lat):.6f}{'N' if lat >= 0 else 'S'} {abs(lon):.6f}{'E' if lon >= 0 else 'W'}"


def picture_of_lines(lines, area, title="Invented ground"):
    said = [
        Said(i, NOON + dt.timedelta(minutes=i), sender, subject, text)
        for i, (sender, subject, text) in enumerate(lines, start=1)
    ]
    return replay(said, title=title, area=Area(Position(*area), 40e3), date=DAY)


def scene_of(lines, area, title="Invented ground"):
    picture = picture_of_lines(lines, area, title)
    found, _ = fixes(picture)
    return scene(picture, found, date=DAY, now_utc=picture.last_time_utc)


def sheet_of(shown, at=None, archives=(), **choices):
    plan = plan_pages(ground_of(shown, None if at is None else Position(*at)), **choices)
    return build_sheet(shown, plan, printed_utc=PRINTED, archives=archives), plan


def proj(zone, south):
    """PROJ's way from latitude and longitude to a universal grid, by EPSG code."""
    code = {0: 5041, -1: 5042}.get(zone, (32700 if south else 32600) + zone)
    return Transformer.from_crs(4326, code, always_xy=True)


def text_of(pdf):
    """All words of a sheet, page by page, blanks made equal."""
    pages = pypdfium2.PdfDocument(pdf)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pages]


@dataclass
class Page:
    """A rendered page, measured in millimetres from its lower left corner."""

    page: object
    rgb: np.ndarray

    @classmethod
    def of(cls, pdf, number=0):
        page = pypdfium2.PdfDocument(pdf)[number]
        picture = page.render(scale=DPI / 72.0, rev_byteorder=False).to_pil().convert("RGB")
        return cls(page, np.asarray(picture))

    @property
    def grey(self):
        return np.asarray(Image.fromarray(self.rgb).convert("L")).astype(float)

    def cut(self, left, bottom, right, top, grey=True):
        """A part of the page, row 0 at its top."""
        high = self.rgb.shape[0]
        rows = slice(round(high - top * MM), round(high - bottom * MM))
        columns = slice(round(left * MM), round(right * MM))
        return (self.grey if grey else self.rgb)[rows, columns]

    def uprights(self, rect, least=0.6):
        """Abscissas of lines that run up a rectangle: columns that are dark nearly everywhere."""
        inside = self.cut(rect.left + 1.0, rect.bottom + 1.0, rect.right - 1.0, rect.top - 1.0)
        at = peaks(_darkness(inside).mean(axis=0), least)
        return [(round((rect.left + 1.0) * MM) + k) / MM for k in at]

    def levels(self, rect, least=0.6):
        """Ordinates of lines that run across a rectangle, from below."""
        inside = self.cut(rect.left + 1.0, rect.bottom + 1.0, rect.right - 1.0, rect.top - 1.0)
        at = peaks(_darkness(inside).mean(axis=1), least)
        high = self.rgb.shape[0]
        first = round(high - (rect.top - 1.0) * MM)
        return sorted((high - first - k) / MM for k in at)

    def blob(self, ink, rect):
        """Middle of the largest patch of one ink: the shape, for letters are thin."""
        part = self.cut(rect.left, rect.bottom, rect.right, rect.top, grey=False).astype(int)
        near = np.abs(part - np.array(ink)).max(axis=-1) < 20  # not the grid's grey
        filled = ndimage.binary_opening(ndimage.binary_fill_holes(near), iterations=4)
        labels, count = ndimage.label(filled)
        sizes = ndimage.sum(filled, labels, range(1, count + 1))
        chosen = labels == int(np.argmax(sizes)) + 1
        rows, columns = np.nonzero(chosen)
        high = self.rgb.shape[0]
        x = (round(rect.left * MM) + (columns.min() + columns.max() + 1) / 2.0) / MM
        y = (high - round(high - rect.top * MM) - (rows.min() + rows.max() + 1) / 2.0) / MM
        return x, y

    def figures(self, left, bottom, right, top):
        """Words that stand in a part of the page: (text, x, y of their middle)."""
        words = self.page.get_textpage()
        chars = []
        for k in range(words.count_chars()):
            left_, low, right_, high = (v * 25.4 / 72.0 for v in words.get_charbox(k))
            x, y = (left_ + right_) / 2.0, (low + high) / 2.0
            if left < x < right and bottom < y < top:
                chars.append((words.get_text_range(k, 1), left_, right_, y))
        return [char for char in chars if char[0].strip()]

    def eastings(self, rect):
        """Figures under the frame: {figure: abscissa of their middle}."""
        chars = sorted(
            self.figures(rect.left - 8, rect.bottom - 3.6, rect.right + 8, rect.bottom - 0.1),
            key=lambda c: c[1],
        )
        groups = []
        for char in chars:
            if groups and char[1] - groups[-1][-1][2] < 1.3:
                groups[-1].append(char)
            else:
                groups.append([char])
        return {
            "".join(c for c, *_ in group): (group[0][1] + group[-1][2]) / 2.0 for group in groups
        }

    def northings(self, rect):
        """Figures of the page's own grid left and right of the frame: {figure: ordinate}."""
        found = {}
        for left, right in ((rect.left - 8, rect.left - 0.1), (rect.right + 0.1, rect.right + 8)):
            groups = []
            chars = self.figures(left, rect.bottom - 2, right, rect.top + 2)
            for char in sorted(chars, key=lambda c: -c[3]):
                if groups and abs(char[3] - np.mean([c[3] for c in groups[-1]])) < 1.4:
                    groups[-1].append(char)
                else:
                    groups.append([char])
            for group in groups:
                figure = "".join(c for c, *_ in sorted(group, key=lambda c: c[1]))
                if figure.isdigit():  # a letter stands after the figures of another zone
                    found[figure] = min(c[3] for c in group)
        return found


def _darkness(grey):
    return (grey < 190).astype(float)


def peaks(profile, least):
    """Middles of runs of a profile above a limit."""
    above = np.concatenate([[False], profile > least, [False]])
    starts = np.flatnonzero(above[1:] & ~above[:-1])
    ends = np.flatnonzero(~above[1:] & above[:-1])
    return [(start + end) / 2.0 for start, end in zip(starts, ends, strict=True)]
