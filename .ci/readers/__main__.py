"""What markloft writes, read by others: the order of the checks, and the readings kept in tests/data.

`python .ci/readers WORK` renders into the folder WORK and checks; MARKLOFT_BLESS=1 writes the readings anew.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import bodies
import cutter
import font_outlines
import numbers_agree
import paper
import report_page
import shop
import terminal
import true_size
from browser import Browser
from tally import Tally

DATA = Path("tests/data")
FACE = Path("src/outline/face/BarlowCondensed_500Medium.ttf")


class Made:
    """Folders of what markloft rendered, each made when it is first asked for."""

    def __init__(self, work):
        self.work = work

    def run(self, *args):
        subprocess.run(["target/release/markloft", *map(str, args)], check=True, stdout=subprocess.DEVNULL)

    def demo(self):
        self.run("demo", "--out", self.work / "demo", "--dpi", 600)
        return self.work / "demo" / "harrow-tarn"

    def spec(self, path, dpi, *args, into="specs"):
        self.run("make", path, "--out", self.work / into, "--dpi", dpi, *args)
        return self.work / into / Path(path).stem


def main():
    work, bless = Path(sys.argv[1]), "MARKLOFT_BLESS" in os.environ
    tally, made = Tally(), Made(work)
    demo = made.demo()
    browser = Browser(work / "profile")
    try:
        readings = {
            "square": true_size.square(tally, browser, made.spec(DATA / "square.yaml", 600), work),
            "figures": numbers_agree.figures(tally, made, DATA / "figures.yaml"),
            "paper": paper.square(tally, made.spec(DATA / "square.yaml", 600), work),
            "layers": paper.white(tally, made.spec(DATA / "layers.yaml", 600), work),
            "bodies": bodies.parts(tally, made.spec(DATA / "figures.yaml", 96, "--glb", into="bodies"), work),
            "cutting": cutter.cutting(tally, made.spec(DATA / "cutting.yaml", 254), work),
        }
        true_size.sheets(tally, browser, demo, work)
        paper.sheets(tally, demo, work)
        numbers_agree.demo(tally, made, demo)
        terminal.table(tally)
        report_page.report(tally, browser, demo, work, bless)
        report_page.long(tally, browser, made, work)
        shop.every(tally, made)
        keep_readings(tally, readings, bless)
        keep_letters(tally, bless)
        keep_figures(tally, browser, made, work, bless)
    finally:
        browser.close()
    return tally.close()


def keep_readings(tally, readings, bless):
    """What the plain tests hold markloft to is what was read today."""
    kept = DATA / "readings.json"
    text = json.dumps(readings, indent=2)
    # Numbers that belong together on one line.
    text = re.sub(r"\[[^\[\]{}]*\]", lambda list_: json.dumps(json.loads(list_[0])), text) + "\n"
    if bless:
        kept.write_text(text)
    tally.check(f"{kept} is what was read today", kept.read_text() == text)


def keep_letters(tally, bless):
    """Letters of our own face, as fontTools reads them."""
    kept = DATA / "font-readings.json"
    text = json.dumps(font_outlines.readings(FACE), indent=1, ensure_ascii=False) + "\n"
    if bless:
        kept.write_text(text, encoding="utf-8")
    tally.check(f"{kept} is what fontTools reads today", kept.read_text(encoding="utf-8") == text)


def keep_figures(tally, browser, made, work, bless):
    """The drawing that the plain tests draw is drawn by Chromium as its picture says."""
    kept, kept_picture = DATA / "figures.svg", DATA / "figures-chromium.png"
    if bless:
        shutil.copy(made.spec(DATA / "figures.yaml", 96) / "1-48" / "decal-1.svg", kept)
    picture = true_size.figures(browser, kept, work)
    if bless:
        shutil.copy(picture, kept_picture)
    share = true_size.share_apart(kept_picture, picture)
    what = f"{kept_picture} is what Chromium makes of {kept.name}"
    tally.check(what, share < true_size.MOST_APART, f"{share:.2g} of pixels apart")


sys.exit(main())
