"""The scatter of the demo's starts, beside a general adaptive Runge-Kutta 5(4) called in a loop. Asserts nothing.

Run it by itself: ``python tests/benchmarks/bench_scatter.py``. Ours: the whole scatter, drawing of every plate, runs
with hot ohms, percentiles, shares and chances. The peer: scipy's RK45 at 1e-6 on speed, way and five temperatures for
the like car (``bench_runup.peer``), one start after another, nothing drawn and nothing counted. Seconds are those of
the processor; memory is the peak of the whole process.
"""

import importlib.util
import resource
import sys
from pathlib import Path
from statistics import median
from time import process_time
from types import ModuleType

from griddesign.job.reading import read_job
from griddesign.judge.runup import starter
from griddesign.judge.scatter.whole import scatter_of
from griddesign.shipped import examples_folder


def runup_bench() -> ModuleType:
    """The neighbour file, which holds the peer."""
    where = importlib.util.spec_from_file_location("bench_runup", Path(__file__).with_name("bench_runup.py"))
    assert where is not None and where.loader is not None
    module = importlib.util.module_from_spec(where)
    sys.modules["bench_runup"] = module
    where.loader.exec_module(module)
    return module


def main() -> None:
    """Print seconds, ratio and memory."""
    ready, bench = starter(read_job(examples_folder() / "demo.toml")), runup_bench()
    scatter_of(ready, 1000, 1)
    theirs = median(bench.seconds(bench.peer, bench.cases(1, seed).section_ohm) for seed in range(7))
    print(f"RK45 at 1e-6 in a loop: {theirs * 1e3:.1f} ms a start")
    for starts in (1_000, 10_000, 100_000):
        begin = process_time()
        scatter_of(ready, starts, 1)
        took = process_time() - begin
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{starts:7d} starts: {took:.2f} s, {took / starts * 1e6:.0f} us each, {memory:.0f} MB, "
            f"RK45 {theirs * starts / took:.0f} times"
        )


if __name__ == "__main__":
    main()
