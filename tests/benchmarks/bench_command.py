"""How long the command takes beside what it stands on. Run: python tests/benchmarks/bench_command.py

Prints, as ratios in one run: ``griddesign --help`` over importing click; the demo with all papers over merely importing
the very library modules it loads, both with their byte code at hand; and the ladder and the choice of the demo beyond
imports. Asserts nothing.
"""

import importlib.util
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROUNDS = 5
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


def row(what: str, ours: float, other: str, theirs: float) -> None:
    print(f"{what:<34} {1e3 * ours:8.0f} ms   {other:<28} {1e3 * theirs:8.0f} ms   ratio {ours / theirs:5.2f}")


def main() -> None:
    compiled()
    row(
        "griddesign --help",
        best(lambda: run("-m", "griddesign", "--help")),
        "import click",
        best(lambda: run("-c", "import click")),
    )
    with tempfile.TemporaryDirectory() as folder:
        script = libraries(folder)
        demo = best(lambda: run("-m", "griddesign", "design", "--out", folder))
        row("demo with all papers", demo, "import the libraries", best(lambda: run("-c", script)))
    from griddesign.choose.from_job import wanted_of, work_out
    from griddesign.job.reading import read_job
    from griddesign.shipped import examples_folder

    job = read_job(examples_folder() / "demo.toml")
    work_out(job)
    print(f"ladder of the demo, beyond imports {1e3 * best(lambda: wanted_of(job)):8.0f} ms")
    print(f"all rounds of ladder and choice    {1e3 * best(lambda: work_out(job)):8.0f} ms")


if __name__ == "__main__":
    main()
