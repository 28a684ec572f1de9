"""Series-parallel starts of motor pairs at constant mean current.

J. B. Gupta et al., Utilization of Electrical Energy and Traction, Ex 9.1-9.3 (pp. 268-270); B. L. Theraja and A. K.
Theraja, A Textbook of Electrical Technology, vol. III, Ex 43.30 and 43.31 (pp. 1750-1751); A. Chakrabarti et al., A
Textbook on Power System Engineering, Ex 4.7.2 and 4.7.3 (pp. 798-799). Seen in published companions that re-work the
examples; the printed books were not seen. Ideal efficiencies: lecture notes.
"""

import pytest

from griddesign.traction.mechanics import accelerated_kg, resistance_n
from griddesign.traction.records import Car, RunningResistance
from griddesign.traction.textbook import ideal_efficiency, series_parallel_start

GUPTA = "J. B. Gupta et al., Utilization of Electrical Energy and Traction"
THERAJA = "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III"
CHAKRABARTI = "A. Chakrabarti et al., A Textbook on Power System Engineering"

KWH = 3.6e6
WH = 3600.0


def test_gupta_9_1(checked) -> None:
    start = series_parallel_start(600.0, 350.0, 0.15, 20.0)
    assert (start.series_grid_j + start.parallel_grid_j) / KWH == pytest.approx(0.5372, abs=6e-5)
    assert start.supply_j / KWH == pytest.approx(1.806, abs=6e-4)
    assert start.copper_j / KWH == pytest.approx(0.204, abs=6e-4)
    grid = (start.series_grid_j + start.parallel_grid_j) / KWH
    checked(
        f"{GUPTA}, Ex 9.1, p. 268",
        "grid, supply and copper",
        [0.5372, 1.806, 0.204],
        [grid, start.supply_j / KWH, start.copper_j / KWH],
        "kWh",
    )


def test_gupta_9_2(checked) -> None:
    start = series_parallel_start(600.0, 300.0, 0.1, 15.0)
    assert start.series_grid_j / KWH == pytest.approx(0.160, abs=6e-4)
    assert start.parallel_grid_j / KWH == pytest.approx(0.197, abs=6e-4)
    assert 29.0 * start.transition_share == pytest.approx(13.7, abs=0.06)
    found = [start.series_grid_j / KWH, start.parallel_grid_j / KWH]
    checked(f"{GUPTA}, Ex 9.2, p. 269", "grid in series and in parallel", [0.160, 0.197], found, "kWh")
    checked(f"{GUPTA}, Ex 9.2, p. 269", "speed of transition", 13.7, 29.0 * start.transition_share, "km/h")


def test_gupta_9_3(checked) -> None:
    start = series_parallel_start(600.0, 200.0, 0.1, 20.0)
    assert start.output_efficiency == pytest.approx(0.637, abs=6e-4)
    assert 80.0 * start.transition_share == pytest.approx(38.62, abs=6e-3)
    checked(f"{GUPTA}, Ex 9.3, p. 270", "efficiency of the start", 0.637, start.output_efficiency)
    checked(f"{GUPTA}, Ex 9.3, p. 270", "speed of transition", 38.62, 80.0 * start.transition_share, "km/h")


def test_theraja_43_30(checked) -> None:
    start = series_parallel_start(600.0, 300.0, 0.1, 20.0)
    assert start.series_grid_j / WH == pytest.approx(213.16, abs=0.02)
    assert start.parallel_grid_j / WH == pytest.approx(263.16, abs=0.02)
    assert 30.0 * start.transition_share == pytest.approx(14.21, abs=6e-3)
    found = [start.series_grid_j / WH, start.parallel_grid_j / WH]
    checked(f"{THERAJA}, Ex 43.30, p. 1750", "grid in series and in parallel", [213.16, 263.16], found, "Wh")
    checked(f"{THERAJA}, Ex 43.30, p. 1750", "speed of transition", 14.21, 30.0 * start.transition_share, "km/h")


def test_theraja_43_31(checked) -> None:
    start = series_parallel_start(600.0, 500.0, 0.1, 25.0)
    assert (start.series_s, start.parallel_s) == pytest.approx((11.36, 13.64), abs=6e-3)
    assert 80.0 * start.transition_share == pytest.approx(36.36, abs=6e-3)
    checked(
        f"{THERAJA}, Ex 43.31, p. 1751",
        "times in series and in parallel",
        [11.36, 13.64],
        [start.series_s, start.parallel_s],
        "s",
    )
    checked(f"{THERAJA}, Ex 43.31, p. 1751", "speed of transition", 36.36, 80.0 * start.transition_share, "km/h")


def test_chakrabarti_4_7_2(checked) -> None:
    seconds = 175e3 * 38.6 / 3.6 / 69e3
    start = series_parallel_start(600.0, 200.0, 0.15, seconds, pairs=3)
    assert start.supply_j / KWH == pytest.approx(4.15, abs=0.015)
    assert (start.series_grid_j + start.parallel_grid_j) / KWH == pytest.approx(1.3, abs=0.03)
    grid = (start.series_grid_j + start.parallel_grid_j) / KWH
    checked(f"{CHAKRABARTI}, Ex 4.7.2, p. 798", "supply", 4.15, start.supply_j / KWH, "kWh")
    checked(f"{CHAKRABARTI}, Ex 4.7.2, p. 798", "grid", 1.3, grid, "kWh")


def test_chakrabarti_4_7_3(checked) -> None:
    car = Car(132e3, 0.10, 1.0, 1.0, 1.0, RunningResistance(0.0445), gradient=0.01)
    acceleration = (4 * 19270.0 - resistance_n(car, 0.0)) / accelerated_kg(car)
    start = series_parallel_start(600.0, 400.0, 0.1, 39.0 / 3.6 / acceleration, pairs=2)
    assert start.series_s == pytest.approx(12.5, abs=0.06)
    assert 39.0 * start.transition_share == pytest.approx(18.1, abs=0.06)
    assert start.series_grid_j / KWH == pytest.approx(0.72, abs=6e-3)
    assert start.parallel_grid_j / KWH == pytest.approx(0.96, abs=6e-3)
    found = [start.series_grid_j / KWH, start.parallel_grid_j / KWH]
    checked(f"{CHAKRABARTI}, Ex 4.7.3, p. 799", "grid in series and in parallel", [0.72, 0.96], found, "kWh")
    checked(f"{CHAKRABARTI}, Ex 4.7.3, p. 799", "time in series", 12.5, start.series_s, "s")
    checked(f"{CHAKRABARTI}, Ex 4.7.3, p. 799", "speed of transition", 18.1, 39.0 * start.transition_share, "km/h")


@pytest.mark.parametrize(
    ("motors", "published"), [((1,), 0.50), ((1, 2), 0.6667), ((1, 2, 4), 0.7272), ((1, 2, 3, 6), 0.75)]
)
def test_ideal_efficiency_of_every_grouping(motors: tuple[int, ...], published: float, checked) -> None:
    assert ideal_efficiency(motors) == pytest.approx(published, abs=6e-5 if motors != (1, 2, 4) else 1e-4)
    checked("Lecture notes of electric traction", "ideal efficiency of groupings", published, ideal_efficiency(motors))


def test_four_motors_in_permanent_pairs_have_two_groupings() -> None:
    """Derived: 66.67 %."""
    assert ideal_efficiency((2, 4)) == pytest.approx(2.0 / 3.0)


def test_output_efficiency_depends_on_the_drop_alone() -> None:
    """Derived: IR/V = 0.05 gives 62.24 %, whatever the volts."""
    for volts in (250.0, 600.0):
        start = series_parallel_start(volts, 100.0, 0.05 * volts / 100.0, 20.0)
        assert start.output_efficiency == pytest.approx(0.6224, abs=6e-5)


@pytest.mark.parametrize(("current", "ohm", "pairs"), [(350.0, 0.15, 1), (200.0, 0.1, 2), (500.0, 0.1, 3)])
def test_energy_closes(current: float, ohm: float, pairs: int) -> None:
    """Derived: supply = grid + copper + mechanical, exactly."""
    start = series_parallel_start(600.0, current, ohm, 20.0, pairs)
    spent = start.series_grid_j + start.parallel_grid_j + start.copper_j + start.mechanical_j
    assert spent == pytest.approx(start.supply_j, rel=1e-13)
