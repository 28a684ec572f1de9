"""Contact charts: thirteen notches solved by us, by whole fractions and by a circuit simulator, in one run.

    python tests/benchmarks/bench_contacts.py

Prints milliseconds and ratios; asserts no time. The simulator is started once for each notch, as a script would.
"""

import importlib
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from griddesign.grid.contacts.grouping import MotorOhms
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart

sys.path[:0] = [str(Path(__file__).parents[1] / folder) for folder in ("property", "published")]
deck = importlib.import_module("test_contacts_ngspice").deck
exact = importlib.import_module("test_contacts_property").exact


def chart(sections: int) -> Chart:
    """Six notches with the motors in series, seven side by side, sections cut out evenly, the last few side by side."""
    names = tuple(f"s{number}" for number in range(sections))
    taps = (f"start of {names[0]}", *(f"{a}/{b}" for a, b in pairwise(names)), f"end of {names[-1]}")
    leads = {"T": ("line",), "G": ("ground",)} | {f"R{at}": (tap,) for at, tap in enumerate(taps)}
    leads |= {f"M{at}": (end,) for at, end in enumerate(f"motor {m} {e}" for m in (1, 2) for e in ("in", "out"))}
    last = f"R{sections}"
    series, parallel = ((last, "M0"), ("M1", "M2"), ("M3", "G")), ((last, "M0", "M2"), ("M1", "M3", "G"))
    notches = []
    for number in range(13):
        at = (number % 7) * (sections - 2) // 7
        beside = (("T", f"R{sections - 1}"),) if number % 7 == 5 else ()
        notches.append((str(number), (("T", f"R{at}"), *beside, *(series if number < 6 else parallel))))
    return Chart(names, 2, leads, tuple(notches))


def milliseconds(call: Callable[[], object], times: int) -> float:
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def one_size(sections: int) -> None:
    read = ChartRead(chart(sections), MotorOhms(0.42))
    dice = random.Random(sections)
    ohm = read.known({name: round(dice.uniform(0.05, 2.0), 3) for name in read.chart.sections})
    whole = [Fraction(str(ohm[one.name])) for one in read.elements]
    ours = milliseconds(lambda: read.networks.solve(ohm), 50)
    reading = milliseconds(lambda: ChartRead(read.chart, read.ohms).circuits, 10)
    fractions = milliseconds(lambda: [exact(read.elements, net, whole) for net in read.nets], 3)
    print(
        f"{sections} sections, 13 notches: solved in {ours:.3f} ms (chart read and recognised once: {reading:.1f} ms)"
    )
    print(f"  whole fractions {fractions:.1f} ms, {fractions / ours:.0f} times as long")
    if shutil.which("ngspice"):
        with tempfile.TemporaryDirectory() as folder:
            spice = milliseconds(lambda: [run_deck(deck(read, at, ohm), Path(folder)) for at in range(13)], 2)
        print(f"  circuit simulator {spice:.0f} ms, {spice / ours:.0f} times as long")


def run_deck(text: str, folder: Path) -> None:
    path = folder / "chart.cir"
    path.write_text(f"* chart\n{text}\n.end\n", encoding="ascii")
    subprocess.run(["ngspice", "-b", str(path)], capture_output=True, check=False)


if __name__ == "__main__":
    one_size(10)
    one_size(30)
