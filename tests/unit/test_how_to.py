"""What ``tests/how_to.md`` says to do is done here to a copy of the package, and the copy run."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HOW_TO = (ROOT / "tests" / "how_to.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```\w+\n# (?P<file>\S+?)(?:, after: (?P<line>[^\n]+))?\n(?P<text>.*?\n)```", HOW_TO, re.DOTALL)


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy with every block of the page written into it."""
    folder = tmp_path_factory.mktemp("copy")
    for name in ("griddesign", "materials", "examples"):
        shutil.copytree(ROOT / name, folder / name)
    for name, line, text in BLOCKS:
        path = folder / name
        if not line:
            assert not path.exists(), name
            path.write_text(text, encoding="utf-8")
            continue
        before = path.read_text(encoding="utf-8")
        (there,) = [each for each in before.splitlines(keepends=True) if each.strip() == line]
        path.write_text(before.replace(there, there + text), encoding="utf-8")
    return folder


def python(folder: Path, *words: str) -> str:
    told = subprocess.run([sys.executable, *words], cwd=folder, capture_output=True, check=False, timeout=120)
    assert told.returncode == 0, told.stderr.decode("utf-8", "replace")
    return told.stdout.decode("utf-8", "replace")


def test_the_page_has_what_it_promises() -> None:
    assert [name for name, line, _ in BLOCKS if not line] == [
        "materials/metals/shop_iron.toml",
        "griddesign/cli/weigh.py",
        "griddesign/papers/sheets/bolting.py",
        "griddesign/plate/bar.py",
    ]
    assert len(BLOCKS) == HOW_TO.count("```") // 2 == 7
    assert all(len([row for row in text.splitlines() if row]) <= 16 for _, _, text in BLOCKS), "about ten lines each"


def test_a_metal(copy: Path) -> None:
    """Found by name, shown, and used by a plate in the place of another: ohms go as the resistivity, 88 to 85."""
    assert "Grey iron of our own foundry" in python(copy, "-m", "griddesign", "metals", "shop_iron")
    script = (
        "from griddesign.metals import metal; from griddesign.plate.ohms import plate_figures;"
        "from griddesign.job.reading import read_job; from griddesign.shipped import examples_folder as ex;"
        "s = read_job(ex() / 'demo.toml').plates[0].shape;"
        "a, b = (plate_figures(s, metal(k), 'cast').cold_ohm for k in ('shop_iron', 'grey_iron_class30'));"
        "print(a / b, metal('grey_iron_class30').resistivity.value, metal('shop_iron').resistivity.weak)"
    )
    ratio, other, weak = python(copy, "-c", script).split()
    assert float(ratio) == pytest.approx(88e-8 / float(other), rel=1e-12)
    assert weak == "True"


def test_a_command(copy: Path) -> None:
    assert "the mass of every plate" in python(copy, "-m", "griddesign", "--help")
    assert re.fullmatch(r"P: \d\.\d+ kg\s+", python(copy, "-m", "griddesign", "weigh", "examples/demo.toml"))


def test_a_sheet(copy: Path) -> None:
    """In its place of the set, and alone when asked for; the sheet is for the bench."""
    from pypdf import PdfReader

    script = (
        "from griddesign.job.reading import read_job; from griddesign.judge.work import result_of;"
        "from griddesign.papers.whole_set import files_of; from pathlib import Path;"
        "files = files_of(result_of(read_job(Path('examples/demo.toml'))), only='bolting');"
        "print(*files); Path('bolting.pdf').write_bytes(files['all.pdf'])"
    )
    assert "bench/" in python(copy, "-c", script)
    text = "".join(page.extract_text() for page in PdfReader(copy / "bolting.pdf").pages)
    assert "Tighten cold, again after the first warm run." in " ".join(text.split())
    assert "Bolting sheet" in text and "LETHAL VOLTAGE" in text


def test_a_plate_family(copy: Path) -> None:
    """100 mm more of a bar 20 mm wide are 5 squares more, exactly; through the cutter's file the ohms are the same."""
    script = (
        "from griddesign.plate.bar import bar_outline; from griddesign.plate.field import squares_of_outline;"
        "from griddesign.papers.cut_dxf import cut_dxf; from pathlib import Path;"
        "short, long = bar_outline(0.2, 0.02, 0.01), bar_outline(0.3, 0.02, 0.01);"
        "Path('bar.dxf').write_bytes(cut_dxf(short));"
        "print(*(squares_of_outline(each, None, 1e-4).value for each in (short, long)))"
    )
    short, long = map(float, python(copy, "-c", script).split())
    assert long - short == pytest.approx(5.0, abs=2e-3)
    words = ("plate", "bar.dxf", "--metal", "copper", "--thickness", "5 mm", "--json")
    import json

    plate = json.loads(python(copy, "-m", "griddesign", *words))
    assert f"{1.7241e-8 * short / 0.005:.3g}" == f"{found_ohm(plate):.3g}"


def found_ohm(plate: dict[str, object]) -> float:
    """``cold_ohm`` wherever in the answer it stands."""
    for key, value in plate.items():
        if key == "cold_ohm":
            return float(value)  # type: ignore[arg-type]
        if isinstance(value, dict) and (inner := found_ohm(value)):
            return inner
    return 0.0
