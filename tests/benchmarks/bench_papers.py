"""The whole set of papers: the demo, and 400 plates in 10 boxes beside it. Asserts nothing.

Run it by itself: ``OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_papers.py``. Timed, in seconds of the
processor, are the result of a job that was read and the bytes of every file of its set; not the imports, which the
first round takes, nor the disk. The large job is the demo on plates of a fifth of the ohms, its counts given. All
figures are invented.
"""

import tempfile
from collections.abc import Callable
from math import log
from pathlib import Path
from time import process_time

from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.papers.whole_set import files_of
from griddesign.shipped import examples_folder

COUNTS = {"A": 172, "B": 130, "C": 42, "D": 28, "E": 28}
ROUNDS = 3


def demo() -> Job:
    return read_job(examples_folder() / "demo.toml")


def large(folder: str) -> Job:
    """400 plates in 10 boxes of 40; the file stays in the folder, since papers tell its fingerprint."""
    text = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    text = text.replace("boxes = 4\nplates_per_box = 20", "boxes = 10\nplates_per_box = 40")
    text = text.replace('may_vary = { strip_width = "7 mm to 9.5 mm" }\n', "")
    text += '[metal.grey_iron_class30]\nresistivity = "15.3 uohm cm"\n'
    text += "".join(f'[[section]]\nname = "{name}"\nplates = {plates}\n' for name, plates in COUNTS.items())
    path = Path(folder) / "large.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def both() -> list[tuple[int, float, float]]:
    """``timed`` of the demo and of the large job."""
    files_of(result_of(demo()))
    with tempfile.TemporaryDirectory() as folder:
        return [timed(demo()), timed(large(folder))]


def shortest(act: Callable[[], object]) -> float:
    """Shortest of several runs, s of the processor."""
    times = []
    for _ in range(ROUNDS):
        begin = process_time()
        act()
        times.append(process_time() - begin)
    return min(times)


def timed(job: Job) -> tuple[int, float, float]:
    """Plates of a job, seconds of its result, seconds of its papers."""
    result: Result = result_of(job)
    assert result.layout is not None
    plates = len(result.layout.places)
    return plates, shortest(lambda: result_of(job)), shortest(lambda: files_of(result_of(job)))


def main() -> None:
    """Print both, their ratio and the exponent of growth."""
    rows = both()
    for plates, result_s, papers_s in rows:
        print(f"{plates:4d} plates: result {1e3 * result_s:5.0f} ms, result and all papers {1e3 * papers_s:6.0f} ms")
    (few, _, small_s), (many, _, large_s) = rows
    print(f"ratio {large_s / small_s:.2f}, growth exponent {log(large_s / small_s) / log(many / few):.2f}")


if __name__ == "__main__":
    main()
