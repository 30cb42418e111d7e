"""Letters of the map beside Pillow's with libraqm, another layout engine over the same fonts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont, features

from plotter.tiles.build.fonts import faces
from plotter.tiles.build.lettering import lettered
from plotter.tiles.build.paint import Canvas
from plotter.tiles.build.placing import straight

SIZE = 40.0
# Invented names, each with figures where the script's font has them.
NAMES = [
    ("NotoSans[", "Rue de l’Été 15"),
    ("NotoSans[", "Οδός 7"),
    ("NotoSans[", "Новая улица 21"),
    ("NotoSansArabic", "شارع الجسر ١٥"),
    ("NotoSansHebrew", "רחוב הגשר"),
    ("NotoSansDevanagari", "पुल मार्ग"),
    ("NotoSansBengali", "সেতু পথ"),
    ("NotoSansThai", "ถนนสะพาน"),
    ("NotoSansTamil", "பாலம் தெரு"),
    ("NotoSansGeorgian", "ხიდის ქუჩა"),
    ("NotoSansKhmer", "ផ្លូវស្ពាន"),
    ("NotoSansMyanmar", "တံတားလမ်း"),
]


def file_of(face):
    from plotter.tiles.build import fonts

    return next(p for p in fonts._folder("manimgx_fonts") if p.name == face.name)


def ours(text, wide, high):
    canvas = Canvas(max(wide, high))
    canvas.premultiplied[:] = 255
    canvas.letters([straight(lettered(text, SIZE), 20.0, high / 2)], SIZE, "#000000", "#ffffff")
    return 255 - canvas.premultiplied[:high, :wide, 0].astype(float)


def theirs(font, text, wide, high):
    image = Image.new("L", (wide, high), 0)
    # Our base line lies 0.34 of the size below the middle.
    ImageDraw.Draw(image).text(
        (20.0, high / 2 + 0.34 * SIZE), text, font=font, fill=255, anchor="ls"
    )
    return np.asarray(image, dtype=float)


@pytest.mark.skipif(not features.check("raqm"), reason="this Pillow has no libraqm")
@pytest.mark.parametrize(("start", "text"), NAMES)
def test_names_look_as_another_engine_sets_them(start, text):
    face = next(face for face in faces() if face.name.startswith(start))
    font = ImageFont.truetype(file_of(face), int(SIZE), layout_engine=ImageFont.Layout.RAQM)
    axes = [axis["default"] for axis in font.get_variation_axes()]
    names = [axis["name"] for axis in font.get_variation_axes()]
    axes[[b"Weight" in (n if isinstance(n, bytes) else n.encode()) for n in names].index(True)] = (
        600
    )
    font.set_variation_by_axes(axes)
    found = lettered(text, SIZE)
    assert not found.missing
    assert found.width == pytest.approx(font.getlength(text), rel=0.02)
    wide, high = int(found.width) + 60, 110
    a, b = ours(text, wide, high), theirs(font, text, wide, high)
    # Each rounds to pixels in its own way: a pixel to any side is allowed.
    alike = max(
        np.corrcoef(np.roll(a, (dy, dx), (0, 1)).ravel(), b.ravel())[0, 1]
        for dx in (-1, 0, 1)
        for dy in (-1, 0, 1)
    )
    assert alike > 0.92


@given(st.integers(0, 99_999), st.sampled_from(["شارع", "רחוב"]), st.booleans())
def test_figures_keep_their_order_in_names_from_the_right(number, word, first):
    text = f"{number} {word}" if first else f"{word} {number}"
    alone = [glyph for c in lettered(str(number), SIZE).clusters for glyph, _, _ in c.glyphs]
    whole = [(c.face, glyph) for c in lettered(text, SIZE).clusters for glyph, _, _ in c.glyphs]
    figures = [glyph for face, glyph in whole if face == 0]
    spaces = {g for c in lettered(" ", SIZE).clusters for g, _, _ in c.glyphs}
    found = [glyph for glyph in figures if glyph not in spaces]
    assert found == alone
    # The word is read from the right: what comes first in reading stands right.
    places = [i for i, (face, glyph) in enumerate(whole) if face == 0 and glyph not in spaces]
    assert (places[-1] == len(whole) - 1) == first


def test_a_letter_that_no_font_has_takes_the_whole_name_away():
    found = lettered("Pont ᐃᓄ", SIZE)
    assert found.clusters == ()
    assert found.missing == ("CANADIAN",)
