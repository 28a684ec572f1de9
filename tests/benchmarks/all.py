"""One table of all benchmarks: ours, peer, ratio, and how ours grows with the size. Asserts nothing.

Run: ``OPENBLAS_NUM_THREADS=1 python tests/benchmarks/all.py``, or some of ``field taps counts start scatter papers
command`` behind it; about two minutes. Each row comes from the pieces of the ``bench_*.py`` of its name, which tell
more. Seconds of the processor, ours and the peer's in turns. Size sweep: sizes, seconds, and the x of ``time ~ size^x``
from the first to the last.
"""

import importlib
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import log
from pathlib import Path
from statistics import median
from time import process_time
from types import ModuleType

HERE = Path(__file__).resolve().parent
TURNS = 3
HEAD = "| what | ours | peer | peer's | peer's over ours | size sweep | grows as |\n|---|---|---|---|---|---|---|"


@dataclass(frozen=True)
class Row:
    """One line: seconds of ours and of the peer's (None: not installed), sizes and seconds of the sweep."""

    what: str
    ours_s: float
    peer: str = ""
    peer_s: float | None = None
    of: str = ""
    sweep: tuple[tuple[int, float], ...] = ()

    def line(self) -> str:
        theirs, ratio = (shown(self.peer_s), f"{self.peer_s / self.ours_s:.3g}") if self.peer_s else ("–", "–")
        sizes = ", ".join(f"{size:,}: {shown(seconds)}" for size, seconds in self.sweep)
        sizes = f"{self.of} {sizes}" if sizes else ""
        cells = (
            self.what,
            shown(self.ours_s),
            self.peer or "–",
            theirs,
            ratio,
            sizes,
            exponent(self.sweep),
        )
        return f"| {' | '.join(cell.strip() or '–' for cell in cells)} |"


def shown(seconds: float) -> str:
    return f"{1e3 * seconds:.3g} ms" if seconds < 1 else f"{seconds:.3g} s"


def exponent(sweep: Sequence[tuple[int, float]]) -> str:
    if len(sweep) < 2:
        return ""
    (few, short), (many, long) = sweep[0], sweep[-1]
    return f"size^{log(long / short) / log(many / few):.2f}"


def bench(name: str) -> ModuleType:
    return importlib.import_module(f"bench_{name}")


def once(act: Callable[[], object]) -> float:
    begin = process_time()
    act()
    return process_time() - begin


def in_turns(*acts: Callable[[], object]) -> list[float]:
    """Shortest of each, taken in turns."""
    return [min(times) for times in zip(*([once(act) for act in acts] for _ in range(TURNS)), strict=True)]


def field() -> Iterator[Row]:
    """Ohms of a plate's outline to a bracket of 0.1 %; the peers take polygons."""
    of = bench("field")
    domain = of.plate("round")
    rings = of.polygons(domain)
    sweep = tuple((n, in_turns(lambda n=n: of.solved(of.plate("round", n)))[0]) for n in (6, 12, 24, 48))
    alone_s = sweep[1][1]
    for name in ("netgen, scikit-fem", "triangle, P1 + CR"):
        try:
            of.PEERS[name](rings, 1e-3)
        except ImportError:
            yield Row("plate field, 12 passes, 0.1 %", alone_s, f"{name}: not installed", None, "passes", sweep)
            sweep = ()
            continue
        ours_s, peer_s = in_turns(lambda: of.solved(domain), lambda name=name: of.PEERS[name](rings, 1e-3))
        yield Row("plate field, 12 passes, 0.1 %", ours_s, name, peer_s, "passes", sweep)
        sweep = ()


def taps() -> Iterator[Row]:
    """Best taps on plates at hand, proved; six sections in series, two draws of plates."""
    try:
        of = bench("retap")
    except ImportError:
        return

    def asked(plates: int) -> list[object]:
        return [of.question(plates, 6, seed, abreast=False) for seed in of.SEEDS]

    def ours(plates: int) -> float:
        return median(min(of.timed(of.ours, one)[0] for _ in range(TURNS)) for one in asked(plates))

    ours(66)
    sweep = tuple((plates, ours(plates)) for plates in (66, 132, 300))
    ours_s = sweep[1][1]
    for name, solve, share in (("HiGHS", of.by_milp, 1.0), ("CP-SAT", of.by_constraints, 0.5)):
        theirs = median(share * of.peer_timed(solve, one)[0] for one in asked(132))
        yield Row("taps, 132 plates, 6 sections", ours_s, name, theirs, "plates", sweep)
        sweep = ()


def counts() -> Iterator[Row]:
    """Counts and plate ohms, the smallest worst error alone: ours proved to 1e-11, the peer halves down to 1e-5."""
    of = bench("choose")

    def drawn(sections: int, plates: int) -> list[object]:
        found = [of.scattered(sections, plates, seed) for seed in range(3)]
        return [of.replace(one, prefer="closest", in_parallel=(1,), margin=lambda *_: None) for one in found]

    def ours(one: object) -> float:
        return in_turns(lambda: of.choose(one))[0]

    sizes = ((5, 60), (7, 120), (7, 300), (10, 600))
    sweep = tuple((plates, median(map(ours, drawn(sections, plates)))) for sections, plates in sizes)
    for sections, plates in (sizes[0], sizes[2]):
        pairs = [in_turns(lambda one=one: of.choose(one), lambda one=one: of.least_error_by_milp(one))
                 for one in drawn(sections, plates)]  # fmt: skip
        ours_s, peer_s = (median(times) for times in zip(*pairs, strict=True))
        yield Row(f"counts, {plates} plates, {sections} sections", ours_s, "HiGHS to 1e-5", peer_s, "plates", sweep)
        sweep = ()


def start() -> Iterator[Row]:
    """One start with hot ohms, and many side by side."""
    of = bench("runup")
    of.ours(of.cases(1))
    one = of.cases(1)
    ours_s, peer_s = in_turns(lambda: of.ours(one), lambda: of.peer(one.section_ohm))
    sweep = tuple((size, once(lambda size=size: of.many(size))) for size in (1000, 10_000, 100_000))
    yield Row("one start", ours_s, "scipy RK45, 1e-6", peer_s, "starts", sweep)


def scatter() -> Iterator[Row]:
    """The scatter of the demo's starts, drawn, run and counted, beside the bare peer in a loop."""
    of = bench("scatter")
    ready, loop = of.starter(of.read_job(of.examples_folder() / "demo.toml")), bench("runup")
    of.scatter_of(ready, 1000, 1)
    each_s = median(loop.seconds(loop.peer, loop.cases(1, seed).section_ohm) for seed in range(5))
    sweep = tuple((starts, once(lambda n=starts: of.scatter_of(ready, n, 1))) for starts in (1000, 10_000))
    yield Row("scatter, 10,000 starts", sweep[-1][1], "scipy RK45 in a loop", 10_000 * each_s, "starts", sweep)


def papers() -> Iterator[Row]:
    """A result and all its papers."""
    sweep = tuple((plates, papers_s) for plates, _, papers_s in bench("papers").both())
    yield Row("result and all papers, demo", sweep[0][1], "400 plates, 10 boxes", sweep[1][1], "plates", sweep)


def command() -> Iterator[Row]:
    """The command in a process of its own, byte code at hand."""
    of = bench("command")
    of.compiled()
    help_s, click_s = of.best(lambda: of.run("-m", "griddesign", "--help"), lambda: of.run("-c", "import click"))
    yield Row("griddesign --help", help_s, "import click", click_s)
    with tempfile.TemporaryDirectory() as folder:
        script = of.libraries(folder)
        papers = lambda: of.run("-m", "griddesign", "design", "--out", folder), lambda: of.run("-c", script)
        demo_s, libraries_s = of.best(*papers)
        yield Row("griddesign design, demo", demo_s, "import of the libraries it loads", libraries_s)


ALL = {each.__name__: each for each in (field, taps, counts, start, scatter, papers, command)}


def main() -> None:
    sys.path.insert(0, str(HERE))
    print(HEAD, flush=True)
    for name in sys.argv[1:] or ALL:
        for row in ALL[name]():
            print(row.line(), flush=True)


if __name__ == "__main__":
    main()
