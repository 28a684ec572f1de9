"""Contact charts against a general circuit simulator, and networks whose ohms are published.

ngspice (https://ngspice.sourceforge.io) gets the terminals, leads and contacts as written: every closed contact and
every lead a voltage source of 0 V, so that it does the joining itself. A spanning set of them only, since a ring of
such sources has no one answer. Skipped where it is not installed.
"""

import random
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import pytest

from griddesign.grid.contacts.network import Joined, links
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, Element, MotorOhms, Net
from griddesign.grid.contacts.reduce import series_parallel
from griddesign.grid.contacts.solve import Networks

SPICE = "ngspice, a general circuit simulator"
STEENWIJK = "F. J. van Steenwijk, Am. J. Phys. 66 (1998) 90, table (page from memory)"

needs_ngspice = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")

SECTIONS = tuple("ABCDEFGH")
TAPS = ("start of A", *(f"{a}/{b}" for a, b in pairwise(SECTIONS)), "end of H")
MOTORS = tuple(f"motor {number} {part} {end}" for number in (1, 2) for part in ("armature", "field") for end in (1, 2))
LEADS = {f"t{number}": (thing,) for number, thing in enumerate(("line", "ground", *TAPS, *MOTORS))}


def lead_to(thing: str) -> str:
    return next(name for name, (node,) in LEADS.items() if node == thing)


BRIDGE = tuple(
    tuple(map(lead_to, group))
    for group in (
        ("line", "start of A", "D/E"),
        ("ground", "B/C"),
        ("A/B", "motor 1 armature 1"),
        ("motor 1 armature 2", "motor 1 field 1"),
        ("motor 1 field 2", "C/D"),
    )
)


def charts(seed: int) -> Chart:
    """A chart of twelve notches that join things at random, and one with motor 1 across a bridge of A, B, C and D."""
    dice = random.Random(seed)
    names = sorted(LEADS)
    notches = []
    for number in range(12):
        ends = [("t0", dice.choice(names)), ("t1", dice.choice(names))]
        more = [tuple(dice.sample(names, dice.choice((2, 2, 3)))) for _ in range(dice.randint(3, 9))]
        notches.append((str(number), tuple(ends + more)))
    return Chart(SECTIONS, 2, LEADS, (*notches, ("bridge", BRIDGE)))


def deck(read: ChartRead, place: int, ohm: dict[str, float]) -> str:
    """The notch written out for the simulator, 1 A into the line."""
    node: dict[str, str] = {"ground": "0"}

    def named(point: str) -> str:
        return node.setdefault(point, f"n{len(node)}")

    lines, joined = ["isource 0 n_line dc 1", "vline n_line " + named("line") + " dc 0"], Joined()
    contacts = 0
    for points in links(read.chart, read.chart.notches[place][1]):
        for other in points[1:]:
            if joined.top(points[0]) != joined.top(other):
                joined.join((points[0], other))
                lines.append(f"vc{contacts} {named(points[0])} {named(other)} dc 0")
                contacts += 1
    asked = ["print v(n_line)"]
    for number, element in enumerate(read.elements):
        lines.append(f"ve{number} {named(element.a)} e{number} dc 0")
        lines.append(f"r{number} e{number} {named(element.b)} {ohm[element.name]:.17g}")
        asked.append(f"print i(ve{number})")
    lines += [f"rleak{number} {name} 0 1e15" for number, name in enumerate(sorted(set(node.values()) - {"0"}))]
    options = "set numdgt=15\noption reltol=1e-12 abstol=1e-18 vntol=1e-15 gmin=1e-18"
    return "\n".join([*lines, ".control", options, "op", *asked, ".endc"])


def spice(text: str, folder: Path) -> list[float]:
    path = folder / "chart.cir"
    path.write_text(f"* chart\n{text}\n.end\n", encoding="ascii")
    told = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60)
    return [float(line.split("=")[1]) for line in told.stdout.splitlines() if line.count("=") == 1]


@needs_ngspice
def test_random_charts_agree_with_a_circuit_simulator(tmp_path: Path, checked) -> None:
    """Thirteen notches to a chart, eight sections, armatures and fields apart: ohms and every current within 1e-9."""
    compared = bridges = 0
    theirs, ours = [], []
    for seed in range(10):
        read, dice = ChartRead(charts(seed), MotorOhms(0.42, 0.27, 0.15)), random.Random(seed + 100)
        ohm = read.known({name: round(dice.uniform(0.05, 3.0), 3) for name in SECTIONS})
        solved = read.solve(ohm)
        for place in (place for place, net in enumerate(read.nets) if net.live):
            found = spice(deck(read, place, ohm), tmp_path)
            assert found[0] == pytest.approx(float(solved.terminal_ohm[place]), rel=1e-9)
            assert found[1:] == pytest.approx(list(solved.share[place]), abs=1e-9)
            theirs.append(found[0])
            ours.append(solved.terminal_ohm[place])
            compared += 1
            bridges += series_parallel(read.elements, read.nets[place]) is None
    assert compared > 40
    assert bridges >= 10
    checked(SPICE, "ohms of contact charts joined at random", theirs, ours, "ohm")


CUBE = tuple((a, b) for a in range(8) for b in range(8) if a < b and (a ^ b) in (1, 2, 4))
OCTAHEDRON = tuple((a, b) for a in range(6) for b in range(6) if a < b and a + b != 5)
TETRAHEDRON = tuple((a, b) for a in range(4) for b in range(4) if a < b)


@pytest.mark.parametrize(
    ("edges", "ends", "ohm"),
    [
        (CUBE, (0, 1), 7 / 12),
        (CUBE, (0, 3), 3 / 4),
        (CUBE, (0, 7), 5 / 6),
        (OCTAHEDRON, (0, 1), 5 / 12),
        (OCTAHEDRON, (0, 5), 1 / 2),
        (TETRAHEDRON, (0, 1), 1 / 2),
    ],
)
def test_polyhedra_of_one_ohm_edges(
    edges: tuple[tuple[int, int], ...], ends: tuple[int, int], ohm: float, checked
) -> None:
    """F. J. van Steenwijk, Equivalent resistors of polyhedral resistive structures, Am. J. Phys. 66 (1998) 90, table
    for tetrahedron, cube and octahedron (page of the table from memory). None of them is series-parallel."""
    elements = tuple(Element(f"e{number}", "section", "", "") for number in range(len(edges)))
    net = Net("1", *ends, edges, tuple(range(len(edges))), ())
    solved = Networks.of(elements, (net,)).solve(dict.fromkeys((one.name for one in elements), 1.0))
    assert float(solved.terminal_ohm[0]) == pytest.approx(ohm, rel=1e-14)
    checked(STEENWIJK, "tetrahedron, cube, octahedron of one-ohm edges", ohm, float(solved.terminal_ohm[0]), "ohm")
