"""Wrong formulas on purpose: how many of them the tests of a room notice. Not collected by pytest; run it by itself.

    nice python tests/mutation.py plate --sample 100 --seed 1

One operator, comparison, constant or term of the room is changed in memory at a time (no file is touched) and the tests
of the room that reach the changed line are run until the first fails, quickest file first. Printed: every survivor with
its line, before and after, then the score. Texts of errors, annotations, decorators and raises are left alone. Needs
``coverage`` and a system that forks.
"""

import argparse
import ast
import copy
import os
import random
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
TESTS = {
    "plate": "*/test_plate_[ops]* */test_field_* */test_making_* */test_outlined_[aft]* */test_foreign_* "
    "*/test_replacement_*",
    "grid": "*/test_grid_* */test_stack_* */test_contacts_*",
    "traction": "*/test_traction_* */test_runup_* */test_braking_* */test_nameplate_* */test_ngspice*",
    "heat": "*/test_heat_* unit/test_calibration_*",
    "choose": "*/test_choose_*",
}
EVERY_ROOM = "property/test_whole_chain.py"
SWAPPED: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.FloorDiv: (ast.Div,),
    ast.Mod: (ast.Mult,),
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
}
NAMES = {"min": "max", "max": "min", "sin": "cos", "cos": "sin", "minimum": "maximum", "maximum": "minimum"}
Change = Callable[[ast.AST], ast.AST]


@dataclass(frozen=True)
class Mutant:
    """``source`` of ``path`` with the node at ``place`` (in the order of the walk) put through ``change``."""

    path: Path
    line: int
    place: int
    change: Change
    before: str
    after: str


def mutants(path: Path) -> Iterator[Mutant]:
    """Every change of one module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for place, node in enumerate(walk(tree)):
        for change in changes(node):
            after = ast.unparse(ast.fix_missing_locations(change(copy.deepcopy(node))))
            yield Mutant(path, node.lineno, place, change, ast.unparse(node), after)  # type: ignore[attr-defined]


def walk(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes that may be changed, always in the same order."""
    if isinstance(node, ast.Raise | ast.JoinedStr | ast.Assert | ast.arg | ast.Import | ast.ImportFrom):
        return
    if isinstance(node, ast.BinOp | ast.Compare | ast.BoolOp | ast.UnaryOp | ast.Constant | ast.Name | ast.Attribute):
        yield node
    left_alone = {"annotation", "returns", "decorator_list", "keywords", "bases", "type_params"}
    if isinstance(node, ast.Call):
        left_alone.discard("keywords")
    for field, value in ast.iter_fields(node):
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and field not in left_alone:
                yield from walk(child)


def changes(node: ast.AST) -> Iterator[Change]:
    """What may be done to one node."""
    if isinstance(node, ast.BinOp):
        yield from (set_to("op", other()) for other in SWAPPED.get(type(node.op), ()))
        if isinstance(node.op, ast.Add | ast.Sub | ast.Mult | ast.Div):
            yield lambda old: old.left  # type: ignore[attr-defined,no-any-return]
        if isinstance(node.op, ast.Add | ast.Mult):
            yield lambda old: old.right  # type: ignore[attr-defined,no-any-return]
    elif isinstance(node, ast.Compare) and len(node.ops) == 1:
        yield from (set_to("ops", [other()]) for other in SWAPPED.get(type(node.ops[0]), ()))
    elif isinstance(node, ast.BoolOp):
        yield from (set_to("op", other()) for other in SWAPPED[type(node.op)])
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        yield lambda old: old.operand  # type: ignore[attr-defined,no-any-return]
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield set_to("value", node.value + 1 if type(node.value) is int else node.value * 1.1 or 1.0)  # type: ignore[operator]
    elif isinstance(node, ast.Constant) and type(node.value) is bool:
        yield set_to("value", not node.value)
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield set_to("id", NAMES[node.id])
    elif isinstance(node, ast.Attribute) and node.attr in NAMES:
        yield set_to("attr", NAMES[node.attr])


def set_to(field: str, value: object) -> Change:
    def change(node: ast.AST) -> ast.AST:
        setattr(node, field, value)
        return node

    return change


def mutated(mutant: Mutant) -> ast.Module:
    """The tree of the module with the change in it."""
    tree = ast.parse(mutant.path.read_text(encoding="utf-8"))
    target = next(node for place, node in enumerate(walk(tree)) if place == mutant.place)

    class Change(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> ast.AST:
            return mutant.change(node) if node is target else self.generic_visit(node)

    return ast.fix_missing_locations(Change().visit(tree))  # type: ignore[no-any-return]


@dataclass(frozen=True)
class Finder:
    """Gives the changed module in place of the file."""

    mutant: Mutant

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        where = self.mutant.path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
        if name != where.removesuffix(".__init__"):
            return None
        code = compile(mutated(self.mutant), str(self.mutant.path), "exec")

        class Loader(SourceFileLoader):
            def get_code(self, fullname: str) -> object:  # type: ignore[override]
                return code

        return spec_from_file_location(name, self.mutant.path, loader=Loader(name, str(self.mutant.path)))


def forked(act: Callable[[], int], limit_s: float) -> tuple[str, float]:
    """Run in a child that says nothing; "passed", "failed" or "hung", and its seconds of the processor."""
    pid = os.fork()
    if not pid:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1), os.dup2(quiet, 2)
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s), int(limit_s) + 5))
        os._exit(act())
    _, status, used = os.wait4(pid, 0)
    took = used.ru_utime + used.ru_stime
    if os.WIFSIGNALED(status):
        return ("hung" if os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL) else "failed"), took
    return ("passed" if os.WEXITSTATUS(status) == 0 else "failed"), took


def tested(files: list[str], mutant: Mutant | None = None) -> int:
    import pytest

    if mutant:
        sys.meta_path.insert(0, Finder(mutant))  # type: ignore[arg-type]
    return int(pytest.main(["-x", "-q", "--no-header", *files]))


def reached(files: list[str], room: str, folder: Path) -> tuple[dict[str, float], dict[str, set[tuple[str, int]]]]:
    """Seconds of every test file, and the lines of the room it runs. Each has its own process: caches hide lines."""
    import coverage

    seconds, lines = {}, {}
    for number, file in enumerate(files):
        data = folder / str(number)

        def act(file: str = file, data: Path = data) -> int:
            measure = coverage.Coverage(
                data_file=str(data), source=[str(ROOT / "griddesign" / room)], config_file=False
            )
            measure.start()
            code = tested([file])
            measure.stop()
            measure.save()
            return code

        told, seconds[file] = forked(act, 600)
        if told != "passed":
            print(f"left out, {told} without any change: {file}")
            continue
        found = coverage.CoverageData(str(data))
        found.read()
        lines[file] = {(path, line) for path in found.measured_files() for line in found.lines(path) or ()}
    return seconds, lines


def statement_lines(path: Path) -> dict[int, int]:
    """Line of a node to the first line of its innermost statement, which is the one coverage knows."""
    first: dict[int, int] = {}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.stmt):
            end = node.body[0].lineno - 1 if getattr(node, "body", None) else node.end_lineno or node.lineno
            first.update(dict.fromkeys(range(node.lineno, end + 1), node.lineno))
    return first


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    asked.add_argument("room", choices=TESTS)
    asked.add_argument("--sample", type=int, default=100)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--minutes", type=float, default=1e6, help="stop after so many")
    words = asked.parse_args()
    os.chdir(ROOT)
    import numpy, pytest, scipy.integrate, scipy.optimize, scipy.sparse.linalg, shapely  # noqa: E401, F401, I001

    patterns = [*TESTS[words.room].split(), EVERY_ROOM]
    files = sorted({str(path) for pattern in patterns for path in (ROOT / "tests").glob(pattern)})
    everything = [one for path in sorted((ROOT / "griddesign" / words.room).rglob("*.py")) for one in mutants(path)]
    picked = random.Random(words.seed).sample(everything, min(words.sample, len(everything)))
    with tempfile.TemporaryDirectory() as folder:
        seconds, lines = reached(files, words.room, Path(folder))
    size = f"{len(picked)} of {len(everything)} changes, {len(seconds)} files, {sum(seconds.values()):.0f} s"
    print(f"{words.room}: {size}", flush=True)
    end, told = time.monotonic() + 60 * words.minutes, {"failed": 0, "hung": 0, "passed": 0, "never run": 0}
    for mutant in picked:
        if time.monotonic() > end:
            break
        told[verdict(mutant, seconds, lines)] += 1
    killed, tried = told["failed"] + told["hung"], sum(told.values())
    unrun = f"{told['never run']} on lines no test runs, {told['hung']} by never ending"
    print(f"{words.room}: {killed} of {tried} noticed ({killed / max(tried, 1):.0%}), {unrun}")


def verdict(mutant: Mutant, seconds: dict[str, float], lines: dict[str, set[tuple[str, int]]]) -> str:
    """What the tests say of a change; a survivor is printed."""
    line = statement_lines(mutant.path).get(mutant.line, mutant.line)
    there = sorted((file for file in lines if (str(mutant.path), line) in lines[file]), key=seconds.__getitem__)
    limit_s = 20 + 4 * sum(seconds[file] for file in there)
    found = forked(lambda: tested(there, mutant), limit_s)[0] if there else "never run"
    if found in ("passed", "never run"):
        where = f"{mutant.path.relative_to(ROOT)}:{mutant.line}"
        print(f"{found}: {where}: {mutant.before}  ->  {mutant.after}", flush=True)
    return found


if __name__ == "__main__":
    main()
