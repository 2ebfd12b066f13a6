"""Makes the two test fonts beside this file, of plain boxes: PYTHONPATH must hold fonttools.

boxes.ttf:  capitals .700 em high, figures .600 em wide, a table `kern` with A V, 1 2 and A 1; it has the letter U+0416, which B612 lacks.
uneven.ttf: the same, but its 1 is narrower.
Both are the project's own work and under its licence (MIT or Apache-2.0).
"""
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import newTable
from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0


def box(width, height):
    pen = TTGlyphPen(None)
    pen.moveTo((50, 0))
    pen.lineTo((50, height))
    pen.lineTo((width - 50, height))
    pen.lineTo((width - 50, 0))
    pen.closePath()
    return pen.glyph()


def make(name, one):
    figures = {f"figure{i}": ord(str(i)) for i in range(10)}
    letters = {"A": ord("A"), "H": ord("H"), "V": ord("V"), "zhe": 0x0416, "space": ord(" ")}
    order = [".notdef", *letters, *figures]
    widths = {glyph: 600 for glyph in order}
    widths["figure1"] = one
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder(order)
    font.setupCharacterMap({code: glyph for glyph, code in {**letters, **figures}.items()})
    empty = TTGlyphPen(None).glyph()
    font.setupGlyf({glyph: empty if glyph == "space" else box(widths[glyph], 700) for glyph in order})
    font.setupHorizontalMetrics({glyph: (widths[glyph], 50) for glyph in order})
    font.setupHorizontalHeader(ascent=900, descent=-300)
    font.setupNameTable({"familyName": name, "styleName": "Regular"})
    font.setupOS2(sTypoAscender=900, sTypoDescender=-300, usWinAscent=900, usWinDescent=300)
    font.setupPost()
    kern = newTable("kern")
    kern.version = 0
    pairs = KernTable_format_0()
    pairs.coverage, pairs.format, pairs.tupleIndex = 1, 0, None
    pairs.kernTable = {("A", "V"): -120, ("figure1", "figure2"): -120, ("A", "figure1"): -120}
    kern.kernTables = [pairs]
    font.font["kern"] = kern
    font.save(f"{name}.ttf")


make("boxes", 600)
make("uneven", 400)
