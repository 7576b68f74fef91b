"""How large report.html gets, and how soon a browser shows it: 1, 200 and 2 000 pieces.

    cargo build --release && python3 benches/report_pages.py [COUNT ...]

Needs Debian's chromium. Stencils, roundels, discs and stripes on five parts, every piece drawn for itself.
"""

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / ".ci/readers"))
from browser import Browser  # noqa: E402

HEAD = """markloft: 1
title: {count} pieces
scales: [1/48]
colours: {{red: "#c8321e", bone: "#efe9dc", blue: "#1f4e79"}}
parts:
  door: {{shape: {{flat: {{width: 3 m, height: 2 m, face: left}}}}}}
  boom: {{shape: {{cone: {{front: 1.2 m, rear: 0.8 m, length: 6 m}}}}, seam: bottom}}
  tank: {{shape: {{cylinder: {{diameter: 0.9 m, length: 5 m}}}}, seam: bottom}}
  nose: {{shape: {{sphere: {{diameter: 2 m}}}}, seam: bottom}}
  pod: {{shape: {{ellipsoid: {{length: 4 m, width: 1.5 m, height: 1.5 m}}}}}}
markings:
"""


def marking(k, count):
    share = (k + 0.5) / count
    around = k * 137.5 % 360
    rows = [
        f"part: boom\n    draw: {{letters: {{text: \"N{k}\", height: 60 mm}}}}\n    colour: red\n"
        f"    at: {{station: {0.3 + 5.4 * share:.3f} m, around: {around:.1f} deg}}",
        f"part: door\n    draw: {{roundel: {{diameter: {80 + k % 7 * 10} mm, rings: [1, 3, 5]}}}}\n    colours: [red, bone, blue]\n"
        f"    at: {{seen: left, aft: {-1400 + 2800 * share:.0f} mm, up: {-900 + k * 61 % 1800} mm}}",
        f"part: tank\n    draw: {{stripe: {{width: 30 mm, length: {200 + k % 9 * 10} mm}}}}\n    colour: blue\n"
        f"    at: {{station: {0.3 + 4.4 * share:.3f} m, around: {around:.1f} deg}}",
        f"part: nose\n    draw: {{disc: {{diameter: {60 + k % 5 * 10} mm}}}}\n    colour: red\n"
        f"    at: {{seen: top, aft: {-600 + 1200 * share:.0f} mm, right: {-600 + k * 71 % 1200} mm}}",
        f"part: pod\n    draw: {{letters: {{text: \"P{k}\", height: 70 mm}}}}\n    colour: blue\n"
        f"    at: {{seen: left, aft: {-1500 + 3000 * share:.0f} mm, up: {-300 + k * 53 % 600} mm}}",
    ]
    return f"  m{k}:\n    {rows[k % 5]}\n    make: decal\n"


def spec(count):
    return HEAD.format(count=count) + "".join(marking(k, count) for k in range(count))


# The first paint as the browser has noted it.
PAINT = """new Promise(done => { const look = () => { const [paint] =
    performance.getEntriesByName('first-contentful-paint');
    paint ? done(paint.startTime) : requestAnimationFrame(look); }; look(); })"""
# From a link to a card near the end until it is drawn.
JUMP = """new Promise(done => { const from = performance.now(), cards = document.querySelectorAll('.card');
    location.hash = cards[cards.length * 19 / 20 | 0].id;
    requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - from))); })"""


def main():
    counts = [int(n) for n in sys.argv[1:]] or [1, 200, 2000]
    print("| pieces | report.html | `make --dpi 60`, processor | first paint | loaded | a link to a card |")
    print("|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        browser = Browser(folder / "profile")
        for count in counts:
            path = folder / f"many-{count}.yaml"
            path.write_text(spec(count))
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run(
                [ROOT / "target/release/markloft", "make", path, "--dpi", "60", "--out", folder / "out"],
                check=True, stdout=subprocess.DEVNULL,
            )
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            html = folder / "out" / path.stem / "report.html"
            page = browser.page(html)
            paint = page.ask(PAINT)
            load = page.ask("performance.getEntriesByType('navigation')[0].loadEventEnd")
            times = [each / 1000 for each in (paint, load, page.ask(JUMP))]
            page.close()
            spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
            size = html.stat().st_size / 1e6
            seconds = " | ".join(f"{each:.2f} s" for each in times)
            print(f"| {count} | {size:.2f} MB | {spent:.1f} s | {seconds} |", flush=True)
        browser.close()


if __name__ == "__main__":
    main()
