"""Changes of grouping beside notches that are networks: bridges and shorted motors where motors hang in strings."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from griddesign.errors import CircuitError, JobError
from griddesign.grid.contacts.records import MotorIn, Network, Wire
from griddesign.grid.records import Run
from griddesign.job.reading import read_job
from griddesign.judge.plate_tables import constant_ohms
from griddesign.judge.runup import starter
from griddesign.shipped import examples_folder
from griddesign.traction.halves import unfit
from griddesign.traction.network.strings import strings_in
from griddesign.traction.network.written_out import written_out
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
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up

ODD = examples_folder() / "odd-controller.toml"
LINE, CAR = Line(550.0, 660.0, 0.04), Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045))
POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0, 280.0), (100.0, 215.0, 381.0, 485.0, 550.0, 660.0))
FOUR = Motor(4, 0.42, 75.0, POINTS, each=(MotorOwn(), MotorOwn(emf_factor=1.04), MotorOwn(), MotorOwn(emf_factor=1.04)))
OHMS = {"A": 1.9, "B": 0.5, "C": 0.8}
SERIES, PAIRS = Grouping(4, 1), Grouping(2, 2)
NOTCHES = (
    Notch("1", SERIES, Run(("A", "B"))), Notch("2", SERIES, Run(("B",))), Notch("3", PAIRS, Run(("C",))),
    Notch("4", PAIRS, Run()),
)  # fmt: skip
BRIDGE = Transition("bridge", 1.0, (Run(("B",)), Run(("C",))))
SHORTED = Transition("one motor shorted", 1.0, (Run(("B", "C")),))


def as_network(notch: Notch) -> Notch:
    return replace(notch, common=None, strings=(), network=written_out(notch))


def run(notches: Sequence[Notch], how: Transition) -> RunUp:
    shape = (len(OHMS), 1)
    cases = Cases(
        np.full(1, 550.0), np.array(list(OHMS.values()))[:, None], np.zeros(shape), np.full(shape, 20.0),
        np.full(1, 70.0), np.full(1, 0.42), np.full(1, CAR.mass_kg),
    )  # fmt: skip
    return run_up(LINE, CAR, FOUR, notches, tuple(OHMS), cases, constant_ohms, transition=how)


@pytest.mark.parametrize("how", [BRIDGE, SHORTED])
@pytest.mark.parametrize("which", [(1,), (2,), (1, 2)])
def test_a_transition_beside_a_grouping_written_out_is_that_of_the_grouping(
    how: Transition, which: tuple[int, ...]
) -> None:
    one = run(NOTCHES, how)
    other = run([as_network(notch) if place in which else notch for place, notch in enumerate(NOTCHES)], how)
    assert len(one.transitions) == len(other.transitions) == 1
    for ours, theirs in zip(other.rows, one.rows, strict=True):
        assert ours.name == theirs.name
        for field in ("peak_a", "line_peak_a", "leave_m_s", "leave_s", "frozen_flux_a"):
            assert getattr(ours, field) == pytest.approx(getattr(theirs, field), rel=1e-6), (ours.name, field)


def test_strings_are_chains_of_motors_whatever_grid_lies_among_them() -> None:
    series, pairs = (as_network(NOTCHES[place]).network for place in (0, 2))
    assert series is not None and pairs is not None
    assert strings_in(series) == ((0, 1, 2, 3),)
    assert strings_in(pairs) == ((0, 1), (2, 3))
    turned = Network(
        (Wire("motor 2", "motor", 1, 2, 2, 1.0), Wire("A", "section", 2, 3), Wire("B", "section", 2, 3),
         Wire("motor 1", "motor", 3, 0, 1, 1.0)), 4, (MotorIn(2, 0), MotorIn(1, 3)), "grid among the motors",
    )  # fmt: skip
    assert strings_in(turned) == ((1, 0),)
    assert strings_in(replace(turned, motors=(MotorIn(2, 0, 0.6), MotorIn(1, 3, 0.6)))) is None
    beside = replace(turned, wires=(*turned.wires, Wire("W", "resistor", 3, 0, 0, 2.0)))
    assert strings_in(beside) is None  # with all resistors taken as joined motor 1 is bridged
    crossed = Network(
        tuple(Wire(f"motor {number}", "motor", a, b, number, 1.0)
              for number, a, b in ((1, 1, 2), (2, 1, 2), (3, 2, 0), (4, 2, 0))),
        3, tuple(MotorIn(number, number - 1) for number in (1, 2, 3, 4)), "joined across",
    )  # fmt: skip
    assert strings_in(crossed) is None
    unlike = Network(
        tuple(Wire(f"motor {number}", "motor", a, b, number, 1.0)
              for number, a, b in ((1, 1, 2), (2, 2, 0), (3, 1, 0))),
        3, tuple(MotorIn(number, number - 1) for number in (1, 2, 3)), "unlike",
    )  # fmt: skip
    assert strings_in(unlike) is None


def job_text(how: str) -> str:
    return ODD.read_text(encoding="utf-8").replace("[start]", f"[start]\ntransition = {how}", 1)


def test_the_odd_controller_crosses_to_its_network_by_a_bridge(tmp_path: Path) -> None:
    """Notch 4 is a grouping in series, notch 5 a network with both motors in parallel."""
    path = tmp_path / "bridge.toml"
    path.write_text(job_text('{ kind = "bridge", seconds = "0.8 s", strings = [["D"], ["E"]] }'), encoding="utf-8")
    (row,) = starter(read_job(path)).told.transitions
    assert row.where == "transition 4-5"
    assert row.leave_s - row.arrive_s == pytest.approx(0.8)
    path.write_text(
        job_text('{ kind = "one motor shorted", seconds = "0.8 s", circuit = ["C", "D"] }'), encoding="utf-8"
    )
    (row,) = starter(read_job(path)).told.transitions
    assert row.line_peak_a == pytest.approx(row.peak_a)


def test_a_network_without_strings_is_refused_in_words(tmp_path: Path) -> None:
    """A resistor beside motor 2 on notch 5."""
    text = job_text('{ kind = "bridge", seconds = "0.8 s", strings = [["D"], ["E"]] }')
    was = '["R7", "M3"], ["M2", "G"]]'
    assert text.count(was) == 2
    path = tmp_path / "beside.toml"
    path.write_text(text.replace(was, '["R7", "M3", "S1"], ["S2", "M2", "G"]]', 1), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    complaint, later = caught.value.complaints()  # on the way there, and from there
    assert (complaint.key, later.key) == ("notch.5", "notch.6")
    assert complaint.message.startswith("bridge parts every string in two halves, and notch 5 has no such strings")
    assert complaint.hint is not None and "power off" in complaint.hint
    with pytest.raises(CircuitError, match="notch 3: a transition with bridge parts every string"):
        run([NOTCHES[0], NOTCHES[1], as_network(replace(NOTCHES[2], grouping=Grouping(1, 4)))], BRIDGE)
    assert "from 4 in series by 1 that does not give 1 in series by 4" in unfit(
        NOTCHES[0], as_network(replace(NOTCHES[2], grouping=Grouping(1, 4))), "bridge"
    )
