"""report.json says what the sheets show, and both say what geometry says.

A marking rendered alone has a sheet to itself: the box of its artwork layer is the piece.
"""

import json
import math

from drawing import Drawing, area

# Both are written to four places; a hundredth of a millimetre is what a knife can be asked for.
WITHIN = 0.01


def strict(path):
    """JSON without the NaN and Infinity that Python would let pass."""

    def refuse(word):
        raise ValueError(f"{word} is no JSON number")

    return json.loads(path.read_text(encoding="utf-8"), parse_constant=refuse)


def alone(made, spec, marking, scale):
    """Sizes of one marking at one scale: as report.json has it, as its sheet shows it."""
    folder = made.spec(spec, 30, "--only", marking, "--scale", scale, into=f"only-{marking}")
    [at] = strict(folder / "report.json")["scales"]
    [piece], [sheet] = at["pieces"], at["sheets"]
    return piece["size_mm"], Drawing(folder / sheet["file"])


def figures(tally, made, spec):
    """Every marking of the figures; gives their boxes as lxml found them."""
    boxes = {}
    for marking in ("roundel", "star", "hazard", "band"):
        said, drawing = alone(made, spec, marking, "1/48")
        found = boxes[marking] = [round(side, 4) for side in drawing.extent("artwork")]
        tally.near(f"lxml: `{marking}` on its sheet is as large as report.json says", found, said, WITHIN)
    # Five corners on a circle: width 2 R sin 72°, height R (1 + cos 36°).
    star = [600 / 48 * math.sin(math.radians(72)), 300 / 48 * (1 + math.cos(math.radians(36)))]
    tally.near("geometry: the star of 600 mm at 1/48", boxes["star"], star, 0.001)
    return {"lxml": {"size_mm": boxes}}


def demo(tally, made, folder):
    report = strict(folder / "report.json")
    tally.check("Python: report.json is strict JSON of version 1", report["markloft"] == 1)
    consistent(tally, report)
    spec = "specs/harrow-tarn.yaml"
    drawings = {}
    for marking in ("bought-badge", "door-roundel", "tail-band", "nose-checks"):
        _, drawings[marking] = alone(made, spec, marking, "1/48")
        [said] = [
            piece["size_mm"]
            for at in report["scales"] if at["scale"] == "1/48"
            for piece in at["pieces"] if piece["marking"] == marking
        ]
        found = drawings[marking].extent("artwork")
        what = f"lxml: `{marking}` at 1/48 is as large as the demo's report.json says"
        tally.near(what, found, said, WITHIN)
    stripes(tally, folder)
    known_areas(tally, drawings)


def consistent(tally, report):
    """Each piece is on the sheets it names, and they name it."""
    wrong = []
    for at in report["scales"]:
        for piece in at["pieces"]:
            named = piece.get("sheets") or [piece["sheet"]]
            on = [sheet["file"] for sheet in at["sheets"] if piece["number"] in sheet["pieces"]]
            wrong += [] if named == on else [f"{at['scale']} {piece['number']}"]
    tally.check("Python: pieces and sheets in report.json name each other", not wrong, ", ".join(wrong))


def stripes(tally, folder):
    """50 × 360 mm at each scale: the two windows of the mask sheet, one path each."""
    for scale in (72, 48, 32):
        paths = Drawing(folder / f"1-{scale}" / "mask-2-rescue-red.svg").paths("artwork")
        for copy, [ring] in enumerate(paths, 1):
            sides = [max(axis) - min(axis) for axis in ([p.real for p in ring], [p.imag for p in ring])]
            what = f"arithmetic: window {copy} of the crown stripe at 1/{scale}"
            tally.near(what, sides, [360 / scale, 50 / scale], 0.001)


def known_areas(tally, drawings):
    """Areas that a textbook gives, against those of the paths."""

    def drawn(marking, fill=None):
        return sum(abs(sum(map(area, rings))) for rings in drawings[marking].paths("artwork", fill))

    # Ring diameters 1:3:5 (Air Ministry, type A) of 30 in: 1, 8 and 16 parts in 25.
    disc = math.pi * (30 * 25.4 / 48 / 2) ** 2
    fills = {"#c8321e": 1, "#efe9dc": 8, "#1f4e79": 16}
    found = [drawn("door-roundel", fill) for fill in fills]
    wanted = [disc * parts / 25 for parts in fills.values()]
    tally.near("geometry: the roundel's colours in mm²", found, wanted, 0.01)
    # Pappus: a band of 18 in along the slant, its middle at station 1.8 m, has an area of 2πr × 18 in.
    radius = (1100 - (1100 - 520) * 1800 / 3400) / 2
    band = 2 * math.pi * radius * 18 * 25.4 / 48**2
    tally.near("geometry: the tail band's area in mm²", [drawn("tail-band")], [band], band * 1e-4)
