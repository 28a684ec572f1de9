"""How long the command takes beside what it stands on. Run: python tests/benchmarks/bench_command.py

Prints, as ratios in one run: ``griddesign --help`` over importing click; the demo with all papers over merely importing
the very library modules it loads, both with their byte code at hand; and the ladder and the choice of the demo beyond
imports. Seconds are those of the processor, so that a busy machine matters little. Asserts nothing.
"""

import importlib.util
import json
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROUNDS = 9
RUN = """
import json, sys
before = set(sys.modules)
sys.argv = ["griddesign", "design", "--out", {folder!r}]
from griddesign.cli import main
try:
    main()
finally:
    json.dump([name for name in sys.modules if name not in before], sys.stderr)
"""


def best(*acts: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """Of each act the shortest of several runs in turns, seconds of the processor, those of the processes it starts
    among them."""
    times: list[list[float]] = [[] for _ in acts]
    for _ in range(rounds):
        for act, own in zip(acts, times, strict=True):
            begin = spent_s()
            act()
            own.append(spent_s() - begin)
    return [min(own) for own in times]


def spent_s() -> float:
    """Seconds of the processor so far, ours and those of the processes that have ended."""
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in both)


def run(*words: str) -> None:
    subprocess.run([sys.executable, *words], check=True, capture_output=True)


def libraries(folder: str) -> str:
    """A script that imports exactly the modules of other people that the demo with all papers loads, in that order."""
    done = subprocess.run([sys.executable, "-c", RUN.format(folder=folder)], check=True, capture_output=True, text=True)
    loaded = json.loads(done.stderr)
    theirs = [name for name in loaded if name.split(".")[0] not in {"griddesign", *sys.stdlib_module_names}]
    return "\n".join(["import importlib", *(f"importlib.import_module({name!r})" for name in theirs if _found(name))])


def _found(name: str) -> bool:
    """Whether a module can be imported by that name alone: some libraries make up modules as they go."""
    try:
        return importlib.util.find_spec(name) is not None
    except (ImportError, ValueError, AttributeError):
        return False


def compiled() -> None:
    """Byte code for our own modules, as an installation leaves it; the libraries have theirs."""
    import griddesign

    folder = Path(griddesign.__file__).parent
    subprocess.run([sys.executable, "-m", "compileall", "-q", str(folder)], check=True, capture_output=True)


def row(what: str, other: str, acts: tuple[Callable[[], object], Callable[[], object]]) -> None:
    ours, theirs = best(*acts)
    print(f"{what:<34} {1e3 * ours:8.0f} ms   {other:<28} {1e3 * theirs:8.0f} ms   ratio {ours / theirs:5.2f}")


def main() -> None:
    compiled()
    asked = lambda: run("-m", "griddesign", "--help"), lambda: run("-c", "import click")
    row("griddesign --help", "import click", asked)
    with tempfile.TemporaryDirectory() as folder:
        script = libraries(folder)
        papers = lambda: run("-m", "griddesign", "design", "--out", folder), lambda: run("-c", script)
        row("demo with all papers", "import the libraries", papers)
    from griddesign.choose.from_job import wanted_of, work_out
    from griddesign.job.reading import read_job
    from griddesign.shipped import examples_folder

    job = read_job(examples_folder() / "demo.toml")
    work_out(job)
    print(f"ladder of the demo, beyond imports {1e3 * best(lambda: wanted_of(job))[0]:8.0f} ms")
    print(f"all rounds of ladder and choice    {1e3 * best(lambda: work_out(job))[0]:8.0f} ms")


if __name__ == "__main__":
    main()
