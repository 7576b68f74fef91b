"""report.html as a browser, its printer and an accessibility checker see it."""

import json
import re
import subprocess
from pathlib import Path

# CSS px; 320 is the width that WCAG 2.2, 1.4.10 (reflow) asks for.
WIDTHS = (320, 360, 800, 1600)
# The text of an A4 page between the report's own margins of 12 mm.
PRINTED = int((210 - 2 * 12) * 96 / 25.4)
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def report(tally, browser, demo, work):
    html = demo / "report.html"
    page = browser.page(html)
    silent(tally, page, html)
    whole(tally, page, json.loads((demo / "report.json").read_text()))
    wide(tally, page)
    printed(tally, page, work / "report.pdf")
    accessible(tally, page, work)
    page.close()


def silent(tally, page, html):
    """Nothing is asked for, nothing goes wrong."""
    asked = {event["request"]["url"] for event in page.said("Network.requestWillBeSent")}
    asked -= {html.resolve().as_uri()}
    what = "Chromium: the report asks for no other file and no network"
    tally.check(what, not asked, ", ".join(sorted(asked)))
    said = page.said("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
    tally.check("Chromium: the report's console is empty", not said, said or "")
    tally.check("Chromium: the report has no script", page.ask("document.scripts.length") == 0)


def whole(tally, page, report):
    """Links lead somewhere, ids are unique, and every finding can be read."""
    lost = page.ask(
        """[...document.querySelectorAll('a')].map(a => a.getAttribute('href'))
           .filter(h => !h?.startsWith('#') || !document.getElementById(decodeURIComponent(h.slice(1))))"""
    )
    tally.check("Chromium: every link of the report leads somewhere", not lost, ", ".join(map(str, lost)))
    twice = page.ask(
        """(ids => ids.filter((id, k) => ids.indexOf(id) !== k))
           ([...document.querySelectorAll('[id]')].map(node => node.id))"""
    )
    tally.check("Chromium: no id is given twice", not twice, ", ".join(twice))
    text = plain(page.ask("document.body.textContent"))
    holders = [each for at in report["scales"] for each in (at, *at["pieces"])]
    lines = {f[key] for each in holders for f in each["findings"] for key in ("text", "help")}
    unsaid = sorted(line for line in lines if plain(line) not in text)
    what = f"Chromium: every finding of report.json and its way out, {len(lines)} lines, stand in the report"
    tally.check(what, lines and not unsaid, "; ".join(unsaid))


def plain(text):
    """The report keeps a number and its unit on one line with a space of another kind."""
    return re.sub(r"\s+", " ", text)


def wide(tally, page):
    """Nothing has to be scrolled sideways, on screen or lost on paper."""
    for media, width in [("screen", width) for width in WIDTHS] + [("print", PRINTED)]:
        page.window(width)
        page.media(media)
        found = page.ask("document.documentElement.scrollWidth")
        tally.check(f"Chromium: the report fits {width} px, {media}", found <= width, f"{found} px")
    page.window(1280)
    page.media()


def printed(tally, page, pdf):
    page.printed(pdf, 210, 297)
    info = subprocess.run(["pdfinfo", "-l", "-1", pdf], check=True, capture_output=True, text=True).stdout
    sizes = re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+) pts", info)
    # ISO 216 A4 in points; Chromium rounds a page up to whole CSS pixels of 0.75 pt.
    a4 = (210 / 25.4 * 72, 297 / 25.4 * 72)
    fits = [abs(float(w) - a4[0]) <= 1.5 and abs(float(h) - a4[1]) <= 1.5 for w, h in sizes]
    tally.check("pdfinfo: the printed report is A4 throughout", fits and all(fits), f"{len(sizes)} pages")
    text = subprocess.run(["pdftotext", pdf, "-"], check=True, capture_output=True, text=True).stdout
    blank = [k + 1 for k, sheet in enumerate(text.split("\f")[:-1]) if not sheet.strip()]
    tally.check("pdftotext: no printed page is blank", not blank, blank or "")


def accessible(tally, page, work):
    """axe-core's rules for WCAG 2.0 to 2.2, A and AA, in both colour schemes."""
    page.ask(Path(work / "npm/node_modules/axe-core/axe.min.js").read_text() + ";0")
    options = json.dumps({"runOnly": AXE_TAGS, "resultTypes": ["violations"]})
    for scheme, width in (("light", 1280), ("dark", 1280), ("light", 360)):
        page.window(width)
        page.media(prefers_color_scheme=scheme)
        found = page.ask(
            f"axe.run(document, {options}).then(r => [r.passes.length, r.violations.map("
            "v => `${v.id} ×${v.nodes.length} (${v.nodes[0].html.slice(0, 160)})`)])"
        )
        rules, broken = found
        tally.check(
            f"axe: the report at {width} px, {scheme}, WCAG A and AA",
            rules > 10 and not broken, "; ".join(broken) or f"{rules} rules hold",
        )
