"""The page of what is checked against what cannot drift from the tests: its arithmetic, and tried on a small folder."""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

PUBLISHED = Path(__file__).resolve().parents[1] / "published"
TESTS = '''"""Weights of a few things, after A. Author. The rest is not shown."""
import pytest

@pytest.mark.parametrize("kg", [{kg}, 20.0])
def test_weight(kg, checked):
    checked("A. Author, Weights (1901), p. 7", "mass | of a lump", 10.0 if kg < 15 else 20.0, kg, "kg")

def test_length(checked):
    {skip}
    checked("A. Author, Lengths (1902)", "lengths", (1.0, 2.0), [1.0, 2.0 + 1e-13])
'''
MASS = "| A. Author, Weights (1901), p. 7 | mass / of a lump, worst of 2 | 10 kg | {} kg | {} % |"


@pytest.fixture(scope="module")
def page() -> ModuleType:
    spec = importlib.util.spec_from_file_location("published_page", PUBLISHED / "conftest.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def drift(
    page: ModuleType, old: list[object], new: list[object], whole: bool = True, ran: str = "t.py::a"
) -> list[str]:
    written, found = (page.page_of(page.merged(rows), "## Not validated\nmuch") for rows in (old, new))
    return list(page.differences(written, found, {ran}, whole))


def row(page: ModuleType, value: float = 2.0, ours: float = 2.002, what: str = "mass", unit: str = "kg") -> object:
    return page.Row("Weights", "A. Author (1901)", what, value, ours, unit, "t.py::a")


def test_another_machine_is_no_drift_and_a_formula_is(page: ModuleType) -> None:
    assert drift(page, [row(page)], [row(page)]) == []
    assert drift(page, [row(page)], [row(page, ours=2.002 * (1 + 1e-7))]) == []
    assert drift(page, [row(page, ours=2.0)], [row(page, ours=2.0 + 4e-16)]) == []
    for other in (row(page, ours=2.0022), row(page, value=2.001), row(page, unit="lb"), row(page, ours=2.0)):
        assert len(drift(page, [row(page)], [other])) == 1


def test_rows_that_come_and_go(page: ModuleType) -> None:
    one, two = row(page), row(page, what="length")
    assert "not on the page" in drift(page, [one], [one, two])[0]
    assert "no test records any more" in drift(page, [one, two], [one])[0]
    assert drift(page, [one, two], [one], whole=False, ran="t.py::b") == [], "its test did not run"
    assert len(drift(page, [one, one], [one])) == 2, "one value fewer in the row"


def test_the_worst_of_several_does_not_hang_on_rounding_noise(page: ModuleType) -> None:
    noisy = [[row(page, value, value * (1 + tilt * value)) for value in (1.0, 2.0, 3.0)] for tilt in (1e-16, -3e-16)]
    assert [page.merged(rows)[0].value for rows in noisy] == [1.0, 1.0]
    (worst,) = page.merged([row(page), row(page, ours=1.9), row(page, ours=2.001)])
    assert (worst.ours, worst.count, page.shown(worst.deviation)) == (1.9, 3, "-5 %")


def test_the_page_as_it_stands_is_read_back(page: ModuleType) -> None:
    text = (PUBLISHED / "VALIDATION.md").read_text(encoding="utf-8")
    rows = page.rows_on(text)
    assert len(rows) > 100
    assert all(page.agree(cells, cells) for cells in rows.values())
    assert text.rstrip().endswith((PUBLISHED / "NOT_VALIDATED.md").read_text(encoding="utf-8").rstrip())
    tests = {key[0] for key in rows}
    for name in tests:
        file, _, test = name.partition("::")
        assert f"def {test}(" in (PUBLISHED / file).read_text(encoding="utf-8"), name


def run(folder: Path, *more: str) -> tuple[int, str]:
    words = [sys.executable, "-m", "pytest", "-q", "-p", "xdist", "-p", "no:cacheprovider", "published", *more]
    alone = {**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    told = subprocess.run(words, cwd=folder, env=alone, capture_output=True, text=True, check=False, timeout=120)
    return told.returncode, told.stdout + told.stderr


def weights_of(folder: Path, kg: float = 10.1234, skip: str = "pass") -> None:
    (folder / "published" / "test_weights.py").write_text(TESTS.format(kg=kg, skip=skip), encoding="utf-8")


def test_a_page_that_drifts_fails_the_run_and_workers_tell(tmp_path: Path) -> None:
    own = tmp_path / "published"
    own.mkdir()
    for name in ("conftest.py", "NOT_VALIDATED.md"):
        shutil.copy(PUBLISHED / name, own)
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    weights_of(tmp_path)
    assert run(tmp_path, "--write-validation")[0] == 0
    page = (own / "VALIDATION.md").read_text(encoding="utf-8")
    assert "## Weights of a few things, after A. Author\n" in page
    assert MASS.format("10.1234", "+1.2") in page
    weights_of(tmp_path, skip="pytest.skip('no simulator here')")
    assert run(tmp_path)[0] == 0, "what was skipped keeps its rows"
    weights_of(tmp_path, kg=10.13)
    code, said = run(tmp_path, "-n", "2")
    assert code == 1 and "3 passed" in said
    assert MASS.format("10.13", "+1.3").lstrip("| ") in said
