"""Single terms of the heat of a bank by hand figures: each would pass unseen in a whole run if it were wrong."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import RK45

from griddesign.errors import GeometryError
from griddesign.figures import Figure, Status
from griddesign.heat import march
from griddesign.heat.air import air_at
from griddesign.heat.cooling import (
    any_plate_nusselt,
    convection_w_m2k,
    laminar_plate_nusselt,
    loss_w,
    plate_nusselt,
)
from griddesign.heat.cycle import StartHeat
from griddesign.heat.duty import settled_rows, start_rows
from griddesign.heat.fit import HeatRun, _told
from griddesign.heat.holds import FROM_SETTLED, HELD_RUNNING, hold_curves_c, hold_rows
from griddesign.heat.lumps import AS_GIVEN, BAND, LOW_LOSS, LOWEST_C, OVERSHOOT_K, LumpShelf, top_c
from griddesign.heat.neighbours import Gaps
from griddesign.heat.network import NotchCircuit
from griddesign.heat.records import HeatedSection, LossKnown, PlateBody, Stack
from griddesign.heat.timber import Strip, face_c, worst_point
from griddesign.metals import metal

IRON = metal("grey_iron_class30")
PLATE = PlateBody(0.25, 0.19, 0.005, 0.087, 0.86, 0.069, IRON)
A = HeatedSection("A", PLATE, 20, 1, Stack(20, 0.0127), 400.0)
TRICKLE = NotchCircuit("1", ("A",), 0.9, running=lambda ohm, v: 10.0 + 0.0 * ohm)


def test_the_march_has_the_coefficients_of_dormand_and_prince():
    """Every one of them, with Shampine's dense output, as scipy's RK45 has them: a wrong one only costs steps."""
    for stage, weights in enumerate(march._A, start=1):
        assert weights == pytest.approx(RK45.A[stage, :stage], rel=1e-13)
    assert pytest.approx(RK45.B, rel=1e-13) == march._B
    assert pytest.approx(RK45.E, rel=1e-13) == march._ERROR
    assert pytest.approx(RK45.P, rel=1e-13) == march._DENSE


def test_still_air_conducts_across_a_gap_that_does_not_shine():
    """``k A (T1 - T2)/b`` with k of air at 300 K, 26.3e-3 W/(m K): F. P. Incropera and D. P. DeWitt, table A.4."""
    dull = replace(A, body=replace(PLATE, metal=IRON.with_figure("emissivity", Figure.exact(1e-6, Status.GIVEN))))
    flow_w = Gaps.between([dull] * 3).flow_w(np.array([[36.85], [16.85], [16.85]]))[0]
    assert flow_w[1, 0] == Gaps.between([A] * 3).flow_w(np.array([[90.0], [20.0], [20.0]]))[0][1, 0] == 0.0
    assert flow_w[0, 0] == pytest.approx(26.3e-3 * 0.25 * 0.19 * 20.0 / dull.stack.clear_gap_m, rel=5e-3)


def test_hotter_neighbours_are_added_to_what_a_section_reaches():
    """12 K on a hold that lasts for ever; where it ends at the limit, the hottest plate is there, not past it."""
    for circuit, ends_at_limit in ((TRICKLE, False), (replace(TRICKLE, running=lambda ohm, v: 90.0 + 0.0 * ohm), True)):
        alone, beside = (
            next(
                row
                for row in hold_rows([A], [circuit], [550.0], [20.0], {"A": 60.0}, ends=[AS_GIVEN], hotter_k=hotter_k)
                if row.case == f"{HELD_RUNNING}, {FROM_SETTLED}"
            )
            for hotter_k in (None, {"A": 12.0})
        )
        assert (beside.hold_s is not None) is ends_at_limit
        assert beside.hot_c == pytest.approx(400.0 if ends_at_limit else alone.hot_c + 12.0, abs=1e-3)
        assert not ends_at_limit or beside.hold_s < alone.hold_s


def test_the_worst_end_of_a_hold_for_ever_is_that_of_the_live_section():
    """A section out of circuit has no limit, and must not decide."""
    rows = hold_rows([A, replace(A, name="B")], [TRICKLE], [550.0], [20.0], ends=[AS_GIVEN, LOW_LOSS])
    row = next(row for row in rows if row.case.startswith(HELD_RUNNING))
    assert row.hold_s is None and row.worst_end == LOW_LOSS.name


@pytest.mark.parametrize("grows", [True, False])
@pytest.mark.parametrize(("share", "away"), [(1.002, True), (0.998, False)])
def test_a_duty_runs_away_above_the_loss_at_the_top_of_the_table_and_no_further(share, away, grows):
    """Where the heat grows with the ohms, it is the heat of the hot ohms that counts."""
    top = top_c(A)
    watts = share * float(loss_w(PLATE, A.stack, top, 40.0)) / (IRON.ratio(top) if grows else 1.0)
    heat = StartHeat("A", 20 * 120.0 * watts, 10.0, grows=grows)
    assert settled_rows([A], [heat], 550.0, [40.0], every_s=120.0, ends=[AS_GIVEN])[0].runs_away is away


PRANDTL = {250: 0.720, 300: 0.707, 350: 0.700, 400: 0.690, 450: 0.686, 500: 0.684, 550: 0.683, 600: 0.685, 700: 0.695}
PRANDTL |= {800: 0.709, 900: 0.720, 1000: 0.726, 1200: 0.728}
HOT_PA_S = {800: 369.8e-7, 900: 398.1e-7, 1000: 424.4e-7, 1200: 473.0e-7}


@pytest.mark.parametrize(("kelvin", "prandtl"), PRANDTL.items())
def test_every_node_of_the_table_of_air(kelvin, prandtl):
    """Viscosity by Sutherland's law up to 700 K (U.S. Standard Atmosphere 1976, equation 51), above that and the
    Prandtl number by F. P. Incropera and D. P. DeWitt, table A.4; density of an ideal gas of 287.05 J/(kg K); all from
    memory. Within 4 %, where a wrong digit is 10 %."""
    air, density = air_at(float(kelvin)), 101325.0 / (287.05 * kelvin)
    viscosity = HOT_PA_S.get(kelvin, 1.458e-6 * kelvin**1.5 / (kelvin + 110.4))
    assert air.viscosity_m2_s == pytest.approx(viscosity / density, rel=0.04)
    assert air.prandtl == pytest.approx(prandtl, rel=0.04)
    assert air.diffusivity_m2_s == pytest.approx(viscosity / density / prandtl, rel=0.04)


def test_gaps_hotter_than_the_table_of_air_conduct_as_its_end():
    flows = [Gaps.between([A, A]).flow_w(np.array([[t_c + 1.0], [t_c]]))[0][0, 0] for t_c in (950.0, 1100.0)]
    assert flows[1] > flows[0] > 0.0


def test_timber_in_hot_air_that_gives_nothing_off_is_as_warm_as_all_it_sees():
    """``sigma T^4 = E + (1 - F) sigma Ta^4``: 500 W/m2 from the bank, which takes 0.3 of the view, 40 degC around."""
    kelvin = (500.0 / 5.670374419e-8 + 0.7 * 313.15**4) ** 0.25
    assert kelvin > 313.15 + 30.0
    assert face_c(500.0, 0.3, 40.0, 40.0, 0.0) == pytest.approx(kelvin - 273.15, abs=1e-6)


def test_the_laminar_form_ends_at_rayleigh_1e9():
    """S. W. Churchill and H. H. S. Chu (1975) give it up to there."""
    assert plate_nusselt(0.999e9, 0.7) == laminar_plate_nusselt(0.999e9, 0.7)
    assert plate_nusselt(1.001e9, 0.7) == any_plate_nusselt(1.001e9, 0.7)


def test_no_air_moves_along_a_plate_no_warmer_than_the_air():
    assert convection_w_m2k(0.25, 0.0127, 20.0, 20.0) == pytest.approx(0.0, abs=1e-9)
    assert convection_w_m2k(0.25, None, 20.5, 20.0) > 0.0


def test_a_start_of_half_a_second_heats_as_a_longer_one_does():
    """400 J in one plate: ``J/(m c)`` but for what half a second takes away."""
    one = replace(A, series=1)
    row = start_rows([one], [StartHeat("A", 400.0, 0.5, grows=False)], 550.0, [40.0], ends=[AS_GIVEN])[0]
    assert row.hot_c == pytest.approx(40.0 + 400.0 / (0.86 * IRON.specific_heat(40.0)), rel=1e-4)


def test_the_heat_of_the_joints_is_shared_by_all_plates_of_pairs():
    """6 pairs with joints of 2 % of the ohms: ``I^2 R 1.02 t`` over twelve plates, in a tenth of a second."""
    cold_ohm = 6 * 0.069 / 2
    pairs = HeatedSection("H", PLATE, 6, 2, Stack(12, 0.0127), 400.0, 0.02 * cold_ohm)
    circuit = NotchCircuit("1", ("H",), 0.0)
    hot_c = hold_curves_c([pairs], circuit, 30.0, 20.0, [0.1], end=AS_GIVEN.adiabatic())[0, 0]
    joules = (30.0 / (1.02 * cold_ohm)) ** 2 * 1.02 * cold_ohm * 0.1
    assert hot_c - 20.0 == pytest.approx(joules / 12 / (0.86 * IRON.specific_heat(20.0)), rel=2e-3)


def test_two_plates_that_touch_are_refused_and_one_alone_needs_no_gap():
    with pytest.raises(GeometryError, match="cannot be"):
        loss_w(PLATE, Stack(2, 0.0), 100.0, 20.0)
    assert loss_w(PLATE, Stack(1, 0.0), 100.0, 20.0) > loss_w(PLATE, Stack(2, 0.0127), 100.0, 20.0)


def test_misses_that_follow_each_other_widen_the_range_of_a_heat_run():
    """Eight misses of 1 K, four above and then four below: r = (3 + 3 - 1)/8; t of Student's table for 6 degrees of
    freedom and 95 per cent, 2.447."""
    misses = np.repeat([1.0, -1.0], 4)
    run = HeatRun(tuple(np.arange(8.0)), (100.0,) * 8, (0.0,) * 8, 20.0)
    fit = _told(run, np.array([2.0, 100.0]), misses, np.diag([0.01, 1.0]))
    half = 2.447 * math.sqrt(8.0 / 6.0 * 0.01 * (1.0 + 0.625) / (1.0 - 0.625))
    assert (fit.low, fit.high) == pytest.approx((2.0 - half, 2.0 + half), rel=2e-4)


def test_a_heat_run_stands_in_for_the_loss_at_every_end():
    """Its factor for the loss as given, its own range for either end, and nothing where there is no loss at all."""
    assert [end.loss for end in BAND] == pytest.approx([1.2, 1.0, 0.8], rel=1e-15)
    known = LossKnown(0.8, 0.7, 0.95)
    assert [end.on(known).loss for end in (*BAND, AS_GIVEN.adiabatic())] == [0.95, 0.8, 0.7, 0.0]


def test_ohms_of_a_lump_range_over_its_own_table_only():
    shelf = LumpShelf()
    steel = replace(A, body=replace(PLATE, metal=metal("ss304")))
    numbers = [shelf.number(one, AS_GIVEN, 20.0) for one in (A, steel)]
    tables = shelf.tables()
    for number, one in zip(numbers, (A, steel), strict=True):
        low, high = tables.ratio_range(number)
        assert low == pytest.approx(float(one.body.metal.ratio(LOWEST_C)), rel=1e-12)
        assert high == pytest.approx(float(one.body.metal.ratio(max(map(top_c, (A, steel))) + OVERSHOOT_K)), rel=2e-3)


def test_the_worst_point_over_one_strip_is_its_middle_wherever_it_lies():
    """Four corners of 0.1 m by 0.15 m, 0.2 m off, by the formula of R. Siegel and J. R. Howell, A = 0.5, B = 0.75."""
    a, b = 0.5, 0.75
    root_a, root_b = math.hypot(1.0, a), math.hypot(1.0, b)
    seen = 4.0 / (2.0 * math.pi) * (a / root_a * math.atan(b / root_a) + b / root_b * math.atan(a / root_b))
    shone, factor = worst_point([Strip(0.3, 0.5, 400.0)], 0.3, 0.2)
    assert factor == pytest.approx(seen, rel=1e-12)
    assert shone == pytest.approx(5.670374419e-8 * 673.15**4 * seen, rel=1e-9)
