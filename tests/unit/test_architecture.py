"""The house keeps its order: imports run one way, and help stays light."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import griddesign

PACKAGE = Path(griddesign.__file__).parent
FLOORS = {
    "errors": 0, "figures": 0, "given_file": 0, "progress": 0, "shipped": 0, "telling": 0, "units": 1,
    "metals": 1, "plate": 2, "grid": 3, "nest": 3, "traction": 4, "heat": 4, "retaps": 4, "job": 5, "found": 6,
    "choose": 6, "judge": 7, "verify": 8, "papers": 9, "cli": 10, "__main__": 11, "__init__": 0,
}  # fmt: skip
HEAVY = {"numpy", "scipy", "pint", "ezdxf", "reportlab", "shapely"}


def room(module: str) -> str:
    return module.split(".")[1] if "." in module else "__init__"


def imports_of(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return {name for name in found if name == "griddesign" or name.startswith("griddesign.")}


def test_imports_run_downwards_only() -> None:
    upward = []
    for path in PACKAGE.rglob("*.py"):
        relative = path.relative_to(PACKAGE)
        own = relative.parts[0].removesuffix(".py")
        upward += [
            f"{relative} -> {name}"
            for name in imports_of(path)
            if FLOORS[room(name) if room(name) in FLOORS else "__init__"] > FLOORS[own]
        ]
    assert upward == []


def test_only_the_units_door_imports_pint() -> None:
    importers = {
        path.relative_to(PACKAGE).parts[0]
        for path in PACKAGE.rglob("*.py")
        if re.search(r"^\s*(import|from) pint", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert importers == {"units"}


def test_help_loads_click_and_nothing_heavy() -> None:
    script = (
        "import sys\nfrom griddesign.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted({name.split('.')[0] for name in sys.modules}), file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = set(ast.literal_eval(run.stderr.strip().splitlines()[-1]))
    assert "design" in run.stdout
    assert not loaded & HEAVY


def test_the_papers_of_a_plain_job_load_nothing_that_only_other_jobs_need() -> None:
    seldom = (
        "grid.contacts", "heat.fit", "job.braking", "job.calibration", "judge.faults.networked", "judge.scatter",
        "judge.brak", "nest.", "plate.foreign", "plate.outlined", "plate.replacement", "traction.braking",
        "traction.network", "traction.runup.inductive", "traction.runup.fields", "traction.runup.networked", "verify",
    )  # fmt: skip
    script = "import sys\nimport griddesign.cli.design\nprint([name for name in sys.modules if 'griddesign' in name])"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = ast.literal_eval(run.stdout)
    assert "griddesign.judge.work" in loaded
    assert [name for name in loaded if name.startswith(tuple(f"griddesign.{room}" for room in seldom))] == []


def test_no_module_is_longer_than_400_lines() -> None:
    lengths = {
        str(path.relative_to(PACKAGE)): len(path.read_text(encoding="utf-8").splitlines())
        for path in PACKAGE.rglob("*.py")
    }
    assert {name: length for name, length in lengths.items() if length > 400} == {}


def test_the_design_of_a_plain_job_loads_no_field_solver() -> None:
    """Its bends and eyes are tabled: the solver would cost more to load than they are worth."""
    script = (
        "import sys\nfrom griddesign.job.reading import read_job\nfrom griddesign.judge.work import result_of\n"
        "from griddesign.shipped import examples_folder\nresult_of(read_job(examples_folder() / 'demo.toml'))\n"
        "print(list(sys.modules))"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = ast.literal_eval(run.stdout)
    assert [name for name in loaded if name.startswith(("shapely", "griddesign.plate.field"))] == []
