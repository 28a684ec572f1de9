"""Wrong formulas on purpose: how many of them the tests of a room notice. Not collected by pytest; run it by itself.

    nice python tests/mutation.py plate --sample 100 --seed 1

One operator, comparison, constant or term of the room is changed in memory at a time (``mutants.py``; no file is
touched) and the tests that reach the changed line are run, quickest first, until one fails. The tests are collected
once; each change is tried in a fork, where the functions it is in get the changed code. What a module works out as it
is loaded is tried in a process of its own. Which test reaches which line is measured beforehand, every test in a fork
of its own, or caches and shared fixtures would hide lines. Printed: every survivor with its line, before and after,
then the score. ``--keep FOLDER`` keeps the measured lines and the verdicts, and a later run with the same sources goes
on from there. Needs ``coverage`` and a system that forks.
"""

import argparse
import gc
import hashlib
import importlib
import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from itertools import accumulate
from pathlib import Path
from types import FunctionType

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("CHAIN_SEEDS", "0:4")  # jobs of the whole chain: each takes a second, and ten notice no more
import pytest
from mutants import Mutant, changed_functions, in_order, mutated, statement_lines

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))  # the tree this file stands in, whatever is installed
TESTS = {
    "plate": "*/test_plate_[ops]* */test_field_* */test_making_* */test_outlined_[aft]* */test_foreign_* "
    "*/test_replacement_* */test_outline_*",
    "grid": "*/test_grid_* */test_stack_* */test_contacts_* */test_network* unit/test_stacked* unit/test_restacking* "
    "unit/test_chart_on_plates* unit/test_fields_apart*",
    "traction": "*/test_traction_* */test_runup_* */test_braking_* */test_nameplate_* */test_ngspice* */test_network* "
    "*/test_unlike_* */test_start_ends* */test_wasted_* */test_scatter_*",
    "heat": "*/test_heat_* unit/test_calibration_* */test_service_day* */test_judge_[fl]* */test_verify_heat* "
    "*/test_replacement_duty* */test_network*",
    "choose": "*/test_choose_* */test_design_run* */test_network_notches* */test_unlike_* */test_wasted_* "
    "*/test_judge_* */test_restacking*",
}
EVERY_ROOM = "property/test_whole_chain.py"
QUICK_S = 0.3
BROKEN = 70  # the machinery itself failed: no verdict
Lines = dict[str, set[int]]


@dataclass(frozen=True)
class Reach:
    """Seconds of every test by itself, the lines of the room it runs, and those run as modules are loaded."""

    seconds: dict[str, float]
    lines: dict[str, Lines]
    loading: Lines

    def of(self, mutant: Mutant) -> list[str]:
        """The tests that run the changed statement, quickest first."""
        span = statement_lines(mutant.path).get(mutant.line, range(mutant.line, mutant.line + 1))
        path = str(mutant.path)
        there = [test for test, lines in self.lines.items() if not lines.get(path, set()).isdisjoint(span)]
        return sorted(there, key=lambda test: self._rank(test, mutant.path.stem))

    def _rank(self, test: str, module: str) -> tuple[float, bool, int]:
        """Quick ones first; of the slow ones those named for the module, then those that run little else."""
        slow = self.seconds[test] > QUICK_S
        named = module in test.partition("::")[0]
        return min(self.seconds[test], QUICK_S), slow and not named, slow * sum(map(len, self.lines[test].values()))

    def loads(self, mutant: Mutant) -> bool:
        span = statement_lines(mutant.path).get(mutant.line, range(mutant.line, mutant.line + 1))
        return not self.loading.get(str(mutant.path), set()).isdisjoint(span)


@dataclass(frozen=True)
class Finder:
    """Gives the changed module in place of the file."""

    mutant: Mutant

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if name != module_name(self.mutant.path):
            return None
        code = compile(mutated(self.mutant), str(self.mutant.path), "exec")

        class Loader(SourceFileLoader):
            def get_code(self, fullname: str) -> object:  # type: ignore[override]
                return code

        return spec_from_file_location(name, self.mutant.path, loader=Loader(name, str(self.mutant.path)))


def module_name(path: Path) -> str:
    return path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".").removesuffix(".__init__")


def forked(act: Callable[[], int]) -> tuple[str, float]:
    """Run in a child that says nothing; "passed", "failed" or "hung", and its seconds of the processor."""
    pid = os.fork()
    if not pid:
        code = BROKEN
        try:
            quiet = os.open(os.devnull, os.O_WRONLY)
            os.dup2(quiet, 1), os.dup2(quiet, 2)
            resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
            code = act()
        finally:
            os._exit(code)
    _, status, used = os.wait4(pid, 0)
    took = used.ru_utime + used.ru_stime
    if os.WIFEXITED(status) and os.WEXITSTATUS(status) == BROKEN:
        return "broken", took
    if os.WIFSIGNALED(status):
        return ("hung" if os.WTERMSIG(status) in (signal.SIGPROF, signal.SIGKILL) else "failed"), took
    return ("passed" if os.WEXITSTATUS(status) == 0 else "failed"), took


@dataclass(eq=False)
class Session:
    """The plugin that collects the tests of a room and tries the changes in place of running them."""

    words: argparse.Namespace
    folder: Path
    items: dict[str, pytest.Item] = field(default_factory=dict)
    alive: dict[str, list[FunctionType]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.room = ROOT / "griddesign" / self.words.room
        self.import_lines = measuring(self.room)
        self.import_lines.start()

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection(self) -> None:
        """A failing example is enough: it need not be made small."""
        from hypothesis import Phase, settings

        settings.register_profile("first", settings.get_profile("same"), phases=(Phase.explicit, Phase.generate))
        settings.load_profile("first")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_makereport(self, call: pytest.CallInfo[None]) -> None:
        if call.excinfo and not call.excinfo.errisinstance(pytest.skip.Exception):
            os._exit(1)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        for path in self.room.rglob("*.py"):
            importlib.import_module(module_name(path))
        self.import_lines.stop()
        for found in gc.get_objects():
            if isinstance(found, FunctionType) and Path(found.__code__.co_filename).is_relative_to(self.room):
                self.alive.setdefault(found.__code__.co_filename, []).append(found)
        gc.freeze()  # the forks then share what is there
        self.try_all(self.reach())
        return True

    def run(self, tests: list[str], limits_s: Iterable[float]) -> int:
        for test, following, limit_s in zip(tests, [*tests[1:], None], limits_s, strict=True):
            signal.setitimer(signal.ITIMER_PROF, limit_s)
            item, later = self.items[test], self.items[following] if following else None
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=later)
        return 0

    def reach(self) -> Reach:
        """As kept, else measured: every test in a process of its own."""
        kept = self.folder / "reach.json"
        if not kept.exists():
            seconds, lines = {}, {}
            for test in self.items:
                told, took = forked(lambda test=test: self.measured(test))  # type: ignore[misc]
                if told == "passed":
                    lines[test], seconds[test] = json.loads((self.folder / "lines").read_text()), took
                else:
                    say(f"left out, {told} without any change: {test}")
            kept.write_text(json.dumps([seconds, lines, lines_of(self.import_lines)]))
        seconds, lines, loading = json.loads(kept.read_text())
        sets = {test: {path: set(own) for path, own in there.items()} for test, there in lines.items()}
        return Reach(seconds, sets, {path: set(own) for path, own in loading.items()})

    def measured(self, test: str) -> int:
        measure = measuring(self.room)
        measure.start()
        self.run([test], [600.0])
        measure.stop()
        (self.folder / "lines").write_text(json.dumps(lines_of(measure)))
        return 0

    def try_all(self, reach: Reach) -> None:
        """Go through the changes in order; survivors and score are printed."""
        everything = in_order(sorted(self.room.rglob("*.py")), self.words.seed)
        picked, kept = everything[: self.words.sample], self.folder / "verdicts"
        known = dict(line.split("\t") for line in kept.read_text().splitlines()) if kept.exists() else {}
        size = f"{len(picked)} of {len(everything)} changes, {len(reach.seconds)} tests"
        say(f"{self.words.room}: {size}, {sum(reach.seconds.values()):.0f} s with coverage")
        end, verdicts = time.monotonic() + 60 * self.words.minutes, []
        for mutant in picked:
            if time.monotonic() > end:
                break
            if mutant.key not in known:
                known[mutant.key] = self.verdict(mutant, reach)
                with kept.open("a") as file:
                    file.write(f"{mutant.key}\t{known[mutant.key]}\n")
            verdicts.append(known[mutant.key])
            if verdicts[-1] in ("passed", "never run"):
                where = f"{mutant.path.relative_to(ROOT)}:{mutant.line}"
                say(f"{verdicts[-1]}: {where}: {mutant.before}  ->  {mutant.after}  [{mutant.key}]")
        self.score(verdicts)

    def score(self, verdicts: list[str]) -> None:
        hung, tried = verdicts.count("hung"), len(verdicts)
        killed = verdicts.count("failed") + hung
        say(
            f"{self.words.room}: {killed} of {tried} noticed ({killed / max(tried, 1):.0%}), "
            f"{verdicts.count('never run')} on lines no test runs, {hung} by never ending"
        )

    def verdict(self, mutant: Mutant, reach: Reach) -> str:
        tests = self.within(reach.of(mutant), reach)
        changed = changed_functions(mutant)
        live = [
            (one, code)
            for one in self.alive.get(str(mutant.path), ())
            if (code := changed.get((one.__code__.co_qualname, one.__code__.co_firstlineno)))
        ]
        if not live or (not tests and reach.loads(mutant)):
            return self.alone(mutant, reach)
        if not tests:
            return "never run"

        def act() -> int:
            for one, code in live:
                one.__code__ = code
            return self.run(tests, [3.0 + 6.0 * reach.seconds[test] for test in tests])

        return forked(act)[0]

    def within(self, tests: list[str], reach: Reach) -> list[str]:
        """The first tests that together take no longer than what is allowed to a change."""
        ends_s = accumulate(reach.seconds[test] for test in tests)
        return [
            test for test, end_s in zip(tests, ends_s, strict=True) if end_s < self.words.seconds or test == tests[0]
        ]

    def alone(self, mutant: Mutant, reach: Reach) -> str:
        """What is worked out as a module is loaded: by a fresh process, with the tests that reach the module."""
        there = [test for test in reach.lines if str(mutant.path) in reach.lines[test]] or list(reach.lines)
        quickest = self.within(sorted(there, key=reach.seconds.__getitem__), reach)
        command = [sys.executable, __file__, self.words.room, "--alone", mutant.key, *quickest]
        limit_s = 30.0 + 6.0 * sum(reach.seconds[test] for test in quickest)
        try:
            done = subprocess.run(command, capture_output=True, timeout=limit_s, check=False)
        except subprocess.TimeoutExpired:
            return "hung"
        return "failed" if done.returncode else "passed"


def say(line: str) -> None:
    print(line, flush=True)


def measuring(room: Path):  # type: ignore[no-untyped-def]
    import coverage

    measure = coverage.Coverage(data_file=None, source=[str(room)], config_file=False)
    measure.set_option("run:disable_warnings", ["no-data-collected"])
    return measure


def lines_of(measure) -> dict[str, list[int]]:  # type: ignore[no-untyped-def]
    data = measure.get_data()
    return {path: sorted(data.lines(path) or ()) for path in data.measured_files()}


def print_of(files: Iterable[Path]) -> str:
    """A fingerprint of the sources, which names the kept folder."""
    said = hashlib.sha256()
    for file in sorted(files):
        said.update(file.read_bytes())
    return said.hexdigest()[:12]


def alone(room: str, key: str, files: list[str]) -> None:
    """In a process of its own: the changed module is what everybody imports."""
    everything = in_order(sorted((ROOT / "griddesign" / room).rglob("*.py")), 0)
    sys.meta_path.insert(0, Finder(next(one for one in everything if one.key == key)))  # type: ignore[arg-type]
    sys.exit(int(pytest.main(["-x", "-q", "--no-header", *files])))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    asked.add_argument("room", choices=TESTS)
    asked.add_argument("--sample", type=int, default=100)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--minutes", type=float, default=1e6, help="stop after so many")
    asked.add_argument("--seconds", type=float, default=20.0, help="most seconds of tests to a change")
    asked.add_argument("--keep", type=Path, help="folder for the measured lines and the verdicts")
    asked.add_argument("--alone", nargs="+", help=argparse.SUPPRESS)
    words = asked.parse_args()
    os.chdir(ROOT)
    if words.alone:
        alone(words.room, words.alone[0], words.alone[1:])
    patterns = [*TESTS[words.room].split(), EVERY_ROOM]
    files = sorted({path for pattern in patterns for path in (ROOT / "tests").glob(pattern)})
    with tempfile.TemporaryDirectory() as own:
        folder = words.keep / print_of([*ROOT.glob("griddesign/**/*.py"), *files]) if words.keep else Path(own)
        folder.mkdir(parents=True, exist_ok=True)
        options = ["-q", "--no-header", "--capture=no", "--tb=no"]
        pytest.main([*options, *map(str, files)], plugins=[Session(words, folder)])


if __name__ == "__main__":
    main()
