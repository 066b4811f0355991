"""Makes the letters the window is written in: `python tests/letters.py FOLDER`, with fontTools installed.

FOLDER holds the Noto fonts (Debian's package fonts-noto-core, SIL Open Font License 1.1, no reserved name). What is
written in no language of the trade is left out, shapes and signs that Noto Sans lacks are copied from its sister
families, and the family is renamed, so that no font of the machine can stand in for it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

FAMILY = "Subslab Sans"
WEIGHTS = ("Regular", "Bold")
HERE = Path(__file__).resolve().parent.parent / "workbench" / "gui" / "kit" / "letters"
RANGES = (
    (0x0020, 0x007E), (0x00A0, 0x024F), (0x02B0, 0x036F), (0x0370, 0x03FF), (0x0400, 0x052F),
    (0x1E00, 0x1EFF), (0x2000, 0x206F), (0x2070, 0x209F), (0x20A0, 0x20BF), (0x2100, 0x214F), (0x2150, 0x218B),
)  # fmt: skip
SIGNS = "←↑→↓↔↕↖↗↘↙⇄∂∆∏∑−∕∗∘∙√∝∞∟∠∥∫∴∼≈≠≡≤≥≪≫⊙⊥⋅⌀⌈⌉■□▢▣▪▫▬▭▮▯▲△▴▵▶▷▸▹►▼▽▾▿◀◁◂◃◄◆◇◈◉○◌◍◎●◐◑◒◓◦◯☐☑☒⚠✎✓✔✕✖✗❄❘⟨⟩"
SISTERS = ("NotoSansMath-Regular.ttf", "NotoSansSymbols2-Regular.ttf", "NotoSansSymbols-Regular.ttf")


def wanted() -> set[int]:
    """Code points of the ranges and the signs."""
    return {code for low, high in RANGES for code in range(low, high + 1)} | set(map(ord, SIGNS))


def make(weight: str, folder: Path) -> Any:
    """The font of one weight."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    options = Options()
    options.hinting = False
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl", "tnum", "lnum", "frac", "numr", "dnom"]
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    options.notdef_outline = True
    font = TTFont(folder / f"NotoSans-{weight}.ttf", recalcTimestamp=False)
    missing = wanted() - set(font.getBestCmap())
    subset = Subsetter(options)
    subset.populate(unicodes=wanted())
    subset.subset(font)
    for name in SISTERS:
        missing -= _copied(font, TTFont(folder / name), missing)
    _rename(font, weight)
    return font


def _copied(font: Any, sister: Any, codes: set[int]) -> set[int]:
    """Copy what a sister has of some code points, to the same size of the em."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    have, names = sister.getGlyphSet(), sister.getBestCmap()
    scale = font["head"].unitsPerEm / sister["head"].unitsPerEm
    found = {code for code in codes if code in names}
    for code in sorted(found):
        pen = TTGlyphPen(None)
        # outlines alone: parts of a sister's glyph are no glyphs here
        flat = DecomposingRecordingPen(have)
        have[names[code]].draw(flat)
        flat.replay(TransformPen(pen, (scale, 0, 0, scale, 0, 0)))
        glyph, name = pen.glyph(), f"uni{code:04X}"
        font.setGlyphOrder([*(n for n in font.getGlyphOrder() if n != name), name])
        font["glyf"].glyphs[name] = glyph
        font["glyf"].glyphOrder = font.getGlyphOrder()
        glyph.recalcBounds(font["glyf"])
        width = round(sister["hmtx"][names[code]][0] * scale)
        font["hmtx"][name] = (width, getattr(glyph, "xMin", 0))
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap[code] = name
    font["maxp"].numGlyphs = len(font.getGlyphOrder())
    if "GDEF" in font and font["GDEF"].table.GlyphClassDef:
        font["GDEF"].table.GlyphClassDef.classDefs.update({f"uni{code:04X}": 1 for code in found})
    return found


def _rename(font: Any, weight: str) -> None:
    names = font["name"]
    version = names.getDebugName(5).split(";")[0]
    rights = names.getDebugName(0)
    names.names = []
    for number, text in {
        0: rights,
        1: FAMILY,
        2: weight,
        3: f"{FAMILY} {weight}, made from Noto Sans {version}",
        4: FAMILY if weight == "Regular" else f"{FAMILY} {weight}",
        5: version,
        6: f"{FAMILY.replace(' ', '')}-{weight}",
        13: "This Font Software is licensed under the SIL Open Font License, Version 1.1.",
        14: "https://openfontlicense.org",
    }.items():
        names.setName(text, number, 3, 1, 0x409)


if __name__ == "__main__":
    for each in WEIGHTS:
        path = HERE / f"SubslabSans-{each}.ttf"
        path.parent.mkdir(exist_ok=True)
        made = make(each, Path(sys.argv[1]))
        made.save(path)
        left = sorted(wanted() - set(made.getBestCmap()))
        print(f"{path.name}: {path.stat().st_size} bytes; not to be had: {''.join(map(chr, left))!r}")
