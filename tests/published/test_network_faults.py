"""Notches that are networks with a fault in the grid, or with a motor cut out, against a general circuit simulator.

The simulator is given terminals, leads and contacts of the example's chart, open things as 1e12 ohm, bridged ones as
1e-9 ohm, and a motor's emf as a source that follows its own current.
"""

import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from griddesign.grid.contacts.network import Joined, links
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.cut_out import cut_out_of
from griddesign.judge.faults.bank import faults
from griddesign.judge.faults.networked import NetworkEffect
from griddesign.judge.faults.records import Bank, Fault
from griddesign.judge.faults.sources import drive_of
from griddesign.judge.runup import Starter, starter
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.shipped import examples_folder
from griddesign.traction.mechanics import motor_rad_s
from griddesign.traction.runup.table import CurveTable, curve_table

SPICE = "ngspice, a general circuit simulator"
pytestmark = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")
OPEN, BRIDGED = 1e12, 1e-9


@pytest.fixture(scope="module")
def ready() -> Starter:
    return starter(read_job(examples_folder() / "odd-controller.toml"))


def emf_words(table: CurveTable, turning: float, sense: str) -> str:
    """``n k(I)`` for the simulator: cubics from point to point, nested by the amount of the current."""
    amount, words = f"abs(i({sense}))", f"{table.cubics[0, -1]:.17g}"
    for knot, end, cubic in list(zip(table.knots_a, table.knots_a[1:], table.cubics[:, :-1].T, strict=False))[::-1]:
        past = f"({amount}-{knot:.17g})"
        c0, c1, c2, c3 = (f"{one:.17g}" for one in cubic)
        words = f"({amount}<{end:.17g} ? {c0}+{past}*({c1}+{past}*({c2}+{past}*{c3})) : {words})"
    return f"{turning:.17g}*sgn(i({sense}))*{words}"


def simulated(
    job: Job, place: int, ohm: Mapping[str, float], turning: float, tmp_path: Path, bridged: tuple[str, ...] = ()
) -> tuple[float, dict[str, float]]:
    """Current from line and of every element on a notch; a motor of ``OPEN`` ohms has no emf worth telling."""
    assert job.chart is not None and job.line is not None and job.motor is not None
    read, node = job.chart.read, {"ground": "0"}

    def named(point: str) -> str:
        return node.setdefault(point, f"n{len(node)}")

    lines = [f"vsource far 0 dc {job.line.nominal_v}", f"rfeeder far {named('line')} {job.line.feeder_ohm}"]
    joined = Joined()
    for points in links(read.chart, read.chart.notches[place][1]):
        for other in points[1:]:
            if joined.top(points[0]) != joined.top(other):
                joined.join((points[0], other))
                lines.append(f"vc{len(lines)} {named(points[0])} {named(other)} dc 0")
    asked, table = ["print i(vsource)"], curve_table(job.motor.magnetisation, 1.0, 1.0)
    for number, element in enumerate(read.elements):
        far = f"f{number}" if element.motor else named(element.b)
        lines.append(f"ve{number} {named(element.a)} e{number} dc 0")
        lines.append(f"r{number} e{number} {far} {ohm[element.name]:.17g}")
        if element.motor:
            lines.append(f"b{number} {far} {named(element.b)} v = {emf_words(table, turning, f've{number}')}")
        if element.name in bridged:
            lines.append(f"rb{number} {named(element.a)} {named(element.b)} {BRIDGED}")
        asked.append(f"print i(ve{number})")
    lines += [f"rleak{number} {name} 0 1e12" for number, name in enumerate(sorted(set(node.values()) - {"0"}))]
    options = "set numdgt=15\noption reltol=1e-10 abstol=1e-12 vntol=1e-10 gmin=1e-15 itl1=2000"
    path = tmp_path / "notch.cir"
    deck = "\n".join(["* notch", *lines, ".control", options, "op", *asked, ".endc", ".end", ""])
    path.write_text(deck, encoding="ascii")
    run = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60)
    found = [float(line.split("=")[1]) for line in run.stdout.splitlines() if line.count("=") == 1]
    return -found[0], dict(zip((one.name for one in read.elements), found[1:], strict=True))


def bank() -> Bank:
    """Twenty-six plates in two boxes, the last two of E side by side; every lead reaches every joint."""
    plates = [PlateAtHand(1, number, "P", 0.2) for number in range(1, 14)]
    plates += [PlateAtHand(2, number, "P", 0.17, joined=1 if number > 11 else 0) for number in range(1, 14)]
    joints = (0, 9, 15, 17, 21, 21, 26)
    names = ("start of A", "A/B", "B/C", "C/D", "end of D", "start of E", "end of E")
    return Bank(PlatesAtHand(tuple(plates)), tuple(zip(names, joints, strict=True)), tuple("ABCDE"), 2)


FAULTS = (
    "a plate of B open", "a plate of D open", "one of 2 plates side by side of E open", "two neighbours of C touching",
    "lead B/C one joint off: after plate 16, not 15", "boxes 1 and 2 swapped",
)  # fmt: skip


@pytest.mark.parametrize("what", FAULTS)
def test_notches_with_a_fault_agree_with_a_circuit_simulator(
    ready: Starter, what: str, tmp_path: Path, checked
) -> None:
    """Leaving the notch before each network at the valley current, and arriving at it at that speed; motors cold, and
    what the arrival drops hot."""
    job, drive = ready.job, drive_of(ready.job, ready.worked)
    assert drive is not None
    drive = replace(drive, hot_ratio={"A": 1.1, "B": 1.2, "C": 1.3, "D": 1.15, "E": 1.25})
    fault: Fault = next(one for one in faults(bank()) if one.what == what)
    effect = NetworkEffect(fault, job.notches, drive, drive.motor)
    theirs, ours = [], []
    for place in (2, 4):
        one = effect.arrivals[place]
        cold = {name: effect.finite.get(name, OPEN) for name in "ABCDE"}
        hot = {name: ohm * (drive.hot_ratio[name] if name in one.hot else 1.0) for name, ohm in cold.items()}
        every = {**hot, "resistor S": 1.8, "motor 1": drive.cold_ohm, "motor 2": drive.cold_ohm}
        line_a, each = simulated(job, place, every, one.turning_rad_s, tmp_path)
        amps = [abs(each[f"motor {number}"]) for number in (1, 2)]
        assert line_a == pytest.approx(one.line_a, rel=1e-6)
        assert max(amps) == pytest.approx(one.peak_a, rel=1e-6)
        if one.left >= 0:
            _, each = simulated(job, one.left, every, one.turning_rad_s, tmp_path)
            assert np.mean([abs(each[f"motor {number}"]) for number in (1, 2)]) == pytest.approx(80.0, rel=1e-6)
        idle = [number for number, amp in enumerate(amps, start=1) if amp < 1e-6]
        assert effect.lost(place) == tuple(idle)
        theirs.append(max(amps))
        ours.append(one.peak_a)
    checked(SPICE, "peaks on notches that are networks, a fault in the grid", theirs, ours, "A")


def test_a_motor_cut_out_of_networks_agrees_with_a_circuit_simulator(ready: Starter, tmp_path: Path, checked) -> None:
    """Motor 2 bridged behind the grid of notch 3, open beside the other on notch 5, at the speeds of the run."""
    found, job = cut_out_of(ready), ready.job
    assert found is not None and job.car is not None
    ohm = {**ready.whole_ohm, "resistor S": 1.8, "motor 1": 0.42, "motor 2": 0.42}
    theirs, ours = [], []
    for place, how in ((2, {"bridged": ("motor 2",)}), (4, {})):
        log = found.run.notches[place]
        turning = motor_rad_s(job.car, float(log.arrive_m_s[0]))
        every = ohm if how else {**ohm, "motor 2": OPEN}
        line_a, each = simulated(job, place, every, turning, tmp_path, **how)
        assert each["motor 1"] == pytest.approx(float(log.peak_a[0]), rel=1e-6)
        assert line_a == pytest.approx(float(log.line_peak_a[0]), rel=1e-6)
        assert abs(each["motor 2"]) < 1e-3
        theirs.append(line_a)
        ours.append(float(log.line_peak_a[0]))
    checked(SPICE, "current from line of networks with a motor cut out", theirs, ours, "A")
