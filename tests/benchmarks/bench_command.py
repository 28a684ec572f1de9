"""How long the command takes beside what it stands on. Run: python tests/benchmarks/bench_command.py

Prints, as ratios in one run: ``griddesign --help`` over importing click; the demo with all papers over merely importing
the libraries it uses; and the ladder and the choice of the demo beyond imports. Asserts nothing.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROUNDS = 5
LIBRARIES = (
    "import numpy, scipy.optimize, scipy.spatial, scipy.sparse.linalg, pint, click, ezdxf, ezdxf.addons.drawing\n"
    "import reportlab.pdfgen.canvas"
)


def best(act: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Shortest of several runs, seconds of wall clock."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        act()
        times.append(time.perf_counter() - begin)
    return min(times)


def run(*words: str) -> None:
    subprocess.run([sys.executable, *words], check=True, capture_output=True)


def row(what: str, ours: float, other: str, theirs: float) -> None:
    print(f"{what:<34} {1e3 * ours:8.0f} ms   {other:<28} {1e3 * theirs:8.0f} ms   ratio {ours / theirs:5.2f}")


def main() -> None:
    row(
        "griddesign --help",
        best(lambda: run("-m", "griddesign", "--help")),
        "import click",
        best(lambda: run("-c", "import click")),
    )
    with tempfile.TemporaryDirectory() as folder:
        demo = best(lambda: run("-m", "griddesign", "design", "--out", folder), 3)
        row("demo with all papers", demo, "import the libraries", best(lambda: run("-c", LIBRARIES), 3))
    from griddesign.choose.from_job import wanted_of, work_out
    from griddesign.job.reading import read_job
    from griddesign.shipped import examples_folder

    job = read_job(examples_folder() / "demo.toml")
    work_out(job)
    print(f"ladder of the demo, beyond imports {1e3 * best(lambda: wanted_of(job)):8.0f} ms")
    print(f"all rounds of ladder and choice    {1e3 * best(lambda: work_out(job)):8.0f} ms")


if __name__ == "__main__":
    main()
