"""Cut files read by others: ezdxf the DXF, hp2xx the HPGL, against the sheet's own picture."""

import math
import subprocess

import ezdxf
import numpy
from PIL import Image

# Dots to the millimetre of both pictures: 254 dpi.
DOTS = 10
# A line of one may lie this far from a line of the other: half a plotter step and a dot of each picture.
APART_DOTS = 3


def area(polyline):
    """Of a closed polyline with bulges: its polygon, and a segment of a circle on each arc."""
    points = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in polyline.vertices]
    total = 0.0
    for (x, y, bulge), (x2, y2, _) in zip(points, points[1:] + points[:1]):
        total += (x * y2 - x2 * y) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.hypot(x2 - x, y2 - y) / (2 * math.sin(sweep / 2))
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def cutting(tally, folder, work):
    """The sheet of tests/data/cutting.yaml; gives what ezdxf read."""
    sheet = folder / "1-48" / "mask-1-soot"
    document = ezdxf.readfile(sheet.with_suffix(".dxf"))
    audit = document.audit()
    tally.check("ezdxf: the audit finds nothing", not audit.errors and not audit.fixes, audit.errors)
    tally.check("ezdxf: units are millimetres", document.units == ezdxf.units.MM, document.units)
    lines = list(document.modelspace())
    closed = all(line.dxftype() == "POLYLINE" and line.is_closed for line in lines)
    tally.check("ezdxf: every line is a closed polyline on layer kiss", closed and {line.dxf.layer for line in lines} == {"kiss"})
    areas = sorted(area(line) for line in lines)
    # Drawn at 1/48: a star of 700 mm, a bar of 900 × 200 mm, a disc of 600 mm; films 3 mm round the last two.
    r, w, h, d = 350 / 48, 900 / 48, 200 / 48, 600 / 48
    wanted = [1.1225699 * r * r, w * h, math.pi * d * d / 4, w * h + 6 * (w + h) + 9 * math.pi, math.pi * (d + 6) ** 2 / 4]
    found = [min(areas, key=lambda a: abs(a - each)) for each in wanted]
    shares = [f / w for f, w in zip(found, wanted)]
    tally.near("ezdxf: areas of the openings over the drawn ones", shares[:3], [1, 1, 1], 1e-4)
    # A film's edge is an offset of a polygon, which is let off 0.002 mm inside the curve.
    tally.near("ezdxf: areas of the films over the drawn ones", shares[3:], [1, 1], 2e-4)
    picture = work / "cutting.pbm"
    command = ["hp2xx", "-q", "-t", "-m", "pbm", "-d", str(25.4 * DOTS).removesuffix(".0"), "-p", "1111", "-f", picture, sheet.with_suffix(".plt")]
    subprocess.run(list(map(str, command)), check=True, capture_output=True)
    plot = compare(tally, picture, sheet.with_suffix(".png"))
    return {"ezdxf": {"areas_mm2": [round(a, 3) for a in areas]}, "hp2xx": {"plot_dots": plot}}


def compare(tally, plotted, printed):
    """Every plotted dot lies on a cut line of the sheet's picture, and every dot of a cut line is plotted."""
    with Image.open(plotted) as image:
        plot = ~numpy.asarray(image.convert("1"))
    with Image.open(printed) as image:
        red, green, blue = numpy.moveaxis(numpy.asarray(image.convert("RGB")).astype(int), 2, 0)
    # Cut lines are the sheet's only blue.
    lines = blue - red > 40
    # Marks in dark ink lie over some of them.
    inked = lines | (red < 120)
    plot, inked, lines = trimmed(plot, plot), trimmed(inked, lines), trimmed(lines, lines)
    box = [int(side) for side in plot.shape[::-1]]
    tally.near("hp2xx: the plot's box in dots, as the sheet's picture has it", plot.shape, lines.shape, 2)
    height, width = (max(sides) for sides in zip(plot.shape, lines.shape))
    same = [numpy.pad(each, ((0, height - each.shape[0]), (0, width - each.shape[1]))) for each in (plot, inked, lines)]
    plot, inked, lines = same
    for what, one, other in (("a plotted line is on the sheet", plot, inked), ("a line of the sheet is plotted", lines, plot)):
        stray = (one & ~grown(other)).sum() / one.sum()
        tally.check(f"hp2xx: {what}", stray < 1e-3, f"{stray:.2g} of its dots are not")
    return box


def trimmed(dots, to):
    rows, columns = numpy.flatnonzero(to.any(axis=1)), numpy.flatnonzero(to.any(axis=0))
    return dots[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def grown(dots):
    wide = numpy.pad(dots, APART_DOTS)
    steps = range(2 * APART_DOTS + 1)
    height, width = dots.shape
    return numpy.logical_or.reduce([wide[y : y + height, x : x + width] for y in steps for x in steps])
