"""A driver who could leave every notch at once, or none: within a peak current that no leaving current keeps (a motor
that generates beside a resistor), and with currents that all lie below the one he waits for."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from griddesign.errors import NoStartError
from griddesign.job.reading import read_job
from griddesign.judge.runup import closed_run, starter
from griddesign.shipped import examples_folder
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup import driver
from griddesign.traction.runup.driver import LOWEST, WITHIN_A, Course
from griddesign.traction.runup.records import Energy
from griddesign.traction.runup.steps import USUAL

ARRIVED_A = np.array([120.0, 60.0, 120.0])


class FixedPeaks(Course):
    """Next peaks that are given: never within, never over, and as high as the current it is left at."""

    def _next_peak_a(self, place: int, leg: Any, state: FloatArray) -> FloatArray:
        return np.array([999.0, 0.0, float(state[0, 2])])


def test_a_notch_is_never_left_without_current(monkeypatch: pytest.MonkeyPatch) -> None:
    """At no current a motor's speed has no bound; the notch is left a tenth down, or the car is stuck on the way."""
    monkeypatch.setattr(driver, "by_current", lambda powered, begin, to_a, marks, care: to_a[None])
    leg: Any = SimpleNamespace(powered=None, begin=ARRIVED_A[None])
    left_a = FixedPeaks(None, (), USUAL)._as_soon_as_allowed(0, leg, np.full(3, 90.0), np.zeros(0))  # type: ignore[arg-type]
    assert left_a[:2] == pytest.approx([LOWEST * 120.0, 60.0])
    assert left_a[2] == pytest.approx(90.0, abs=2 * WITHIN_A) and left_a[2] <= 90.0


def test_a_car_that_passes_every_notch_at_standstill_does_not_start(tmp_path: Path) -> None:
    """2 x 7 ohm at 550 V: 77.7 A at most, the driver waits for 80 A to fall to; nothing of such a start may hold."""
    text = (examples_folder() / "odd-controller.toml").read_text(encoding="utf-8")
    (tmp_path / "odd.toml").write_text(text.replace('"0.42 ohm at', '"7 ohm at'), encoding="utf-8")
    with pytest.raises(NoStartError, match=r"at 550 V every notch is passed .* 77\.\d+ A per motor, .* 80 A at which"):
        closed_run(starter(read_job(tmp_path / "odd.toml")))


def test_of_nothing_taken_and_nothing_spent_nothing_is_left_over() -> None:
    none, one = np.zeros(2), np.array([0.0, 1.0])
    found = Energy(2.0 * one, one, none, none, none, none, 0.5 * one, none, none, none, none)
    assert found.balance_error.tolist() == [0.0, 0.25]
