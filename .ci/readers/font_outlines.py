"""Letters of a font file as fontTools reads them: advance widths, kerning pairs, outlines.

`python font_outlines.py FONT` prints the readings, in shares of the em.
"""

import json
import sys

from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

WORDS = ["AVATAR", "To Ly.", "Ätna", "Wyvern 74"]


def pair(table, left, right):
    """What the kern feature adds between two glyphs, in units."""
    kern = [record.Feature for record in table.FeatureList.FeatureRecord if record.FeatureTag == "kern"]
    total = 0
    for index in sorted({index for feature in kern for index in feature.LookupListIndex}):
        for sub in table.LookupList.Lookup[index].SubTable:
            sub = sub.ExtSubTable if sub.LookupType == 9 else sub
            if sub.LookupType != 2 or left not in sub.Coverage.glyphs:
                continue
            value = None
            if sub.Format == 1:
                records = sub.PairSet[sub.Coverage.glyphs.index(left)].PairValueRecord
                found = [record.Value1 for record in records if record.SecondGlyph == right]
                if not found:
                    continue
                value = found[0]
            else:
                first = sub.ClassDef1.classDefs.get(left, 0)
                second = sub.ClassDef2.classDefs.get(right, 0)
                value = sub.Class1Record[first].Class2Record[second].Value1
            total += getattr(value, "XAdvance", 0) or 0
            break
    return total


def readings(path):
    font = TTFont(path)
    em, glyphs, names = font["head"].unitsPerEm, font.getGlyphSet(), font.getBestCmap()

    def drawn(name):
        box, area = BoundsPen(glyphs), AreaPen(glyphs)
        glyphs[name].draw(box)
        glyphs[name].draw(area)
        return box.bounds, abs(area.value)

    def word(text):
        line = [names[ord(letter)] for letter in text]
        x, found = 0, []
        for name, after in zip(line, [*line[1:], None]):
            box, area = drawn(name)
            if box:
                box = [(box[0] + x) / em, box[1] / em, (box[2] + x) / em, box[3] / em]
                found.append({"glyph": name, "box": [round(v, 7) for v in box], "area": round(area / em**2, 8)})
            x += glyphs[name].width + (pair(font["GPOS"].table, name, after) if after else 0)
        return found

    return {"capital": drawn("H")[0][3] / em, "words": {text: word(text) for text in WORDS}}


if __name__ == "__main__":
    print(json.dumps(readings(sys.argv[1]), indent=1, ensure_ascii=False))
