#!/usr/bin/env python3
"""A night's work of a small decal printer: 24 specs × 10 scales, and ten times as many.

    python3 benches/batch.py            # 240 jobs with one thread and with two, again, and 2 400 jobs
    python3 benches/batch.py --memory   # 240 and 2 400 jobs with two threads: what is asked of memory
    python3 benches/batch.py --small    # 8 jobs, as CI does: what is asked of memory and of a second run

Prints the table of benches/README.md. Time on the wall and of the processor, and the peak memory of the
one process, from wait4(2). Each spec is the demo with sizes of its own, so that nothing is shared.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "target/release/markloft"
SCALES = "1/144,1/100,1/96,1/87,1/72,1/64,1/48,1/35,1/32,1/24"
MOST_MIB = 400
# How much more memory ten times as many jobs may take: nothing may be kept of a spec that is done.
MOST_MORE = 0.1


def specs(folder: Path, count: int) -> None:
    demo = (ROOT / "specs/harrow-tarn.yaml").read_text()
    for k in range(count):
        text = re.sub(r"^title: .*$", f"title: lot {k}", demo, flags=re.M)
        text = text.replace("length: 285 mm", f"length: {285 + k % 97 * 0.1:.1f} mm")
        text = text.replace("front: 1.10 m", f"front: {1.1 + k * 0.0001:.4f} m")
        (folder / f"lot-{k:03}.yaml").write_text(text)


def run(folder: Path, jobs: int, scales: str) -> tuple[float, float, float]:
    """Seconds on the wall, of the processor, and the peak in MiB."""
    words = ["make", "in", "--jobs", str(jobs), "--scale", scales, "--dpi", "150", "--format", "json-lines"]
    begun = time.monotonic()
    with open(folder / "said", "w") as said:
        child = subprocess.Popen([PROGRAM, *words], cwd=folder, stdout=said, stderr=said)
        _, status, used = os.wait4(child.pid, 0)
    if os.waitstatus_to_exitcode(status) != 0:
        sys.exit((folder / "said").read_text())
    return time.monotonic() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def measured(what: str, count: int, jobs: int, scales: str, folder: Path) -> tuple[float, float, float]:
    wall, processor, peak = run(folder, jobs, scales)
    print(f"| {what} | {count * len(scales.split(','))} | {jobs} | {wall:.1f} s | {processor:.1f} s | {peak:.0f} MiB |", flush=True)
    return wall, processor, peak


def batch(count: int, jobs: int, scales: str = SCALES, again: bool = False):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "in").mkdir()
        specs(folder / "in", count)
        first = measured("all new", count, jobs, scales, folder)
        second = measured("nothing changed", count, jobs, scales, folder) if again else None
        return first, second


def main() -> None:
    small = "--small" in sys.argv
    load = os.getloadavg()[0]
    print(f"load before: {load:.1f} on {os.cpu_count()} cores")
    print("| run | jobs | `--jobs` | on the wall | of the processor | peak |\n|---|---|---|---|---|---|")
    if small:
        first, second = batch(4, 2, "1/72,1/48", again=True)
        assert first[2] < MOST_MIB, "too much memory"
        assert second[1] < 0.05 * first[1], "a second run does what was done"
        return
    if "--memory" in sys.argv:
        memory(batch(24, 2)[0], batch(240, 2)[0])
        return
    alone, _ = batch(24, 1)
    two, again = batch(24, 2, again=True)
    many, _ = batch(240, 2)
    print(f"\ntwice as many threads: {alone[0] / two[0]:.2f} times as fast")
    print(f"nothing changed: {100 * again[1] / two[1]:.1f} % of the processor's time, {100 * again[0] / two[0]:.1f} % on the wall")
    memory(two, many)


def memory(few: tuple[float, float, float], many: tuple[float, float, float]) -> None:
    more = many[2] / few[2] - 1
    print(f"ten times as many jobs: {100 * more:+.1f} % memory")
    assert many[2] < MOST_MIB, "too much memory"
    assert more <= MOST_MORE, "memory grows with the number of jobs"


if __name__ == "__main__":
    main()
