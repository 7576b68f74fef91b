"""A hundred millimetres stay a hundred: in the PNG, the SVG, on screen and on paper.

1 in = 25.4 mm = 96 CSS px = 72 pt (CSS Values, ISO 32000); 600 dpi are 23622 pixels per metre.
"""

import json
import math
import subprocess

import numpy
from drawing import Drawing
from PIL import Image

RED = (0xC8, 0x32, 0x1E)
DPI = 600
PX_PER_MM = 96 / 25.4
DOTS_PER_MM = DPI / 25.4

# Two programs smooth an edge in their own ways: steps of 255/4 apart were seen, on one pixel in a million.
APART = 64
# The share of pixels that may be further apart. A drawing moved by one dot in 600 dpi has 3e-3.
MOST_APART = 1e-4


def pixels(path):
    """The file checked, then read, as rows of RGB."""
    with Image.open(path) as image:
        image.verify()
    with Image.open(path) as image:
        return numpy.asarray(image.convert("RGB")).astype(int)


def red_sides(rgb):
    """Width and height of the box round the pixels that are red, not by halves."""
    red = abs(rgb - RED).max(axis=2) < 64
    rows, columns = numpy.flatnonzero(red.any(axis=1)), numpy.flatnonzero(red.any(axis=0))
    return [int(n[-1] - n[0] + 1) for n in (columns, rows)]


def square(tally, browser, folder, work):
    """The 100 mm square, 150 × 160 mm page; gives what each reader said."""
    sheet = folder / "full" / "decal-1"
    png, svg = sheet.with_suffix(".png"), sheet.with_suffix(".svg")
    read = {"pillow": by_pillow(tally, png), "lxml": by_lxml(tally, svg)}
    read["chromium"] = by_chromium(tally, browser, svg)
    on_paper(tally, browser, svg, work)
    return read


def by_pillow(tally, png):
    with Image.open(png) as image:
        size, mode, dpi = list(image.size), image.mode, image.info["dpi"]
    sides = red_sides(pixels(png))
    tally.near("Pillow: the square's page in pixels at 600 dpi", size, [3543, 3780], 0)
    tally.near("Pillow: the square in pixels at 600 dpi", sides, [2362, 2362], 1)
    tally.near("Pillow: dots per inch that the file states", dpi, [600, 600], 0.01)
    tally.check("Pillow: the file is 8-bit RGB without transparency", mode == "RGB", mode)
    return {"page_dots": size, "dpi": [round(float(n), 3) for n in dpi], "square_dots": sides}


def by_lxml(tally, svg):
    drawing = Drawing(svg)
    sides, view = drawing.size_mm()
    found = [round(side, 4) for side in drawing.extent("artwork", "#c8321e")]
    tally.near("lxml: width and height of the page in mm", sides, [150, 160], 0)
    tally.near("lxml: the viewBox is the page in mm", view, [0, 0, *sides], 0)
    tally.near("lxml: the square's path in mm", found, [100, 100], 0.001)
    return {"page_mm": sides, "square_mm": found}


def by_chromium(tally, browser, svg):
    page = browser.page(svg)
    measured = page.ask(
        """(() => { const path = document.querySelector('#artwork path[fill="#c8321e"]');
             const box = path.getBBox(), px = path.getBoundingClientRect();
             return [box.width, box.height, px.width, px.height]; })()"""
    )
    page.close()
    tally.near("Chromium: the square's getBBox in mm", measured[:2], [100, 100], 0.001)
    tally.near("Chromium: the square on screen in px", measured[2:], [100 * PX_PER_MM] * 2, 0.02)
    return {"square_px": [round(n, 2) for n in measured[2:]]}


def on_paper(tally, browser, svg, work):
    """Printed at 100 % by Chromium, and the print's pixels counted by poppler and Pillow."""
    html, pdf, print_ = work / "print.html", work / "print.pdf", work / "print"
    html.write_text(
        "<!DOCTYPE html><style>@page{size:150mm 160mm;margin:0}body{margin:0}img{display:block}</style>"
        f"<img src='{svg.resolve().as_uri()}'>"
    )
    page = browser.page(html)
    page.printed(pdf, 150, 160)
    page.close()
    subprocess.run(["pdftoppm", "-r", str(DPI), "-singlefile", "-png", pdf, print_], check=True)
    sides = red_sides(pixels(print_.with_suffix(".png")))
    wanted = [100 * DOTS_PER_MM] * 2
    tally.near("poppler: the square in Chromium's print, dots at 600 dpi", sides, wanted, 2)


def sheets(tally, browser, demo, work):
    """Every sheet that the demo's report names: size, density, well-formed, nothing that reaches out."""
    report = json.loads((demo / "report.json").read_text())
    for scale in report["scales"]:
        for sheet in scale["sheets"]:
            one_sheet(tally, (demo / sheet["file"]).with_suffix(""), sheet["page_mm"])
        if scale["scale"] == "1/48":
            for sheet in scale["sheets"]:
                drawn_alike(tally, browser, demo / sheet["file"], sheet["page_mm"], work)


def one_sheet(tally, path, page_mm):
    name = f"{path.parent.name}/{path.name}"
    drawing = Drawing(path.with_suffix(".svg"))
    sides, view = drawing.size_mm()
    outward = drawing.reaches_out()
    tally.check(
        f"lxml: {name}.svg is its page in mm, in four layers, and asks for nothing",
        sides == page_mm and view == [0, 0, *sides] and not outward
        and [each for each in drawing.layers() if each != "relief"] == ["artwork", "cut", "trim", "marks"],
        f"{sides} {outward or ''}".strip(),
    )
    with Image.open(path.with_suffix(".png")) as image:
        image.verify()
        size, dpi = list(image.size), image.info["dpi"]
    wanted = [round(side * DOTS_PER_MM) for side in page_mm]
    tally.check(
        f"Pillow: {name}.png is {wanted[0]} × {wanted[1]} pixels at 600 dpi",
        size == wanted and all(abs(n - DPI) < 0.01 for n in dpi), f"{size}",
    )


def share_apart(one, other):
    """Share of pixels that two pictures show differently."""
    a, b = pixels(one), pixels(other)
    if a.shape != b.shape:
        return 1.0
    return float((abs(a - b).max(axis=2) > APART).mean())


def drawn(browser, svg, picture, page_mm, dpi):
    """A sheet as Chromium draws it, pixel for pixel what the PNG of that many dpi shows.

    Chromium rounds the box that a drawing gets to whole pixels and squeezes the drawing into it (148 mm are
    559.37 px and become 559): give it a box of whole pixels, and the millimetres that go in.
    """
    factor = dpi / 96
    dots = [round(side * dpi / 25.4) for side in page_mm]
    box = [math.ceil(n / factor) for n in dots]
    page = browser.page(svg, width=box[0], height=box[1], factor=factor)
    view = [0, 0, *(n / PX_PER_MM for n in box)]
    for name, value in (("width", box[0]), ("height", box[1]), ("viewBox", " ".join(map(str, view)))):
        page.ask(f"document.documentElement.setAttribute('{name}', '{value}')")
    # Whole CSS pixels, for Chromium cuts the rest of one off; then what is past the page is cut off here.
    page.picture(picture, *box)
    page.close()
    whole = Image.open(picture)
    whole.load()
    whole.crop((0, 0, *dots)).save(picture)


def figures(browser, svg, work):
    """The fixture that the plain tests draw themselves."""
    picture = work / "figures-chromium.png"
    drawn(browser, svg, picture, [90, 90], 96)
    return picture


def drawn_alike(tally, browser, svg, page_mm, work):
    """A whole sheet, drawn by markloft and by Chromium."""
    png, picture = svg.with_suffix(".png"), work / "chromium.png"
    drawn(browser, svg, picture, page_mm, DPI)
    share = share_apart(png, picture)
    what = f"Chromium: draws {svg.parent.name}/{svg.name} as {png.name} shows it"
    tally.check(what, share < MOST_APART, f"{share:.2g} of pixels apart")
