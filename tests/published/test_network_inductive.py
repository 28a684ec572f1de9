"""Peaks of networks with inductance in the motors, against transients of a general circuit simulator."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from griddesign.grid.contacts.records import MotorIn, Network, Wire
from griddesign.grid.records import Run
from griddesign.judge.plate_tables import constant_ohms
from griddesign.traction.mechanics import accelerated_kg, motor_rad_s, rim_n_per_nm
from griddesign.traction.records import Car, Grouping, Line, MagnetisationPoints, Motor, Notch, RunningResistance
from griddesign.traction.runup.inductive import peaks_together_a
from griddesign.traction.runup.records import Cases
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.table import curve_table
from griddesign.traction.runup.transient import inductive_peak_a

SPICE = "ngspice, a general circuit simulator"
POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0, 280.0), (100.0, 215.0, 381.0, 485.0, 550.0, 660.0))
LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045), 0.0)
OHMS = {"A": 1.9, "B": 0.5, "C": 0.25, "D": 1.15}


def section(name: str, a: int, b: int) -> Wire:
    return Wire(name, "section", a, b)


def motor(number: int, a: int, b: int) -> Wire:
    return Wire(f"motor {number}", "motor", a, b, number, 1.0)


UNLIKE = Network(
    (section("B", 1, 2), section("C", 2, 3), section("D", 2, 4), motor(1, 3, 0), motor(2, 4, 0)), 5,
    (MotorIn(1, 3), MotorIn(2, 4)), "a common grid and grids in the strings",
)  # fmt: skip
LENGTHS = Network(
    (section("B", 1, 2), motor(1, 2, 3), motor(2, 3, 0), section("D", 2, 4), section("C", 4, 5), motor(3, 5, 0)), 6,
    (MotorIn(1, 1), MotorIn(2, 2), MotorIn(3, 5)), "strings of unlike length",
)  # fmt: skip


def start(network: Network, henry: float):
    """All motors in series on A, then the network."""
    motors = len(network.motors)
    notches = [
        Notch("1", Grouping(motors, 1), Run(("A",))),
        Notch("2", Grouping(1, motors), None, network=network),
    ]
    shape, names = (len(OHMS), 1), tuple(OHMS)
    cases = Cases(
        np.full(1, LINE.nominal_v), np.array(list(OHMS.values()))[:, None], np.zeros(shape), np.full(shape, 20.0),
        np.full(1, 70.0), np.full(1, 0.42), np.full(1, CAR.mass_kg),
    )  # fmt: skip
    return run_up(
        LINE, CAR, Motor(motors, 0.42, 75.0, POINTS, inductance_h=henry), notches, names, cases, constant_ohms
    )


def curve_words(amps: str) -> str:
    """``k`` of the amount of a current for the simulator: cubics from point to point."""
    table = curve_table(POINTS, 1.0, 1.0)
    words = f"{table.cubics[0, -1]:.12g}"
    for knot, end, cubic in list(zip(table.knots_a, table.knots_a[1:], table.cubics[:, :-1].T, strict=False))[::-1]:
        past = f"({amps}-{knot:.12g})"
        c0, c1, c2, c3 = (f"{one:.12g}" for one in cubic)
        words = f"({amps}<{end:.12g} ? {c0}+{past}*({c1}+{past}*({c2}+{past}*{c3})) : {words})"
    return words


def simulated(network: Network, run, henry: float, tmp_path: Path) -> float:
    """The highest current of a motor after notching up: inductances that carry what they did, the car's speed a volt
    of ``w``."""
    left, row = run.notches
    begin, turning = float(left.leave_a[0]), motor_rad_s(CAR, float(row.arrive_m_s[0]))
    lines, pulls, asked = [f"vs far 0 dc {LINE.nominal_v}", f"rf far n1 {LINE.feeder_ohm}"], [], []
    for wire in network.wires:
        a, b = (f"n{node}" if node else "0" for node in (wire.a, wire.b))
        if not wire.motor:
            lines.append(f"r{wire.name} {a} {b} {OHMS[wire.name]}")
            continue
        own, amps = f"m{wire.motor}", f"abs(i(v{wire.motor}))"
        k = curve_words(amps)
        lines += [
            f"v{wire.motor} {a} {own}a dc 0", f"r{own} {own}a {own}b 0.42",
            f"l{own} {own}b {own}c {henry} ic={begin:.15g}", f"b{own} {own}c {b} v = v(w)*sgn(i(v{wire.motor}))*{k}",
        ]  # fmt: skip
        pulls.append(f"{k}*{amps}")
        asked.append(f"meas tran peak{wire.motor} MAX i(v{wire.motor})")
    gathering = motor_rad_s(CAR, 1.0) / accelerated_kg(CAR)
    force = f"{rim_n_per_nm(CAR):.15g}*({'+'.join(pulls)})-{0.045 * CAR.mass_kg:.15g}"
    lines += [f"cw w 0 1 ic={turning:.15g}", f"bw 0 w i = {gathering:.15g}*({force})"]
    options = "set numdgt=12\noption reltol=1e-7\ntran 50u 0.5 0 50u uic"
    path = tmp_path / "transient.cir"
    text = ["* transient", *lines, ".control", options, *asked, ".endc", ".end", ""]
    path.write_text("\n".join(text), encoding="ascii")
    run = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60)
    found = [line.split("=")[1].split()[0] for line in run.stdout.splitlines() if line.startswith("peak")]
    assert len(found) == len(network.motors), run.stdout + run.stderr
    return max(map(float, found))


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")
@pytest.mark.parametrize("henry", [0.005, 0.02])
@pytest.mark.parametrize("network", [UNLIKE, LENGTHS], ids=["unlike strings", "unlike lengths"])
def test_inductance_lowers_the_peak_of_a_network_by_what_is_said(
    network: Network, henry: float, tmp_path: Path, checked
) -> None:
    """From motors in series to the network in no time. The estimate goes by the flux curve's slope on arriving. Of
    unlike strings the peak is lower; of strings of unlike length the short one, quicker, passes its quasi-static peak.
    """
    run = start(network, henry)
    row, found = run.notches[1], simulated(network, run, henry, tmp_path)
    assert row.inductive_a is not None
    quasi_static, ours = float(row.peak_a[0]), float(row.inductive_a[0])
    print(quasi_static, found, ours)
    assert (found > quasi_static) == (ours > quasi_static) == (network is LENGTHS)
    assert ours == pytest.approx(found, rel=4e-3)
    checked(SPICE, f"peak of networks with an inductance of {henry} H, estimate", found, ours, "A")


def test_one_string_is_what_the_closed_form_of_a_string_says() -> None:
    """One motor, and two in series, whose matrix makes nothing of a difference between them."""
    arrive, left, falls, tau = (np.array([one]) for one in (150.0, 80.0, 40.0, 0.03))
    expected = inductive_peak_a(arrive, left, falls, tau)
    single = peaks_together_a(*(one[:, None] for one in (arrive, left, falls)), tau[:, None, None])
    assert single[:, 0] == pytest.approx(expected, rel=1e-7)
    pair = [np.repeat(one[:, None], 2, axis=1) for one in (arrive, left, falls)]
    both = peaks_together_a(*pair, np.full((1, 2, 2), 0.5 * tau[0]))
    assert both == pytest.approx(np.full((1, 2), expected[0]), rel=1e-7)


def test_a_current_that_falls_on_arriving_or_rises_after_is_told_as_it_is() -> None:
    arrive, left = np.array([[120.0, 90.0]]), np.array([[80.0, 100.0]])
    lag = 0.02 * np.eye(2)[None]
    found = peaks_together_a(arrive, left, np.array([[-5.0, 30.0]]), lag)
    assert found.tolist() == [[120.0, 90.0]]
    assert peaks_together_a(-arrive, -left, np.array([[-30.0, -30.0]]), lag)[0, 0] < 120.0
