"""All of the large specs as a shop would look them over: every PDF, picture, drawing and cut file opened by others.

One line for each spec and kind of file; where something is wrong, the files are named.
"""

import subprocess
from pathlib import Path

import ezdxf
from drawing import Drawing
from ezdxf import bbox
from numbers_agree import strict
from paper import POINTS_PER_MM, said
from PIL import Image

SPECS = ("rescue-helicopter", "crash-tender", "crew", "rescue-boat")
DPI = 100


def every(tally, made):
    for name in SPECS:
        folder = made.spec(Path("specs") / f"{name}.yaml", DPI)
        report = strict(folder / "report.json")
        homes = [*report["scales"], *filter(None, [report.get("together")])]
        sheets = [sheet for home in homes for sheet in home["sheets"]]
        looked_at(tally, f"{name}: every sheet's PDF has its page, no fonts, and is sound", folder, sheets, pdf)
        looked_at(tally, f"{name}: every sheet's PNG has its dots and says how many to the metre", folder, sheets, png)
        looked_at(tally, f"{name}: lxml finds the pieces of every sheet within its page", folder, sheets, svg)
        pages = {sheet["file"]: sheet["page_mm"] for sheet in sheets}
        cuts = [{**cut, "page_mm": pages[cut["sheet"]]} for home in homes for cut in home.get("cuts", [])]
        if cuts:
            looked_at(tally, f"{name}: ezdxf and hp2xx read every cut file, within its page", folder, cuts, cut_files)
        there = {str(path.relative_to(folder)) for path in folder.rglob("*.svg")}
        named = {sheet["file"] for sheet in sheets} | {file for cut in cuts for file in cut["files"] if file.endswith(".svg")}
        tally.check(f"{name}: the folder has the sheets that report.json names and no others", there == named, sorted(there ^ named))


def looked_at(tally, what, folder, things, look):
    wrong = [f"{thing.get('file') or thing['sheet']}: {flaw}" for thing in things if (flaw := look(folder, thing))]
    tally.check(what, things and not wrong, "; ".join(wrong[:5]) or len(things))


def pdf(folder, sheet):
    path = (folder / sheet["file"]).with_suffix(".pdf")
    facts = dict(line.split(":", 1) for line in said("pdfinfo", path).splitlines() if ":" in line)
    page = [float(word) for word in facts["Page size"].split() if word[0].isdigit()][:2]
    if any(abs(a - b * POINTS_PER_MM) > 0.01 for a, b in zip(page, sheet["page_mm"], strict=True)):
        return f"pdfinfo says {page} pt"
    if len(said("pdffonts", path).splitlines()) > 2:
        return "fonts"
    checked = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True)
    return "" if checked.returncode == 0 else checked.stdout + checked.stderr


def png(folder, sheet):
    with Image.open((folder / sheet["file"]).with_suffix(".png")) as image:
        image.load()
        wanted = [side / 25.4 * DPI for side in sheet["page_mm"]]
        if any(abs(a - b) > 1 for a, b in zip(image.size, wanted, strict=True)):
            return f"{image.size} dots"
        # pHYs counts whole dots to the metre.
        return "" if all(abs(dpi - DPI) < 0.02 for dpi in image.info["dpi"]) else f"{image.info['dpi']} dpi"


def svg(folder, sheet):
    drawing = Drawing(folder / sheet["file"])
    if sheet["pieces"] and sheet["make"] != "tape" and len(drawing.paths("cut")) < len(sheet["pieces"]):
        return "fewer cut lines than pieces"
    width, height = drawing.extent("cut" if sheet["make"] != "tape" else "artwork")
    return "" if 0 < width < sheet["page_mm"][0] and 0 < height < sheet["page_mm"][1] else f"{width} × {height} mm"


def cut_files(folder, cut):
    _, dxf, plt = (folder / file for file in cut["files"])
    document = ezdxf.readfile(dxf)
    audit = document.audit()
    if audit.errors or audit.fixes or document.units != ezdxf.units.MM:
        return f"ezdxf: {audit.errors} {audit.fixes}"
    if not len(document.modelspace()):
        return "ezdxf: nothing to cut"
    picture = plt.with_suffix(".pbm")
    command = ["hp2xx", "-q", "-t", "-m", "pbm", "-d", 254, "-p", "1111", "-f", picture, plt]
    subprocess.run(list(map(str, command)), check=True, capture_output=True)
    try:
        with Image.open(picture) as image:
            plotted = [side / 10 for side in image.size]
    finally:
        picture.unlink()
    drawn = bbox.extents(document.modelspace(), fast=False).size
    # The blade is turned in waste film first, anywhere on the sheet; a picture's dot is 0.1 mm.
    fits = all(b - 0.2 <= a <= page for a, b, page in zip(plotted, drawn, cut["page_mm"]))
    return "" if fits else f"plotted {plotted}, drawn {drawn} mm"
