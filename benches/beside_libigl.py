#!/usr/bin/env python3
"""Flattening beside libigl (https://libigl.github.io), on the same meshes from the same start.

    python3 benches/beside_libigl.py            # 5 000 and 50 000 triangles
    python3 benches/beside_libigl.py --small    # 5 000; fails where our energy is the greater

Makes a throw-away environment with libigl from PyPI, writes the cap of 60 degrees of the unit sphere with a
harmonic map onto a circle to start from, lets both flatten it, works out both energies itself, and prints one
line for each. Seconds are of the processor, one thread, from the mesh in memory to the flat points.

SLIM (Rabinovich et al., 2017) is stopped once a round gains less than 1e-9 of the energy; as rigid as possible
(Liu et al., 2008) takes the ten rounds that libigl does unless told otherwise, with ELEMENTS: SPOKES_AND_RIMS
crashes in two dimensions in 2.6.3.
"""
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

INSIDE = "MARKLOFT_BESIDE"


def main():
    if INSIDE not in os.environ:
        with tempfile.TemporaryDirectory() as work:
            subprocess.run([sys.executable, "-m", "venv", f"{work}/venv"], check=True)
            pip = [f"{work}/venv/bin/pip", "install", "-q", "--disable-pip-version-check"]
            subprocess.run([*pip, "libigl==2.6.3", "numpy==2.4.6"], check=True)
            inside = [f"{work}/venv/bin/python", "-B", __file__, *sys.argv[1:]]
            return subprocess.run(inside, env={**os.environ, INSIDE: work}, check=False).returncode
    small = "--small" in sys.argv[1:]
    folder = Path(os.environ[INSIDE])
    meshes = {str(n): cap(n) for n in ([5000] if small else [5000, 50000])}
    for name, mesh in meshes.items():
        write(folder / f"{name}.mesh", *mesh)
    root = Path(__file__).parent.parent
    bench = ["cargo", "bench", "-q", "--locked", "--bench", "beside", "--", str(folder)]
    subprocess.run(bench, cwd=root, check=True)
    worse = 0
    for name, (places, triangles, start) in meshes.items():
        for measure, theirs in (("dirichlet", slim), ("rigid", arap)):
            seconds, steps, flat = read(folder / f"{name}.{measure}.flat")
            igl_seconds, igl_rounds, igl_flat = theirs(places, triangles, start)
            ours, other = (energy(measure, places, triangles, f) for f in (flat, igl_flat))
            # Both have met the least energy; what is left is rounding.
            worse += ours > other * (1 + 1e-7)
            print(
                f"{measure:9} {len(triangles):6} triangles: ours {seconds:.3f} s, {steps} steps, {ours:.9f}; "
                f"libigl {igl_seconds:.3f} s, {igl_rounds} rounds, {other:.9f}; ratio {seconds / igl_seconds:.2f}"
            )
    return 1 if worse else 0


def cap(count):
    """Rings of points on the cap, triangles between them, and a flat start."""
    import igl
    import numpy as np

    rings = round((count / 6) ** 0.5)
    polar = [(0.0, 0.0)] + [(k / rings * np.pi / 3, j / k * np.pi / 3) for k in range(1, rings + 1) for j in range(6 * k)]
    first = [0] + [1 + 3 * k * (k - 1) for k in range(1, rings + 1)]
    at = lambda k, j: first[k] + (j % (6 * k) if k else 0)
    triangles = []
    for k in range(1, rings + 1):
        for side in range(6):
            for j in range(k):
                inner, outer = at(k - 1, side * (k - 1) + j), at(k, side * k + j)
                triangles.append((inner, outer, at(k, side * k + j + 1)))
                if j < k - 1:
                    triangles.append((inner, at(k, side * k + j + 1), at(k - 1, side * (k - 1) + j + 1)))
    c, turn = np.array(polar).T
    places = np.c_[np.sin(c) * np.cos(turn), np.sin(c) * np.sin(turn), np.cos(c)]
    triangles = np.array(triangles)
    rim = igl.boundary_loop(triangles)
    circle = igl.map_vertices_to_circle(places, rim.astype(np.int32))
    start = igl.harmonic(places, triangles, rim.astype(np.int64), circle, 1)
    area = igl.doublearea(places, triangles).sum() / 2
    return places, triangles, start * np.sqrt(area / np.pi)


def slim(places, triangles, start):
    import igl
    import numpy as np

    kind = igl.MappingEnergyType.SYMMETRIC_DIRICHLET
    faces, flat = np.asfortranarray(triangles.astype(np.int32)), np.asfortranarray(start)
    seconds, rounds, last = 0.0, 0, np.inf
    while True:
        before = time.thread_time()
        if rounds == 0:
            data = igl.slim_precompute(places, faces, flat, kind, np.zeros(0, np.int32), np.zeros((0, 2)), 0.0)
        flat = igl.slim_solve(data, 1)
        seconds, rounds = seconds + time.thread_time() - before, rounds + 1
        now = energy("dirichlet", places, triangles, flat)
        if last - now < 1e-9 * now:
            return seconds, rounds, flat
        last = now


def arap(places, triangles, start):
    import igl
    import numpy as np

    before = time.thread_time()
    data = igl.ARAPData()
    data.energy = igl.ARAP_ENERGY_TYPE_ELEMENTS
    # One point is tied, which costs no energy: without, the matrix is singular, and refused by chance.
    igl.arap_precomputation(places, triangles.astype(np.int64), 2, np.zeros(1, np.int32), data)
    flat = igl.arap_solve(start[:1].copy(), data, start)
    return time.thread_time() - before, data.max_iter, flat


def energy(measure, places, triangles, flat):
    """From the part to the flat, over the area on the part."""
    import numpy as np

    u, v = (places[triangles[:, k]] - places[triangles[:, 0]] for k in (1, 2))
    p, q = (flat[triangles[:, k], :2] - flat[triangles[:, 0], :2] for k in (1, 2))
    base = np.linalg.norm(u, axis=1)
    along = (u * v).sum(1) / base
    height = np.linalg.norm(np.cross(u, v), axis=1) / base
    one = p / base[:, None]
    two = (q - along[:, None] * one) / height[:, None]
    squares, det = (one**2).sum(1) + (two**2).sum(1), one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    assert det.min() > 0, "a triangle is flipped"
    local = squares * (1 + det**-2) if measure == "dirichlet" else squares - 2 * np.sqrt(squares + 2 * det) + 2
    return float((base * height / 2 * local).sum())


def write(path, places, triangles, start):
    with open(path, "w") as out:
        print(len(places), len(triangles), file=out)
        for p, q in zip(places.tolist(), start.tolist()):
            print(*p, *q, file=out)
        for t in triangles.tolist():
            print(*t, file=out)


def read(path):
    import numpy as np

    first, *rest = path.read_text().splitlines()
    seconds, steps = first.split()
    return float(seconds), int(steps), np.array([[float(x) for x in line.split()] for line in rest])


if __name__ == "__main__":
    sys.exit(main())
