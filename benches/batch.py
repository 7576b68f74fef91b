#!/usr/bin/env python3
"""A night's work of a small decal printer: 24 specs × 10 scales, and ten times as many.

    python3 benches/batch.py             # 240 jobs with one thread and with two, again, recoloured, and 2 400 jobs
    python3 benches/batch.py --memory    # 240 and 2 400 jobs only: what is asked of memory
    python3 benches/batch.py --small     # 8 jobs, as CI does: what is asked of memory and of a second run
    python3 benches/batch.py --times 5   # the 240 jobs so many times instead of thrice; goes with --memory
    python3 benches/batch.py --jobs 1    # so many threads instead of two; goes with --memory

Prints the table of benches/README.md. Time on the wall and of the processor, and the peak memory of the
one process, from wait4(2). Each spec is the demo with sizes of its own, so that nothing is shared.

Peak memory is chance in part: with two threads it is high when two large specs happen to be at their
largest together, and ten times as many jobs have ten times as many chances. So the 240 jobs are done
several times and the greatest of their peaks is what the 2 400 are held against; `--jobs 1` leaves that
chance out. A ratio of times is taken from medians.
"""

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "target/release/markloft"
SCALES = "1/144,1/100,1/96,1/87,1/72,1/64,1/48,1/35,1/32,1/24"
FEW, MANY = 24, 240
MOST_MIB = 400
# How much more memory ten times as many jobs may take: nothing may be kept of a spec that is done.
MOST_MORE = 0.1
# What a second run may take of the first.
MOST_AGAIN = 0.05
LEAST_FASTER = 1.8


class Run(NamedTuple):
    """Seconds on the wall, of the processor, and the peak in MiB."""

    wall: float
    processor: float
    peak: float


def specs(folder: Path, count: int) -> None:
    demo = (ROOT / "specs/harrow-tarn.yaml").read_text()
    for k in range(count):
        text = re.sub(r"^title: .*$", f"title: lot {k}", demo, flags=re.M)
        text = text.replace("length: 285 mm", f"length: {285 + k % 97 * 0.1:.1f} mm")
        text = text.replace("front: 1.10 m", f"front: {1.1 + k * 0.0001:.4f} m")
        (folder / f"lot-{k:03}.yaml").write_text(text)


def recoloured(folder: Path) -> None:
    """Another red for all: pieces stay as they are, pictures without red are not drawn again."""
    for path in folder.iterdir():
        text = path.read_text()
        changed = text.replace('rescue-red: "#c8321e"', 'rescue-red: "#a01020"')
        assert changed != text, f"{path}: no red to change"
        path.write_text(changed)


def run(folder: Path, jobs: int, scales: str) -> Run:
    words = ["make", "in", "--jobs", str(jobs), "--scale", scales, "--dpi", "150", "--format", "json-lines"]
    begun = time.monotonic()
    with open(folder / "said", "w") as said:
        child = subprocess.Popen([PROGRAM, *words], cwd=folder, stdout=said, stderr=said)
        _, status, used = os.wait4(child.pid, 0)
    if os.waitstatus_to_exitcode(status) != 0:
        sys.exit((folder / "said").read_text())
    return Run(time.monotonic() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def measured(what: str, count: int, jobs: int, scales: str, folder: Path) -> Run:
    done = run(folder, jobs, scales)
    print(
        f"| {what} | {count * len(scales.split(','))} | {jobs} | {done.wall:.1f} s | {done.processor:.1f} s"
        f" | {done.peak:.0f} MiB |",
        flush=True,
    )
    return done


def batch(count: int, jobs: int, scales: str = SCALES, then: tuple[str, ...] = ()) -> list[Run]:
    """All new, then what else is asked for, in a folder of their own."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "in").mkdir()
        specs(folder / "in", count)
        runs = [measured("all new", count, jobs, scales, folder)]
        for what in then:
            if what == "another red":
                recoloured(folder / "in")
            runs.append(measured(what, count, jobs, scales, folder))
        return runs


def often(times: int, jobs: int) -> list[Run]:
    return [batch(FEW, jobs)[0] for _ in range(times)]


def median(runs: list[Run], of: str) -> float:
    return statistics.median(getattr(run, of) for run in runs)


def memory(few: list[Run], many: Run) -> None:
    peaks = sorted(run.peak for run in few)
    # Each job more, were it kept, would show here.
    kept = (many.peak - peaks[-1]) * 1024 / ((MANY - FEW) * len(SCALES.split(",")))
    more = many.peak / peaks[-1] - 1
    each = ", ".join(f"{peak:.0f}" for peak in peaks)
    print(f"\npeaks of 240 jobs: {each} MiB; of 2 400: {many.peak:.0f} MiB, {100 * more:+.1f} %, {kept:+.1f} KiB a job")
    assert many.peak < MOST_MIB, "too much memory"
    assert more <= MOST_MORE, "memory grows with the number of jobs"


def small() -> None:
    first, second = batch(4, 2, "1/72,1/48", then=("nothing changed",))
    assert first.peak < MOST_MIB, "too much memory"
    assert second.processor < MOST_AGAIN * first.processor, "a second run does what was done"


def whole(times: int) -> None:
    alone, two = [], []
    # Turn about, so that what else the machine does falls on both alike.
    for _ in range(times):
        alone += often(1, 1)
        two += often(1, 2)
    first, again, red = batch(FEW, 2, then=("nothing changed", "another red"))
    two.append(first)
    many = batch(MANY, 2)[0]
    faster = median(alone, "wall") / median(two, "wall")
    print(f"\ntwice as many threads: {faster:.2f} times as fast, medians of {len(alone)} and {len(two)}")
    print(f"nothing changed: {share(again, first)}; another red: {share(red, first)}")
    memory(two, many)
    assert faster >= LEAST_FASTER, "the second thread helps too little"
    assert again.processor < MOST_AGAIN * first.processor, "a second run does what was done"


def share(of: Run, whole: Run) -> str:
    return f"{100 * of.processor / whole.processor:.1f} % of the processor's time, {100 * of.wall / whole.wall:.1f} % on the wall"


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--small", action="store_true")
    words.add_argument("--memory", action="store_true")
    words.add_argument("--times", type=int, default=3)
    words.add_argument("--jobs", type=int, default=2)
    asked = words.parse_args()
    if asked.times < 1 or asked.jobs < 1:
        words.error("--times and --jobs are 1 or more")
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print("| run | jobs | `--jobs` | on the wall | of the processor | peak |\n|---|---|---|---|---|---|")
    if asked.small:
        small()
    elif asked.memory:
        memory(often(asked.times, asked.jobs), batch(MANY, asked.jobs)[0])
    else:
        whole(asked.times)


if __name__ == "__main__":
    main()
