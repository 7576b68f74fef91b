"""The PDF as others read it: its page, its soundness, its fonts, its layers, and every dot beside our PNG's."""

import re
import subprocess

import numpy
from true_size import APART, DOTS_PER_MM, DPI, pixels, red_sides

POINTS_PER_MM = 72 / 25.4


def said(*command):
    return subprocess.run([*map(str, command)], check=True, capture_output=True, encoding="latin-1").stdout


def square(tally, folder, work):
    """The 100 mm square, 150 × 160 mm page; gives what each reader said."""
    pdf = folder / "full" / "decal-1.pdf"
    facts = said("pdfinfo", pdf)
    page = [float(n) for n in re.search(r"Page size: +([\d.]+) x ([\d.]+) pts", facts).groups()]
    tally.near("pdfinfo: the page in points", page, [150 * POINTS_PER_MM, 160 * POINTS_PER_MM], 0.01)
    tally.check("pdfinfo: no dates, no scripts", not re.search(r"Date|JavaScript: +yes", facts))
    fonts = said("pdffonts", pdf).strip().splitlines()[2:]
    tally.check("pdffonts: no fonts", fonts == [])
    checked = subprocess.run(["qpdf", "--check", pdf], capture_output=True, text=True)
    sound = checked.returncode == 0 and "No syntax or stream encoding errors found" in checked.stdout
    tally.check("qpdf: --check is clean", sound, "" if sound else checked.stdout + checked.stderr)
    drawn = poppler(pdf, work)
    sides = red_sides(drawn)
    tally.near("poppler: the square in dots at 600 dpi", sides, [100 * DOTS_PER_MM] * 2, 1)
    alike(tally, drawn, pdf)
    return {"pdfinfo": {"page_pt": page}, "poppler": {"square_dots": sides}}


def white(tally, folder, work):
    """Laid face down, white comes over the colour, and hides none of it where there is no such ink."""
    pdf = folder / "full" / "decal-1.pdf"
    tally.check("qpdf: --check is clean with layers and inks", subprocess.run(["qpdf", "--check", pdf], capture_output=True).returncode == 0)
    text = said("qpdf", "--qdf", "--object-streams=disable", "--no-original-object-ids", pdf, "-")
    inks = sorted(set(re.findall(r"/Separation\s+/(\S+)", text)))
    tally.check("qpdf: the inks by name", inks == ["cut", "opaque"], inks)
    tally.check("qpdf: white overprints", text.count("/OP true") == 2 and text.count("/op true") == 2)
    alike(tally, poppler(pdf, work), pdf)
    return {"qpdf": {"inks": inks}}


def sheets(tally, demo, work):
    """Every page of the demo at 1/48, beside its PNG."""
    for pdf in sorted((demo / "1-48").glob("*.pdf")):
        alike(tally, poppler(pdf, work), pdf)


def poppler(pdf, work):
    subprocess.run(["pdftoppm", "-r", str(DPI), "-singlefile", "-png", pdf, work / "page"], check=True)
    return pixels(work / "page.png")


def alike(tally, drawn, pdf):
    """Poppler's dots differ from ours only along edges: where ours change within a dot's reach."""
    ours = pixels(pdf.with_suffix(".png"))
    rows, columns = (min(a, b) for a, b in zip(ours.shape, drawn.shape[:2]))
    ours, drawn = ours[:rows, :columns], drawn[:rows, :columns]
    apart = abs(ours - drawn).max(axis=2)
    edge = numpy.zeros(apart.shape, bool)
    for axis in (0, 1):
        for step in (-2, -1, 1, 2):
            edge |= abs(ours - numpy.roll(ours, step, axis)).max(axis=2) > 0
    # Corners are edges both ways.
    edge |= numpy.roll(edge, 1, 0) | numpy.roll(edge, -1, 0)
    off = int(((apart > 8) & ~edge).sum())
    name = f"{pdf.parent.name}/{pdf.name}"
    tally.check(f"poppler: {name} differs from the PNG only along edges", off == 0,
                f"{off} dots elsewhere, {(apart > APART).mean():.2g} along them")
