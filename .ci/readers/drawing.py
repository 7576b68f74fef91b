"""A sheet's SVG as another program sees it: lxml for the file, and a reader of paths
after SVG 1.1, sections 8.3 and F.6 (arcs), that shares nothing with markloft's own.

Knows the commands m l h v c a z in either case, which is more than markloft writes; any other is an error.
"""

import cmath
import math
import re

from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
# Numbers of each command's parameters.
TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "a": 7, "z": 0}
# Steps that a curve is walked in: a quarter circle of 50 mm is left by less than 1e-6 mm.
STEPS = 2000


class Drawing:
    def __init__(self, path):
        parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        self.root = etree.parse(str(path), parser).getroot()

    def size_mm(self):
        """Width and height in mm, and the viewBox as four numbers."""
        sides = [self.root.get(name) for name in ("width", "height")]
        assert all(side.endswith("mm") for side in sides), sides
        return [float(side[:-2]) for side in sides], [float(n) for n in self.root.get("viewBox").split()]

    def layers(self):
        return [group.get("id") for group in self.root.findall(f"{SVG}g")]

    def paths(self, layer, fill=None):
        """The rings of every path of a layer, or of those with this fill."""
        paths = self.root.findall(f"{SVG}g[@id='{layer}']/{SVG}path")
        assert paths, f"nothing in {layer}"
        return [rings(path.get("d")) for path in paths if fill in (None, path.get("fill"))]

    def extent(self, layer, fill=None):
        """Width and height of the box round those paths, mm."""
        points = [p for path in self.paths(layer, fill) for ring in path for p in ring]
        return [max(axis) - min(axis) for axis in ([p.real for p in points], [p.imag for p in points])]

    def reaches_out(self):
        """Elements and attributes by which an SVG can run something or ask for something."""
        known = {"svg", "title", "g", "path"}
        tags = {etree.QName(node).localname for node in self.root.iter(etree.Element)} - known
        texts = [value for node in self.root.iter(etree.Element) for value in node.attrib.values()]
        return sorted(tags) + [text for text in texts if "url(" in text or ":" in text]


def area(ring):
    """Signed area of a ring of points."""
    return sum((a.conjugate() * b).imag for a, b in zip(ring, ring[1:] + ring[:1])) / 2


def rings(d):
    """Each subpath as complex points, mm on the page, y down."""
    here = start = 0j
    found = []
    for letter, text in re.findall(r"([a-zA-Z])([^a-zA-Z]*)", d):
        numbers = [float(n) for n in re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text)]
        command, base = letter.lower(), letter.islower()
        takes = TAKES[command]
        if command == "z":
            here = start
            continue
        assert numbers and len(numbers) % takes == 0, f"{letter} with {len(numbers)} numbers"
        for k in range(0, len(numbers), takes):
            step = numbers[k : k + takes]
            origin = here if base else 0j
            if command == "m" and k == 0:
                here = start = origin + complex(*step)
                found.append([here])
            elif command in "ml":
                here = origin + complex(*step)
                found[-1].append(here)
            elif command == "h":
                here = complex(origin.real + step[0], here.imag)
                found[-1].append(here)
            elif command == "v":
                here = complex(here.real, origin.imag + step[0])
                found[-1].append(here)
            elif command == "c":
                controls = [here] + [origin + complex(*step[i : i + 2]) for i in (0, 2, 4)]
                found[-1] += cubic(*controls)
                here = controls[-1]
            else:
                to = origin + complex(*step[5:])
                large, sweep = step[3] != 0, step[4] != 0
                found[-1] += arc(here, complex(*step[:2]), math.radians(step[2]), large, sweep, to)
                here = to
    return found


def cubic(a, b, c, d):
    ts = [k / STEPS for k in range(1, STEPS + 1)]
    return [(1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t * t * c + t**3 * d for t in ts]


def arc(a, radii, tilt, large, sweep, b):
    """SVG 1.1, F.6.5: from end points to centre, then walked."""
    rx, ry = abs(radii.real), abs(radii.imag)
    if a == b or rx == 0 or ry == 0:
        return [b]
    back = cmath.exp(-1j * tilt)
    half = (a - b) / 2 * back
    over = (half.real / rx) ** 2 + (half.imag / ry) ** 2
    if over > 1:
        rx, ry = rx * math.sqrt(over), ry * math.sqrt(over)
    squares = (rx * half.imag) ** 2 + (ry * half.real) ** 2
    root = math.sqrt(max(0.0, ((rx * ry) ** 2 - squares) / squares)) * (-1 if large == sweep else 1)
    middle = complex(root * rx * half.imag / ry, -root * ry * half.real / rx)
    unit = lambda p: complex((p.real - middle.real) / rx, (p.imag - middle.imag) / ry)
    first, turn = cmath.phase(unit(half)), cmath.phase(unit(-half) / unit(half))
    if sweep and turn < 0:
        turn += 2 * math.pi
    if not sweep and turn > 0:
        turn -= 2 * math.pi
    centre = middle / back + (a + b) / 2
    angles = (first + turn * k / STEPS for k in range(1, STEPS + 1))
    return [complex(rx * math.cos(t), ry * math.sin(t)) / back + centre for t in angles]
