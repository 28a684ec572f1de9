"""Hold times: rows, worst ends, bound, breaker, crew card, refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest

from griddesign.errors import CircuitError, InputError
from griddesign.heat.holds import (
    FROM_AMBIENT,
    FROM_SETTLED,
    HELD_RUNNING,
    STALLED,
    crew_hold_s,
    hold_curves_c,
    hold_rows,
)
from griddesign.heat.lumps import AS_GIVEN, ENDS, HIGH_ALPHA, LOW_ALPHA, LOW_LOSS, limit_beyond_table
from griddesign.heat.network import NotchCircuit
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.metals import metal

IRON = metal("grey_iron_class30")
PLATE = PlateBody(0.25, 0.19, 0.005, 0.087, 0.795, 0.069, IRON)


def section(name, series, body=PLATE, in_parallel=1, limit_c=400.0):
    return HeatedSection(name, body, series, in_parallel, Stack(series * in_parallel, 0.0127), limit_c)


def demo_sections():
    """The invented demo: five sections of 0.069 ohm plates, 60 plates, heat capacity of all about 24.8 kJ/K."""
    return [section(name, count) for name, count in zip("ABCDE", (24, 20, 4, 8, 4), strict=True)]


def circuit(notch, names, other=0.88, **more):
    return NotchCircuit(notch, tuple(names), other, **more)


def first(rows, notch, case, line_v):
    return next(row for row in rows if (row.notch, row.case, row.line_v) == (notch, case, line_v))


def test_demo_holds_make_sense():
    """Derived sanity figures: notch 1 stalled 5 to 6 min at 550 V, 3 to 4 at 660, notch 2 in 2 min, 3 in half one."""
    circuits = [circuit("1", "ABCDE"), circuit("2", "BCDE"), circuit("3", "CDE")]
    rows = hold_rows(demo_sections(), circuits, [550.0, 660.0], [20.0], ends=[AS_GIVEN])
    stalled = f"{STALLED}, {FROM_AMBIENT}"
    assert 5.0 < first(rows, "1", stalled, 550.0).hold_s / 60 < 6.2
    assert 3.0 < first(rows, "1", stalled, 660.0).hold_s / 60 < 4.0
    assert first(rows, "2", stalled, 550.0).hold_s == pytest.approx(120.0, rel=0.2)
    assert first(rows, "3", stalled, 550.0).hold_s == pytest.approx(30.0, rel=0.2)


def test_one_row_per_live_section_and_hold():
    circuits = [circuit("1", "ABCDE", running=lambda ohm, v: 40.0 + 0 * ohm), circuit("2", "CDE"), circuit("4", "")]
    settled = dict.fromkeys("ABCDE", 150.0)
    rows = hold_rows(demo_sections(), circuits, [550.0, 660.0], [20.0, 40.0], settled)
    assert len(rows) == (4 * 5 + 2 * 3) * 2 * 2
    assert {row.case for row in rows} == {
        f"{way}, {start}" for way in (STALLED, HELD_RUNNING) for start in (FROM_AMBIENT, FROM_SETTLED)
    }
    assert {row.notch for row in rows} == {"1", "2"}
    for row in rows:
        assert row.margin_k == pytest.approx(row.limit_c - row.hot_c)
        assert row.bound_c >= row.hot_c
        assert row.hold_s is None or row.hold_bound_s <= row.hold_s
    governing = [row for row in rows if row.hold_s is not None and row.margin_k < 1e-3]
    assert governing


def test_worst_end_of_the_temperature_coefficient():
    """Grid ohms far above the rest: stalled, the low end is worse; at a given current, the high end."""
    one = circuit("1", "A", 0.5, running=lambda ohm, v: 100.0 + 0 * ohm)
    rows = hold_rows([section("A", 60)], [one], [550.0], [20.0])
    assert first(rows, "1", f"{STALLED}, {FROM_AMBIENT}", 550.0).worst_end == LOW_ALPHA.name
    assert first(rows, "1", f"{HELD_RUNNING}, {FROM_AMBIENT}", 550.0).worst_end == HIGH_ALPHA.name


def test_the_worst_end_is_the_shortest_of_all_ends():
    each = [hold_rows(demo_sections(), [circuit("1", "ABCDE")], [550.0], [20.0], ends=[end])[0].hold_s for end in ENDS]
    together = hold_rows(demo_sections(), [circuit("1", "ABCDE")], [550.0], [20.0])[0]
    assert together.hold_s == pytest.approx(min(each), rel=1e-9)
    assert each[0] > each[1]
    assert ENDS[1] is LOW_LOSS


def test_for_ever():
    """A trickle warms the grid to a steady state below the limit: no hold time, the steady temperature instead."""
    trickle = circuit("1", "A", running=lambda ohm, v: 10.0 + 0 * ohm)
    rows = hold_rows([section("A", 20)], [trickle], [550.0], [20.0], ends=[AS_GIVEN])
    row = first(rows, "1", f"{HELD_RUNNING}, {FROM_AMBIENT}", 550.0)
    assert row.hold_s is None and not row.runs_away
    assert 20.0 < row.hot_c < row.limit_c
    assert math.isinf(row.bound_c)
    assert row.hold_bound_s > 0.0


def test_steady_above_the_limit_is_a_hold_not_a_runaway():
    held = circuit("1", "A", running=lambda ohm, v: 40.0 + 0 * ohm)
    free = hold_rows([section("A", 20)], [held], [550.0], [20.0], ends=[AS_GIVEN])
    steady_c = first(free, "1", f"{HELD_RUNNING}, {FROM_AMBIENT}", 550.0).hot_c
    assert 150.0 < steady_c < 400.0
    tight = hold_rows([section("A", 20, limit_c=steady_c - 20.0)], [held], [550.0], [20.0], ends=[AS_GIVEN])
    row = first(tight, "1", f"{HELD_RUNNING}, {FROM_AMBIENT}", 550.0)
    assert row.hold_s is not None and not row.runs_away
    strong = circuit("1", "A", running=lambda ohm, v: 120.0 + 0 * ohm)
    row = first(hold_rows([section("A", 20)], [strong], [550.0], [20.0]), "1", f"{HELD_RUNNING}, {FROM_AMBIENT}", 550.0)
    assert row.runs_away


def test_settled_over_the_limit_leaves_no_hold():
    for settled_c in (410.0, math.inf):
        rows = hold_rows([section("A", 20)], [circuit("1", "A")], [550.0], [20.0], {"A": settled_c})
        row = first(rows, "1", f"{STALLED}, {FROM_SETTLED}", 550.0)
        assert row.hold_s == 0.0 and row.hold_bound_s == 0.0
        assert row.hot_c >= 410.0 and row.margin_k < 0.0


def test_pairs_in_parallel_carry_half():
    """Pairs of plates at twice the current, same other ohms in proportion: the same hold as single plates."""
    single = hold_rows([section("A", 20)], [circuit("1", "A", 0.8)], [300.0], [20.0], ends=[AS_GIVEN])[0]
    paired = hold_rows([section("A", 20, in_parallel=2)], [circuit("1", "A", 0.4)], [300.0], [20.0], ends=[AS_GIVEN])[0]
    assert paired.hold_s == pytest.approx(single.hold_s, rel=1e-6)


def test_branches_like_one_section_of_pairs():
    """Two like sections side by side are one section of pairs."""

    def side_by_side(ohms):
        a, b = ohms[..., 0], ohms[..., 1]
        return a * b / (a + b), np.stack([b / (a + b), a / (a + b)], axis=-1)

    nested = hold_rows(
        [section("A", 20), section("B", 20)], [circuit("1", "AB", 0.4, divide=side_by_side)], [300.0], [20.0]
    )[0]
    paired = hold_rows([section("A", 20, in_parallel=2)], [circuit("1", "A", 0.4)], [300.0], [20.0])[0]
    assert nested.hold_s == pytest.approx(paired.hold_s, rel=1e-6)


def test_breaker():
    """550 V over 1.38 + 0.88 ohm is 243 A: a 300 A breaker holds, a 240 A one opens; hot ohms take less."""
    grid = [section("A", 20)]
    for breaker_a, per_grid, opens in ((300.0, 1.0, False), (240.0, 1.0, True), (300.0, 2.0, True)):
        rows = hold_rows(grid, [circuit("1", "A", line_per_grid=per_grid)], [550.0], [20.0], breaker_a=breaker_a)
        assert rows[0].breaker_opens is opens
    rows = hold_rows(grid, [circuit("1", "A")], [550.0], [20.0], {"A": 300.0}, ends=[AS_GIVEN], breaker_a=240.0)
    assert [row.breaker_opens for row in rows] == [True, False]
    assert not hold_rows(grid, [circuit("1", "A")], [550.0], [20.0])[0].breaker_opens


def test_adiabatic_network_is_no_strict_bound():
    """Why the greater of the two is printed: a neighbour that cools well keeps its ohms low and the current up."""
    closed_in = section("X", 4, replace(PLATE, surface_m2=1e-5, height_m=0.01, depth_m=0.01, thickness_m=0.001))
    airy = section("Y", 30, replace(PLATE, surface_m2=2.0, mass_kg=0.4))
    both, one = [closed_in, airy], circuit("1", "XY", 0.1)
    seconds = [60.0]
    best = hold_curves_c(both, one, 300.0, 20.0, seconds, end=AS_GIVEN)[0]
    bare = hold_curves_c(both, one, 300.0, 20.0, seconds, end=AS_GIVEN.adiabatic())[0]
    assert best[1] < bare[1] and best[0] > bare[0] + 1.0
    for row in hold_rows(both, [one], [300.0], [20.0], ends=[AS_GIVEN]):
        assert row.bound_c >= row.hot_c and row.hold_bound_s <= row.hold_s


def test_curves_end_where_the_hold_ends():
    sections, one = demo_sections(), circuit("3", "CDE")
    row = hold_rows(sections, [one], [550.0], [20.0], ends=[AS_GIVEN])[0]
    curve = hold_curves_c(sections, one, 550.0, 20.0, [0.0, 0.5 * row.hold_s, row.hold_s, 1e5])
    assert curve.shape == (4, 3)
    assert curve[0] == pytest.approx(20.0)
    assert curve[2].max() == pytest.approx(400.0, abs=1e-2)
    assert np.isnan(curve[3]).all()


def test_crew_card():
    trickle = circuit("0", "A", running=None)
    rows = hold_rows(demo_sections(), [circuit("1", "ABCDE"), circuit("7", "E", 0.25)], [550.0, 660.0], [20.0, 40.0])
    worst = min(row.hold_s for row in rows if row.notch == "1" and (row.line_v, row.ambient_c) == (660.0, 40.0))
    assert crew_hold_s(rows, "1") == 5.0 * math.floor(worst / 5.0)
    assert crew_hold_s(rows, "7") == 0.0
    steady = hold_rows([section("A", 20)], [trickle], [5.0], [40.0])
    assert crew_hold_s(steady, "0") is None
    with pytest.raises(InputError, match="notch 9"):
        crew_hold_s(rows, "9")


def test_refusals():
    with pytest.raises(CircuitError, match="Z"):
        hold_rows([section("A", 20)], [circuit("1", "AZ")], [550.0], [20.0])
    with pytest.raises(InputError, match="no settled temperature for section B"):
        hold_rows([section("A", 20), section("B", 9)], [circuit("1", "AB")], [550.0], [20.0], {"A": 100.0})
    with pytest.raises(InputError, match="share a name"):
        hold_rows([section("A", 20), section("A", 9)], [circuit("1", "A")], [550.0], [20.0])
    with pytest.raises(InputError, match="no finite current"):
        hold_rows([section("A", 20)], [circuit("1", "A", running=lambda ohm, v: np.nan * ohm)], [550.0], [20.0])


def test_no_notch_with_a_grid_gives_no_rows():
    assert hold_rows([section("A", 20)], [circuit("4", "")], [550.0], [20.0]) == ()


def test_unlike_metals_each_stop_at_their_own_table():
    steel = replace(PLATE, metal=metal("ss304"), cold_ohm=0.05)
    sections = [section("A", 20), section("S", 6, steel, limit_c=600.0)]
    rows = hold_rows(sections, [circuit("1", "AS")], [400.0], [20.0], ends=[AS_GIVEN])
    assert {row.section: row.limit_c for row in rows} == {"A": 400.0, "S": 600.0}
    assert min(row.margin_k for row in rows) == pytest.approx(0.0, abs=1e-3)


def test_a_limit_above_the_table_is_followed_and_told():
    """Copper-nickel is tabulated to 53 degC and used to 250: the slope is carried on, and the papers can know."""
    low = replace(PLATE, metal=metal("cuni10"))
    far = section("A", 20, low, limit_c=250.0)
    assert limit_beyond_table(far) and not limit_beyond_table(section("A", 20))
    row = hold_rows([far], [circuit("1", "A")], [400.0], [20.0], ends=[AS_GIVEN])[0]
    assert row.hold_s is not None and row.hot_c == pytest.approx(250.0, abs=1e-3)
