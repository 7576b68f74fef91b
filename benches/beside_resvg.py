#!/usr/bin/env python3
"""Drawing a page beside resvg's command line (https://github.com/linebender/resvg), the same SVG in one run.

    python3 benches/beside_resvg.py [DPI]       # 1200 unless said otherwise

Installs resvg from crates.io into a throw-away folder (RESVG names one that is there), writes an A4 page of 500
paths, lines of text and a clip path, and lets both draw it as PNG on white. Seconds are of the wall, memory is the
greatest resident set, both of whole processes; the best of three runs each. Then our picture in bands is compared,
pixel by pixel, with one drawn as a whole page.
"""
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent
FONT = ROOT / "src/outline/face/BarlowCondensed_500Medium.ttf"
VERSION = "0.49.0"


def main():
    dpi = int(sys.argv[1]) if len(sys.argv) > 1 else 1200
    with tempfile.TemporaryDirectory() as work:
        work = Path(work)
        resvg = os.environ.get("RESVG")
        if not resvg:
            install = ["cargo", "install", "-q", "--locked", "resvg", "--version", VERSION, "--root", str(work / "resvg")]
            subprocess.run(install, check=True)
            resvg = work / "resvg/bin/resvg"
        ours = bench()
        drawing = work / "page.svg"
        drawing.write_text(page())
        width = round(210 / 25.4 * dpi)
        theirs = [resvg, "--skip-system-fonts", "--use-font-file", FONT, "--font-family", "Barlow Condensed",
                  "--background", "white", "--width", str(width), drawing, work / "theirs.png"]
        draw = [ours, "draw", drawing, work / "ours.png", str(dpi), FONT]
        runs = {"ours": best(draw), "resvg": best(theirs)}
        for name, (seconds, mib) in runs.items():
            print(f"{name:6} {dpi} dpi: {seconds:.2f} s, {mib:.0f} MiB")
        (s, m), (rs, rm) = runs["ours"], runs["resvg"]
        print(f"ratio: time {s / rs:.2f}, memory {m / rm:.3f}")
        if dpi <= 1200:
            subprocess.run([ours, "draw", drawing, work / "whole.png", str(dpi), FONT, "whole"], check=True)
            print("bands beside a whole page:", end=" ", flush=True)
            subprocess.run([ours, "compare", work / "ours.png", work / "whole.png"], check=True)


def bench():
    """The built bench's own path."""
    build = ["cargo", "bench", "-q", "--locked", "--bench", "picture", "--no-run", "--message-format=json"]
    said = subprocess.run(build, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout
    built = [json.loads(line) for line in said.splitlines() if line.startswith("{")]
    return next(each["executable"] for each in built if each.get("executable") and each["target"]["name"] == "picture")


def best(command):
    return tuple(min(values) for values in zip(*(measured(command) for _ in range(3))))


def measured(command):
    start = time.perf_counter()
    process = subprocess.Popen([str(word) for word in command], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    assert status == 0, command
    return time.perf_counter() - start, used.ru_maxrss / 1024


def page():
    """500 blots of 24 curves each, a third of them in a disc that clips them, and forty lines of text."""
    dice = random.Random(1)
    blots = []
    for _ in range(500):
        x, y, size = dice.uniform(0, 210), dice.uniform(0, 297), dice.uniform(2, 14)
        corner = lambda k: (x + size * dice.uniform(0.5, 1) * math.cos(k * math.tau / 24),
                            y + size * dice.uniform(0.5, 1) * math.sin(k * math.tau / 24))
        points = [corner(k) for k in range(48)]
        d = "M%.3f %.3f" % points[0] + "".join("Q%.3f %.3f %.3f %.3f" % (*a, *b) for a, b in zip(points[1::2], points[2::2]))
        blots.append(f'<path d="{d}z" fill="#{dice.randrange(1 << 24):06x}"/>')
    text = "".join(f'<text x="{dice.uniform(0, 150):.1f}" y="{7 + 7 * k}" font-size="{dice.uniform(2, 6):.2f}">'
                   f"RESCUE {k} keep clear of the intake</text>" for k in range(40))
    return ('<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297">'
            '<clipPath id="disc"><circle cx="105" cy="148" r="90"/></clipPath>'
            f'{"".join(blots[:330])}<g clip-path="url(#disc)">{"".join(blots[330:])}</g>'
            f'<g font-family="Barlow Condensed" fill="#111">{text}</g></svg>')


if __name__ == "__main__":
    main()
