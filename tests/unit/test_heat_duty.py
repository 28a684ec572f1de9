"""Heat of starts: one start and settled repeated starts against independent arithmetic and scipy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from griddesign.errors import InputError
from griddesign.figures import Figure, Status
from griddesign.heat.cooling import loss_w
from griddesign.heat.cycle import StartHeat
from griddesign.heat.duty import (
    ONE_START,
    after_one_start_c,
    settled_case,
    settled_rows,
    settled_temperatures,
    start_rows,
)
from griddesign.heat.lumps import AS_GIVEN, HIGH_ALPHA
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.metals import metal

IRON = metal("grey_iron_class30")
PLATE = PlateBody(0.25, 0.19, 0.005, 0.087, 0.86, 0.069, IRON)
E = HeatedSection("E", PLATE, 4, 1, Stack(4, 0.0127), 400.0)
HEAT = StartHeat("E", 4 * 13_000.0, 10.0)


def test_one_start_without_loss_in_closed_form():
    """Constant specific heat, linear ohms: ``C/alpha ln[r1/r0] = joules``."""
    flat = Figure.exact(480.0, Status.GIVEN)
    body = replace(PLATE, metal=IRON.with_figure("specific_heat_400", flat).with_figure("specific_heat_20", flat))
    beta = 1 / 0.0019 - 20.0
    want = (60.0 + beta) * math.exp(60_000.0 * 0.0019 / (0.86 * 480.0)) - beta
    assert after_one_start_c(body, 60.0, 60_000.0) == pytest.approx(want, abs=1e-3)
    assert after_one_start_c(body, 60.0, 60_000.0, grows=False) == pytest.approx(
        60.0 + 60_000 / (0.86 * 480.0), abs=1e-3
    )


def test_one_start_beyond_the_table_is_inf():
    assert after_one_start_c(PLATE, 60.0, 1e6) == math.inf
    assert after_one_start_c(PLATE, 600.0, 1.0) == math.inf


def cycle_with_scipy(t_c, ambient_c, every_s, growing=True, cycles=1):
    def rate(_, t, power_w):
        ratio = IRON.ratio(float(t[0])) if growing else 1.0
        loss = float(loss_w(PLATE, E.stack, float(t[0]), ambient_c))
        return [(power_w * ratio - loss) / (PLATE.mass_kg * IRON.specific_heat(float(t[0])))]

    peak = t_c
    for _ in range(cycles):
        options = {"method": "DOP853", "rtol": 1e-8, "atol": 1e-6}
        peak = solve_ivp(rate, (0, HEAT.on_s), [t_c], args=(HEAT.joules / 4 / HEAT.on_s,), **options).y[0, -1]
        t_c = solve_ivp(rate, (0, every_s - HEAT.on_s), [peak], args=(0.0,), **options).y[0, -1]
    return peak, t_c


def test_one_start_against_scipy():
    row = start_rows([E], [HEAT], 550.0, [40.0], ends=[AS_GIVEN])[0]
    assert row.hot_c == pytest.approx(cycle_with_scipy(40.0, 40.0, 120.0)[0], abs=1e-3)
    assert row.bound_c == pytest.approx(after_one_start_c(PLATE, 40.0, 13_000.0), abs=1e-9)
    assert 0.0 < row.bound_c - row.hot_c < 0.02 * (row.hot_c - 40.0)
    assert (row.case, row.notch, row.section, row.hold_s, row.runs_away) == (ONE_START, "", "E", None, False)


@pytest.mark.parametrize("grows", [True, False])
def test_settled_cycle_closes(grows):
    """Started at the settled coldest moment, scipy comes back to it after a cycle, with the peak we print."""
    heat = replace(HEAT, grows=grows)
    row = settled_rows([E], [heat], 550.0, [40.0], every_s=120.0, ends=[AS_GIVEN])[0]
    peak, valley = cycle_with_scipy(40.0, 40.0, 120.0, grows, cycles=45)
    assert row.hot_c == pytest.approx(peak, abs=0.05)
    again, valley_again = cycle_with_scipy(valley, 40.0, 120.0, grows)
    assert again == pytest.approx(row.hot_c, abs=0.05)
    assert valley_again == pytest.approx(valley, abs=0.02)
    assert row.case == settled_case(120.0)
    assert not row.runs_away, "hot enough, it loses what it takes up"


def test_high_coefficient_is_the_worse_end_at_a_given_current():
    row = settled_rows([E], [HEAT], 550.0, [40.0], every_s=180.0)[0]
    assert row.worst_end == HIGH_ALPHA.name


def test_what_never_settles_runs_away():
    heat = StartHeat("E", 4 * 60_000.0, 10.0)
    row = settled_rows([E], [heat], 550.0, [40.0], every_s=60.0)[0]
    assert row.runs_away and math.isinf(row.hot_c) and row.margin_k == -math.inf


def test_settled_temperatures_take_the_hottest():
    rows = settled_rows([E], [HEAT], 550.0, [20.0, 40.0], every_s=180.0)
    assert settled_temperatures(rows) == {"E": max(row.hot_c for row in rows)}
    assert rows[1].hot_c > rows[0].hot_c


def test_a_section_without_current_stays_at_ambient():
    idle = StartHeat("E", 0.0, 0.0)
    assert start_rows([E], [idle], 550.0, [40.0])[0].hot_c == pytest.approx(40.0)
    assert settled_rows([E], [idle], 550.0, [40.0], every_s=60.0)[0].hot_c == pytest.approx(40.0, abs=0.01)


def test_refusals():
    with pytest.raises(InputError, match="every 5 s"):
        settled_rows([E], [HEAT], 550.0, [40.0], every_s=5.0)
    with pytest.raises(InputError, match="section E"):
        start_rows([E], [], 550.0, [40.0])
    with pytest.raises(InputError, match="cannot come in 0 s"):
        start_rows([E], [StartHeat("E", 10.0, 0.0)], 550.0, [40.0])
    assert np.isfinite(start_rows([E], [HEAT], 550.0, [40.0])[0].hot_c)
