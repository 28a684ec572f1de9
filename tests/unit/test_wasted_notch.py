"""What a notch held at balance wastes, against the sum of everything the line's power goes into."""

import pytest

from griddesign.judge.records import Result
from griddesign.judge.wasted import NotchWaste, grid_ohm_of, wasted
from griddesign.traction.mechanics import resistance_n


@pytest.fixture(scope="module")
def found(demo: Result) -> tuple[NotchWaste, ...]:
    assert demo.ran is not None
    return wasted(demo.job, demo.ran.ready.whole_ohm, demo.ran.ready.valley_a)


def test_every_notch_with_a_grid_and_no_other(demo: Result, found: tuple[NotchWaste, ...]) -> None:
    assert [one.notch for one in found] == [notch.name for notch in demo.job.notches if notch.common.parts]


def test_the_power_of_the_line_goes_somewhere(demo: Result, found: tuple[NotchWaste, ...]) -> None:
    """Exact at balance, by energy alone: line = feeder + grid + motors' copper + resistance·v / drive efficiency."""
    line, car, motor = demo.job.line, demo.job.car, demo.job.motor
    notches = {notch.name: notch for notch in demo.job.notches}
    for one in found:
        grouping = notches[one.notch].grouping
        copper_w = grouping.series * grouping.parallel * motor.resistance_ohm * one.motor_a**2
        moving_w = resistance_n(car, one.speed_m_s) * one.speed_m_s / car.drive_efficiency
        spent_w = line.feeder_ohm * one.line_a**2 + one.grid_w + copper_w + moving_w
        assert one.line_w == pytest.approx(spent_w, rel=2e-6)
        assert one.share == one.grid_w / one.line_w
        assert 0.0 < one.grid_w < one.leaving_w


def test_a_grid_for_each_string_counts_by_the_mean_of_its_ohms(demo: Result) -> None:
    from dataclasses import replace

    from griddesign.grid.records import Run

    notch = next(notch for notch in demo.job.notches if notch.grouping.parallel == 2)
    split = replace(notch, common=None, strings=(Run(("A",)), Run(("B",))))
    assert grid_ohm_of(split, {"A": 1.0, "B": 3.0}) == 2.0
    whole = replace(demo.job, notches=(split,))
    (one,) = wasted(whole, {"A": 1.0, "B": 3.0}, 80.0)
    assert one.grid_w == pytest.approx((1.0 + 3.0) * one.motor_a**2)
    assert one.leaving_w == pytest.approx((1.0 + 3.0) * 80.0**2)
