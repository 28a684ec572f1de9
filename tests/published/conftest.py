"""The page of what is checked against what: written from what the tests record, and compared with it in every run.

A test asks for the fixture ``checked`` and hands over, after its asserts, the source (author, title, year, page or
example), what was compared, the published value, ours and the unit. The rows travel home with the reports of the tests
(``user_properties``), so they arrive from the workers of ``-n auto`` too. Where all of this folder has run, the page
must hold these rows and no others; where a part has run, its rows must stand on the page. ``--write-validation``
writes the page instead. A test that was skipped (no ngspice) keeps its rows.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
PAGE, UNCHECKED = HERE / "VALIDATION.md", HERE / "NOT_VALIDATED.md"
COLUMNS = "| source | what | published | ours | deviation | test |"
SENTENCE_END = re.compile(r"(?<=[a-z)]{2})\. ")  # not the point after an initial
NOISE = 1e-9  # below it a deviation is rounding, and another machine rounds otherwise
HEAD = """# Validation

Written by `python -m pytest tests/published --write-validation` from what the tests record; do not edit. Each run of
the tests compares it with what they found. Deviation: ours − published over published; of several values the worst is
shown. Worked examples were seen in published companions that work them again, not in the printed books; *from memory*
and *derived* are said where they are so. A row of a simulator or a library stands for independent code, not for paper.
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One thing compared: of several values under one source and name, the worst."""

    title: str
    source: str
    what: str
    value: float
    ours: float
    unit: str
    test: str
    count: int = 1

    @property
    def key(self) -> tuple[str, str, str]:
        return self.test, self.source, self.what

    @property
    def deviation(self) -> float:
        """Ours - published over published; where nothing is published but nought, ours itself."""
        return (self.ours - self.value) / abs(self.value) if self.value else self.ours

    @property
    def size(self) -> float:
        """How far off, to two figures, noise as nought: which value is the worst must not hang on the machine."""
        return 0.0 if abs(self.deviation) < NOISE else float(f"{abs(self.deviation):.2g}")

    def line(self) -> str:
        of = f", worst of {self.count}" if self.count > 1 else ""
        unit = f" {self.unit}" if self.unit else ""
        cells = (
            self.source,
            self.what + of,
            f"{self.value:.6g}{unit}",
            f"{self.ours:.6g}{unit}",
            shown(self.deviation),
            f"`{self.test}`",
        )
        return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def shown(deviation: float) -> str:
    """Two figures, in per cent; rounding noise as such."""
    return "< 1e-9" if abs(deviation) < NOISE else f"{100 * deviation:+.2g} %"


def numbers(given: object) -> list[float]:
    """One number, or the numbers of a sequence or array, as floats."""
    flat = given.ravel().tolist() if hasattr(given, "ravel") else given
    return [float(each) for each in (flat if isinstance(flat, Iterable) else (flat,))]


@pytest.fixture
def checked(request: pytest.FixtureRequest) -> Callable[[str, str, object, object, str], None]:
    """Record a check for the page: source, what, published value or values, ours, unit. Asserts nothing."""
    said = " ".join((request.module.__doc__ or request.module.__name__).split("\n\n")[0].split())
    title = SENTENCE_END.split(said)[0]
    test = f"{request.path.name}::{request.node.originalname}"

    def record(source: str, what: str, value: object, ours: object, unit: str = "") -> None:
        pairs = list(zip(numbers(value), numbers(ours), strict=True))
        for theirs, found in pairs:
            assert math.isfinite(theirs) and math.isfinite(found), (source, what)
            row = [title.rstrip("."), source, what, theirs, found, unit, test]
            request.node.user_properties.append(("published", row))

    return record


def merged(rows: Iterable[Row]) -> list[Row]:
    """Values of one source and name under one test as one row, the worst, in the order of the page."""
    worst: dict[tuple[str, str, str], Row] = {}
    for row in sorted(rows, key=lambda row: (row.value, row.ours)):
        there = worst.get(row.key)
        count = there.count + 1 if there else 1
        top = there if there and there.size >= row.size else row
        worst[row.key] = Row(top.title, *row.key[1:], top.value, top.ours, top.unit, top.test, count)
    return sorted(worst.values(), key=lambda row: (row.title, row.key))


def page_of(rows: Sequence[Row], unchecked: str) -> str:
    """The page as Markdown: one table for each file of tests, and what nothing validates at the end."""

    def parts() -> Iterator[str]:
        yield HEAD
        for title in dict.fromkeys(row.title for row in rows):
            yield f"## {title}\n\n{COLUMNS}\n|---|---|---|---|---|---|"
            yield "\n".join(row.line() for row in rows if row.title == title) + "\n"
        yield unchecked.rstrip()

    return "\n".join(parts()) + "\n"


def rows_on(page: str) -> dict[tuple[str, str, str], list[str]]:
    """The rows of a page by test, source and thing compared: the cells as printed."""
    found = {}
    for line in page.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("|") and len(cells) == 6 and cells[5].startswith("`"):
            found[cells[5].strip("`"), cells[0], cells[1]] = cells
    return found


def agree(page: Sequence[str], found: Sequence[str]) -> bool:
    """Same unit; published value and ours to five figures, deviation to a tenth: libraries differ a little, and what
    stands as published may be a simulator's answer."""
    pairs = list(zip(*(_figures(cells) for cells in (page, found)), strict=True))
    same = all(math.isclose(*pair, rel_tol=2e-5, abs_tol=1e-7) for pair in pairs[:2])
    return same and math.isclose(*pairs[2], rel_tol=0.1, abs_tol=1e-4) and _unit(page) == _unit(found)


def _figures(cells: Sequence[str]) -> tuple[float, float, float]:
    per_cent = 0.0 if cells[4].startswith("<") else float(cells[4].split()[0])
    return float(cells[2].split()[0]), float(cells[3].split()[0]), per_cent


def _unit(cells: Sequence[str]) -> list[str]:
    return cells[3].split()[1:]


def differences(page: str, fresh: str, ran: set[str], whole: bool) -> Iterator[str]:
    """What a page says otherwise than the tests that ran; ``ran`` holds those that passed."""
    old, new = rows_on(page), rows_on(fresh)
    for key, cells in new.items():
        if key not in old:
            yield f"not on the page: {' | '.join(cells)}"
        elif not agree(old[key], cells):
            yield f"on the page {' | '.join(old[key])}\n   found now {' | '.join(cells)}"
    for key in old:
        if key not in new and (whole or key[0] in ran):
            yield f"no test records any more: {' | '.join(old[key])}"
    if whole and page.partition("## Not validated")[2] != fresh.partition("## Not validated")[2]:
        yield "what is not validated by anything differs from NOT_VALIDATED.md"


# Collecting, and what becomes of it at the end of a run: on the machine that asked, not on its workers.


class Records:
    """The rows of the tests that passed, and those that did not run to their end."""

    def __init__(self, config: pytest.Config) -> None:
        self.config = config
        self.rows: list[Row] = []
        self.passed: set[str] = set()
        self.partly: set[str] = set()
        self.told: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        path, _, name = report.nodeid.partition("::")
        if not path.endswith(".py") or HERE.name not in Path(path).parts:
            return
        test = f"{Path(path).name}::{name.partition('[')[0]}"
        if report.when == "call" and report.passed:
            self.passed.add(test)
            self.rows += [Row(*row) for kind, row in report.user_properties if kind == "published"]
        elif not report.passed:
            self.partly.add(test)

    @pytest.hookimpl(tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if session.exitstatus not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED) or not self.rows:
            return
        whole = _all_ran(self.config) and session.exitstatus == pytest.ExitCode.OK
        fresh = self._fresh()
        if self.config.getoption("write_validation", default=False):
            self._write(fresh, whole)
        else:
            self.told = [] if _by_parts(self.config) else list(self._drift(fresh, whole))
        if self.told and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def _fresh(self) -> str:
        """The page anew; a test that was skipped here keeps its rows as they stand."""
        rows = merged(row for row in self.rows if row.test not in self.partly)
        return page_of(rows, UNCHECKED.read_text(encoding="utf-8"))

    def _write(self, fresh: str, whole: bool) -> None:
        if whole and not self.partly:
            PAGE.write_text(fresh, encoding="utf-8", newline="\n")
        else:
            self.told = ["The page is written by a run of all of tests/published in which every test passes."]

    def _drift(self, fresh: str, whole: bool) -> Iterator[str]:
        page = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
        kept = [key for key in rows_on(page) if key[0] in self.partly]
        for told in differences(page, fresh, self.passed - self.partly, whole):
            if not any(told.startswith("no test") and f"`{key[0]}`" in told for key in kept):
                yield told

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self.told:
            terminalreporter.section("tests/published/VALIDATION.md is not what the tests found", red=True)
            for line in self.told:
                terminalreporter.write_line(line)
            terminalreporter.write_line("If it is meant: python -m pytest tests/published --write-validation")


def _all_ran(config: pytest.Config) -> bool:
    """Whether nothing of this folder was left out by what was asked for."""
    folders = [(config.invocation_params.dir / arg.partition("::")[0]).resolve() for arg in config.args]
    return not _by_parts(config) and any(folder in (HERE, *HERE.parents) for folder in folders)


def _by_parts(config: pytest.Config) -> bool:
    """Whether single tests were picked: a row may then lack some of its values."""
    picked = ("keyword", "markexpr", "deselect", "ignore", "ignore_glob", "lf")
    return any(getattr(config.option, name, None) for name in picked) or any("::" in arg for arg in config.args)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--write-validation", action="store_true", help="Write tests/published/VALIDATION.md anew.")


def pytest_configure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(Records(config), "published records")
