"""Notches, transitions and one electrical transient against a general circuit simulator.

ngspice (https://ngspice.sourceforge.io), written for chips and not for cars: the nets are written out component by
component, the motors as a resistance and a source controlled by current and speed. Skipped where it is not installed.
"""

import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np
import pytest

from griddesign.grid.records import Branches, Run
from griddesign.traction.mechanics import accelerated_kg, motor_rad_s, rim_n_per_nm
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
    Transition,
)
from griddesign.traction.runup.records import Cases, NotchLog, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.table import CurveTable

SIMULATOR = "ngspice, a general circuit simulator"

pytestmark = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045), 0.01)
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 160.0), (100.0, 215.0, 381.0, 485.0, 575.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
SMALL_WHEEL = MotorOwn(0.80, resistance_ohm=0.45, emf_factor=0.97)
UNLIKE = replace(MOTOR, each=(MotorOwn(), SMALL_WHEEL))
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
OHMS = {"A": 1.63, "B": 1.36, "C": 0.8, "D": 0.58, "E": 0.27}
BRANCHED = Run(("C", Branches((Run(("D",)), Run(("E", "B"))))))
NOTCHES = [
    Notch("1", SERIES, Run(tuple(OHMS))),
    Notch("2", SERIES, BRANCHED),
    Notch("3", SERIES, Run()),
    Notch("4", PARALLEL, BRANCHED),
    Notch("5", PARALLEL, None, (Run(("D",)), Run(("E",)))),
    Notch("6", PARALLEL, Run(), field=0.7),
]
SHORTED = Transition("one motor shorted", 0.5, (Run(("C", "D")),))
BRIDGE = Transition("bridge", 0.5, (Run(("A",)), Run(("B",))))
EXACT = "set numdgt=12\noption reltol=1e-9 abstol=1e-12 vntol=1e-9 itl1=500 gmin=1e-15"
GRID_NODES: Mapping[str, tuple[str, ...]] = {
    "1": ("A x y1", "B y1 y2", "C y2 y3", "D y3 y4", "E y4 y"),
    "2": ("C x z", "D z y", "E z z1", "B z1 y"),
    "4": ("C x z", "D z y", "E z z1", "B z1 y"),
}


def never_warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, np.inf), np.zeros_like(t_c)


def start(motor: Motor, transition: Transition, notches: list[Notch] = NOTCHES) -> RunUp:
    one, column = np.ones(1), np.array(list(OHMS.values()))[:, None]
    cases = Cases(550 * one, column, 0 * column, 20 + 0 * column, 80 * one, 0.42 * one, 13500 * one)
    return run_up(LINE, CAR, motor, notches, tuple(OHMS), cases, never_warm, transition=transition)


def spice(deck: str, folder: Path) -> dict[str, float]:
    """The numbers ngspice prints, by name."""
    path = folder / "net.cir"
    path.write_text(f"* net\n{deck}\n.end\n", encoding="ascii")
    told = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60)
    lines = [line.split("=") for line in told.stdout.splitlines() if line.count("=") == 1]
    numbers = {}
    for name, value in lines:
        first = value.split()[:1]
        if first and first[0].lstrip("+-")[:1].isdigit():
            numbers[name.strip()] = float(first[0])
    return numbers


def emf(number: int, field: float, amps: str) -> str:
    """Emf of a motor for one rad/s of the common motor speed, as an expression in a current."""
    own = UNLIKE.each[number]
    factor = own.emf_factor * CAR.wheel_diameter_m / (own.wheel_diameter_m or CAR.wheel_diameter_m)
    return curve(CurveTable(POINTS), f"{field}*{amps}", factor)


def curve(table: CurveTable, amps: str, factor: float = 1.0) -> str:
    cells = []
    for knot, (constant, first, second, third) in zip(table.knots_a, table.cubics.T, strict=True):
        past = f"({amps}-{knot:.15g})"
        cells.append(f"({constant:.15g}+{past}*({first:.15g}+{past}*({second:.15g}+{past}*({third:.15g}))))")
    text = cells[-1]
    for cell, knot in zip(cells[-2::-1], table.knots_a[:0:-1], strict=True):
        text = f"({amps} < {knot:.15g} ? {cell} : {text})"
    return f"({factor:.15g}*{text})"


def motor(number: int, plus: str, minus: str, row: NotchLog, field: float = 1.0) -> str:
    """Ammeter, resistance and emf of one motor between two nodes."""
    ohms = UNLIKE.each[number].resistance_ohm or 0.42
    turning = motor_rad_s(CAR, float(row.arrive_m_s[0]))
    return (
        f"vm{number} {plus} m{number}a dc 0\nrm{number} m{number}a m{number}b {ohms}\n"
        f"bm{number} m{number}b {minus} v={turning:.15g}*{emf(number, field, f'i(vm{number})')}"
    )


def net(row: NotchLog, body: str) -> str:
    """A net between feeder and rail: node x is behind the feeder and its ammeter."""
    asked = ["vline", *(f"vm{number}" for number in (0, 1) if f"vm{number} " in body)]
    prints = "\n".join(f"print i({name})" for name in asked)
    source = f"vsupply s 0 dc 550\nvline s f dc 0\nrf f x {LINE.feeder_ohm}"
    return f"{source}\n{body}\n.control\n{EXACT}\nop\n{prints}\n.endc"


def resistors(places: tuple[str, ...]) -> str:
    return "\n".join(f"r{place} {OHMS[place.split()[0]]}" for place in places)


def held_against(row: NotchLog, body: str, folder: Path, checked) -> None:
    found = spice(net(row, body), folder)
    assert found["i(vline)"] == pytest.approx(float(row.line_peak_a[0]), rel=1e-7)
    assert row.motor_a is not None
    for number in (0, 1):
        assert found.get(f"i(vm{number})", 0.0) == pytest.approx(float(row.motor_a[number, 0]), rel=1e-7, abs=1e-9)
    checked(SIMULATOR, "line current, unlike motors", found["i(vline)"], row.line_peak_a[0], "A")


def test_notches_of_unlike_motors(tmp_path: Path, checked) -> None:
    rows = {row.name: row for row in start(UNLIKE, SHORTED).notches}
    in_series = {name: f"{motor(0, 'y', 'w', rows[name])}\n{motor(1, 'w', '0', rows[name])}" for name in "123"}
    side_by_side = {name: f"{motor(0, 'y', '0', rows[name])}\n{motor(1, 'y', '0', rows[name])}" for name in "4"}
    for name, motors in (in_series | side_by_side).items():
        grid = resistors(GRID_NODES[name]) if name in GRID_NODES else "vy x y dc 0"
        held_against(rows[name], f"{grid}\n{motors}", tmp_path, checked)
    own = f"rD x p 0.58\nrE x q 0.27\n{motor(0, 'p', '0', rows['5'])}\n{motor(1, 'q', '0', rows['5'])}"
    held_against(rows["5"], own, tmp_path, checked)
    weak = f"{motor(0, 'x', '0', rows['6'], 0.7)}\n{motor(1, 'x', '0', rows['6'], 0.7)}"
    held_against(rows["6"], weak, tmp_path, checked)


def test_one_motor_shorted(tmp_path: Path, checked) -> None:
    """The shorted motor is in the net too, its two ends joined: turning without flux it has no current."""
    (row,) = start(UNLIKE, SHORTED).transitions
    body = f"rC x y1 0.8\nrD y1 y 0.58\n{motor(0, 'y', 'w', row)}\n{motor(1, 'w', '0', row)}\nrshort w 0 1e-9"
    found = spice(net(row, body), tmp_path)
    assert found["i(vm0)"] == pytest.approx(float(row.peak_a[0]), rel=1e-7)
    assert found["i(vm1)"] == pytest.approx(0.0, abs=1e-6)
    assert found["i(vline)"] == pytest.approx(float(row.line_peak_a[0]), rel=1e-7)
    checked(SIMULATOR, "peak with one motor shorted", found["i(vm0)"], row.peak_a[0], "A")
    checked(SIMULATOR, "line current with one motor shorted", found["i(vline)"], row.line_peak_a[0], "A")


def test_the_bridge(tmp_path: Path, checked) -> None:
    """Section A goes in series with the first motor when the bridge opens: before, it lies beside the second."""
    (row,) = start(UNLIKE, BRIDGE).transitions
    body = f"rB x w 1.36\nrA w 0 1.63\n{motor(0, 'x', 'w', row)}\n{motor(1, 'w', '0', row)}"
    held_against(row, body, tmp_path, checked)


def test_the_bridge_open_is_each_motor_with_its_own_section(tmp_path: Path, checked) -> None:
    opened = [*NOTCHES[:3], Notch("4", PARALLEL, None, (Run(("A",)), Run(("B",))))]
    row = start(UNLIKE, BRIDGE, opened).notches[3]
    body = f"rA x p 1.63\nrB x q 1.36\n{motor(0, 'p', '0', row)}\n{motor(1, 'q', '0', row)}"
    held_against(row, body, tmp_path, checked)


@pytest.mark.parametrize("henry", [0.005, 0.015, 0.030])
def test_inductance_lowers_the_peak_by_what_is_said(henry: float, tmp_path: Path, checked) -> None:
    """From the second notch to the third, the car gathering way: an inductance in each motor, emf by current and speed.

    The quasi-static peak is an upper bound; the estimate lies up to 0.4 % above the simulated peak.
    """
    notches = [Notch("1", SERIES, Run(tuple(OHMS))), Notch("2", SERIES, Run(("C", "D", "E"))), NOTCHES[2]]
    run = start(replace(MOTOR, inductance_h=henry), SHORTED, notches)
    for left, row in zip(run.notches, run.notches[1:], strict=False):
        grid_ohm = {"2": 1.65, "3": 0.0}[row.name]
        amps = "i(vm)"
        k, per_m_s = curve(CurveTable(POINTS), amps), motor_rad_s(CAR, 1.0)
        resist_n = CAR.mass_kg * 0.045 + CAR.mass_kg * 9.80665 * 0.01 / np.hypot(1.0, 0.01)
        gathering = per_m_s / accelerated_kg(CAR)
        pull = f"{2.0 * rim_n_per_nm(CAR):.15g}*{k}*{amps}"
        begin, turning = float(left.leave_a[0]), motor_rad_s(CAR, float(row.arrive_m_s[0]))
        deck = (
            f"vs s 0 dc 550\nvm s a dc 0\nrt a b {grid_ohm + LINE.feeder_ohm + 0.84:.15g}\n"
            f"l1 b c {2.0 * henry} ic={begin:.15g}\nbe c 0 v=2*v(w)*{k}\n"
            f"cw w 0 1 ic={turning:.15g}\nbw 0 w i={gathering:.15g}*({pull}-{resist_n:.15g})\n"
            ".control\nset numdgt=12\noption reltol=1e-6\ntran 50u 0.6 0 100u uic\n"
            "meas tran peak MAX i(vm)\nmeas tran later FIND i(vm) AT=0.6\nprint peak\n.endc"
        )
        found = spice(deck, tmp_path)["peak"]
        quasi_static = float(row.peak_a[0])
        assert row.inductive_a is not None
        assert found <= quasi_static
        assert found * (1.0 - 1e-4) <= float(row.inductive_a[0]) <= found * 1.004
        assert quasi_static - found < 0.05 * quasi_static
    checked(SIMULATOR, f"peak with an inductance of {henry} H, estimate", found, row.inductive_a[0], "A")
