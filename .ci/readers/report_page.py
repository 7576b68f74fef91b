"""report.html as a browser, its printer and an accessibility checker see it."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import true_size
from PIL import Image

sys.path.append("benches")
import report_pages  # noqa: E402

# CSS px; 320 is the width that WCAG 2.2, 1.4.10 (reflow) asks for.
WIDTHS = (320, 360, 800, 1600)
# The text of an A4 page between the report's own margins of 12 mm.
PRINTED = int((210 - 2 * 12) * 96 / 25.4)
PAGE = int((297 - 2 * 12) * 96 / 25.4)
# Another release of a browser or of a font moves edges by a hair; a paragraph more moves far more.
MOST_APART = 0.02
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def report(tally, browser, demo, work, bless):
    html = demo / "report.html"
    page = browser.page(html)
    whole(tally, page, json.loads((demo / "report.json").read_text()))
    linked(tally, page)
    turned(tally, page)
    silent(tally, page, html)
    wide(tally, page)
    approved(tally, page, work, bless)
    uncut(tally, page)
    printed(tally, page, work / "report.pdf")
    accessible(tally, page, work)
    page.close()
    unscripted(tally, browser, html)


def long(tally, browser, made, work):
    """200 pieces: small and soon there, and what is asked for is found, without script too."""
    spec = work / "many.yaml"
    spec.write_text(report_pages.spec(200))
    home = made.spec(spec, 60)
    html = home / "report.html"
    size = html.stat().st_size / 1e6
    tally.check("a report of 200 pieces has under 6 MB", size < 6, f"{size:.2f} MB")
    paints = []
    for _ in range(3):
        page = browser.page(html)
        paints.append(page.ask(report_pages.PAINT))
        page.close()
    tally.check("Chromium: 200 pieces are painted in under 1 s", min(paints) < 1000, f"{min(paints):.0f} ms")
    page = browser.page(html)
    page.call("Emulation.setScriptExecutionDisabled", value=True)
    page.reload()
    page.call("Emulation.setScriptExecutionDisabled", value=False)
    pieces = json.loads((home / "report.json").read_text())["scales"][0]["pieces"]
    shown = "[...document.querySelectorAll('.card')].filter(card => card.offsetParent).map(card => +card.id.split('-').pop())"
    wrong = []
    for choice, holds in (
        ("found", lambda piece: piece["findings"]), ("trim", lambda piece: piece["verdict"] == "trim"),
        ("all", lambda piece: True),
    ):
        page.ask(f"document.getElementById('show-{choice}').checked = true")
        wanted = [piece["number"] for piece in pieces if holds(piece)]
        if page.ask(shown) != wanted:
            wrong.append(choice)
    tally.check("Chromium: the cards that are chosen are shown, no others", not wrong, ", ".join(wrong))
    page.ask("document.getElementById('show-trim').checked = true; location.hash = '#p-1-48-150'")
    found = page.ask(shown)
    tally.check("Chromium: a link shows its card whatever is chosen", 150 in found, found)
    page.ask("document.getElementById('show-all').checked = true")
    numbers = page.ask("document.querySelectorAll('.index a').length")
    tally.check("Chromium: an index leads to every card", numbers == len(pieces), numbers)
    page.close()


def linked(tally, page):
    """From the part to the card, from there to the sheet and the part, from the sheet to the card: by clicks."""
    walk = [
        (".views .large a.spot", "#p-"), (".card:has(span:target) .places a[href^='#o-'], .card:target .places a[href^='#o-']", "#o-"),
        (":target", "#p-"), (".card:has(span:target) .places a[href^='#l-'], .card:target .places a[href^='#l-']", "#l-"),
        (":target", "#p-"),
    ]
    went = []
    for what, to in walk:
        click = f"document.querySelector({json.dumps(what)})?.dispatchEvent(new MouseEvent('click', {{bubbles: true}})), location.hash"
        page.ask(click)
        went.append(page.ask("location.hash"))
        if not went[-1].startswith(to):
            break
    held = len(went) == len(walk) and went[-1].startswith("#p-")
    tally.check("Chromium: clicks lead from part to card to sheet to card to part", held, " ".join(went))
    page.ask("location.hash = ''")


def turned(tally, page):
    """Keys, mouse and finger turn the part; Escape gives the still picture back."""
    page.ask("document.querySelector('button.turn').click()")
    shown = page.ask("document.querySelectorAll('canvas').length")
    if not tally.check("Chromium: a part can be turned", shown == 1):
        return
    def look():
        return page.ask("document.querySelector('canvas').toDataURL()")
    looks = [look()]
    x, y = page.ask(
        """(() => { const c = document.querySelector('canvas'); c.scrollIntoView({block: 'center'});
             const b = c.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()"""
    )
    page.ask("document.querySelector('canvas').focus()")
    for does in (
        lambda: page.press("ArrowLeft"), lambda: page.press("+"), lambda: page.drag(x, y, 60, 20),
        lambda: page.drag(x, y, -40, 30, touch=True),
        lambda: page.ask("document.querySelector('.tools button').click()"),
    ):
        does()
        looks.append(look())
    apart = [a != b for a, b in zip(looks, looks[1:])]
    tally.check("Chromium: a key turns the part, + brings it nearer", apart[0] and apart[1], apart)
    tally.check("Chromium: mouse, finger turn it; strain can be shown", all(apart[2:]), apart)
    page.press("Escape")
    back = page.ask("!document.querySelector('canvas') && !document.querySelector('button.turn').hidden")
    tally.check("Chromium: Escape gives the still picture back", back)


def unscripted(tally, browser, html):
    """Without script, or without WebGL, no button is shown that does nothing, and the pictures are there."""
    page = browser.page(html)
    page.call("Emulation.setScriptExecutionDisabled", value=True)
    page.reload()
    page.call("Emulation.setScriptExecutionDisabled", value=False)
    found = page.ask(
        """[[...document.querySelectorAll('button')].filter(b => b.offsetParent).length,
            document.querySelectorAll('.large svg').length]"""
    )
    tally.check("Chromium: without script the still pictures are there, and no button", found[0] == 0 and found[1] > 0, found)
    page.call("Page.addScriptToEvaluateOnNewDocument", source="HTMLCanvasElement.prototype.getContext = () => null")
    page.reload()
    buttons = page.ask("[...document.querySelectorAll('button')].filter(b => b.offsetParent).length")
    stills = page.ask("document.querySelectorAll('.large svg').length")
    tally.check("Chromium: the same without WebGL", buttons == 0 and stills > 0, [buttons, stills])
    page.close()


def approved(tally, page, work, bless):
    """The top of the page as it was approved, at half size."""
    for width in (360, 800, 1600):
        for scheme in ("light", "dark"):
            kept = Path(f".ci/approved/report-{width}-{scheme}.png")
            page.window(width, factor=0.5)
            page.media(prefers_color_scheme=scheme)
            taken = work / kept.name
            page.ask("scrollTo(0, 0)")
            page.picture(taken, width, 1400)
            smaller(taken)
            if bless:
                kept.parent.mkdir(exist_ok=True)
                shutil.copy(taken, kept)
            share = true_size.share_apart(kept, taken) if kept.exists() else 1
            what = f"Chromium: the report at {width} px, {scheme}, is as approved"
            tally.check(what, share < MOST_APART, f"{share:.2g} of pixels apart")
    page.window(1280)
    page.media()


def smaller(path):
    """Fewer colours: kept pictures stay small, and smoothing differs less."""
    with Image.open(path) as image:
        image.convert("RGB").quantize(48, dither=Image.Dither.NONE).save(path, optimize=True)


def uncut(tally, page):
    """On paper no card and no picture is higher than a page, so that none needs to be cut."""
    page.window(PRINTED)
    page.media("print")
    page.ask("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    high = page.ask(
        f"""[...document.querySelectorAll('.card, figure, .part')].map(e => [e.id || e.className, e.getBoundingClientRect().height])
            .filter(([, height]) => height > {PAGE}).map(([name, height]) => `${{name}} ${{Math.round(height)}} px`)"""
    )
    tally.check("Chromium: no card, part or picture is cut by a page's end", not high, "; ".join(high[:4]))
    page.window(1280)
    page.media()


def silent(tally, page, html):
    """Nothing is asked for, nothing goes wrong."""
    asked = {event["request"]["url"] for event in page.said("Network.requestWillBeSent")}
    asked -= {html.resolve().as_uri()}
    what = "Chromium: the report asks for no other file and no network"
    tally.check(what, not asked, ", ".join(sorted(asked)))
    said = page.said("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
    # The driver remarks that these checks read a canvas back.
    said = [each for each in said if each.get("entry", {}).get("source") != "rendering"]
    tally.check("Chromium: the report's console is empty", not said, said or "")
    own = page.ask("[...document.scripts].every(script => !script.src)")
    tally.check("Chromium: the report has no script but its own", own)


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
    # What is far from the screen is not laid out until it comes near: it is judged as it is seen then.
    page.ask("document.head.insertAdjacentHTML('beforeend', '<style id=near>*{content-visibility:visible!important}</style>');0")
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
    page.ask("document.getElementById('near').remove();0")
