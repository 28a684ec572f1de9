"""The march in time against closed forms and against scipy's DOP853, which shares no line with it."""

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from griddesign.figures import Figure, Status
from griddesign.heat.closed import settled_peak_k, stalled_adiabatic_s
from griddesign.heat.cooling import loss_w
from griddesign.heat.holds import HELD_RUNNING, STALLED, hold_curves_c, hold_rows
from griddesign.heat.lumps import AS_GIVEN, End
from griddesign.heat.march import march
from griddesign.heat.network import NotchCircuit
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.metals import metal

IRON = metal("grey_iron_class30")
PLATE = PlateBody(0.25, 0.19, 0.005, 0.087, 0.86, 0.069, IRON)
NEVER = 1e9


def exact(value: float) -> Figure:
    return Figure.exact(value, Status.GIVEN, "test")


def flat_heat(body: PlateBody, joules: float = 480.0) -> PlateBody:
    flat = body.metal.with_figure("specific_heat_400", exact(joules)).with_figure("specific_heat_20", exact(joules))
    return replace(body, metal=flat)


@dataclass(frozen=True)
class Newton:
    """dT/dt = (T_end - T)/tau, one section."""

    end_c: np.ndarray
    tau_s: np.ndarray

    def rate(self, t_c):
        return (self.end_c - t_c) / self.tau_s

    def take(self, keep):
        return Newton(self.end_c[keep], self.tau_s[keep])


def column(*values):
    return np.array(values)[:, None]


def test_one_lump_is_the_exponential_to_1e6():
    system = Newton(column(300.0, 500.0, 900.0), column(800.0, 60.0, 5000.0))
    start, never = column(20.0, 20.0, 40.0), column(NEVER, NEVER, NEVER)
    seconds = np.array([700.0, 100.0, 9000.0])
    got = march(system, start, never, never, seconds).end_c
    want = system.end_c + (start - system.end_c) * np.exp(-seconds[:, None] / system.tau_s)
    assert np.abs((got - want) / (want - start)).max() < 1e-6


def test_crossing_time_to_1e6():
    system = Newton(column(500.0, 450.0), column(800.0, 60.0))
    course = march(system, column(20.0, 20.0), column(400.0, 400.0), column(NEVER, 420.0))
    want = [800.0 * math.log(480.0 / 100.0), 60.0 * math.log(430.0 / 50.0)]
    assert course.limit_s == pytest.approx(want, rel=1e-6)
    assert course.at_limit_c[:, 0] == pytest.approx(400.0, abs=1e-4)
    assert course.end_c[0, 0] == pytest.approx(500.0, abs=2e-3)
    assert course.topped.tolist() == [False, True]


def test_steady_state_below_the_limit_is_never():
    course = march(Newton(column(399.9), column(800.0)), column(20.0), column(400.0), column(NEVER))
    assert np.isinf(course.limit_s[0])
    assert course.end_c[0, 0] == pytest.approx(399.9, abs=2e-3)


def test_a_start_over_the_limit_is_no_hold():
    course = march(Newton(column(900.0), column(800.0)), column(410.0), column(400.0), column(450.0))
    assert course.limit_s[0] == 0.0


def test_settled_cycles_to_1e6():
    """Closed form of repeated starts against two hundred marched cycles, constant everything."""
    on_s, off_s, tau_on, tau_off, rise = 11.0, 109.0, 700.0, 900.0, 2600.0
    t_c, never = column(0.0), column(NEVER)
    for _ in range(200):
        t_c = march(Newton(column(rise), column(tau_on)), t_c, never, never, np.array([on_s])).end_c
        peak = float(t_c[0, 0])
        t_c = march(Newton(column(0.0), column(tau_off)), t_c, never, never, np.array([off_s])).end_c
    assert peak == pytest.approx(settled_peak_k(rise, on_s, off_s, tau_on, tau_off), rel=1e-6)


def test_stalled_adiabatic_oracle():
    """The derived oracle (24 812 J/K, 4.152 and 0.88 ohm, 0.0019/K, 550 V, 20 to 400 degC), by the whole chain."""
    body = flat_heat(replace(PLATE, mass_kg=24_812.0 / 60 / 480, cold_ohm=4.152 / 60))
    section = HeatedSection("all", body, 60, 1, Stack(60, 0.0127), 400.0)
    rows = hold_rows([section], [NotchCircuit("1", ("all",), 0.88)], [550.0], [20.0], ends=[End("none", loss=0.0)])
    form = stalled_adiabatic_s(
        24_812.0, cold_ohm=4.152, other_ohm=0.88, alpha20=0.0019, line_v=550.0, start_c=20.0, end_c=400.0
    )
    assert rows[0].hold_s == pytest.approx(form, rel=1e-6)
    assert rows[0].hold_s == pytest.approx(235.37, abs=0.01)


def test_single_section_is_a_quadrature():
    """``t = integral of C dT / (heat - loss)`` by scipy's quad, everything varying with temperature."""
    section = HeatedSection("A", PLATE, 20, 1, Stack(20, 0.0127), 380.0)
    row = hold_rows([section], [NotchCircuit("1", ("A",), 0.9)], [300.0], [30.0], ends=[AS_GIVEN])[0]

    def seconds_per_k(t_c: float) -> float:
        ohm = PLATE.cold_ohm * IRON.ratio(t_c)
        heat = (300.0 / (0.9 + 20 * ohm)) ** 2 * ohm
        return PLATE.mass_kg * IRON.specific_heat(t_c) / (heat - float(loss_w(PLATE, section.stack, t_c, 30.0)))

    assert row.hold_s == pytest.approx(
        quad(seconds_per_k, 30.0, 380.0, epsabs=1e-9, epsrel=1e-9, limit=200)[0], rel=1e-4
    )


THREE = (
    HeatedSection("A", PLATE, 20, 1, Stack(20, 0.0127), 400.0),
    HeatedSection("B", replace(PLATE, mass_kg=0.5, surface_m2=0.06), 9, 1, Stack(9, 0.010), 390.0),
    HeatedSection("C", PLATE, 4, 2, Stack(8, 0.0127), 400.0),
)


def divide_a_beside_b_then_c(ohms):
    a, b, c = (ohms[..., place] for place in range(3))
    both = a * b / (a + b)
    return both + c, np.stack([b / (a + b), a / (a + b), np.ones_like(c)], axis=-1)


def run_law(grid_ohm, line_v):
    return (line_v - 180.0) / (0.9 + grid_ohm)


def reference(circuit, line_v, start_c, ambient_c, running=False):
    """The same network written out plainly for scipy: no tables, no vectors over cases."""

    def rate(_, t_c):
        ohms = np.array(
            [
                s.body.cold_ohm * s.series / s.in_parallel * s.body.metal.ratio(float(t))
                for s, t in zip(THREE, t_c, strict=True)
            ]
        )
        grid, shares = (ohms.sum(), np.ones(3)) if circuit.divide is None else circuit.divide(ohms)
        current = run_law(grid, line_v) if running else line_v / (circuit.other_ohm + grid)
        return [
            (
                (current * share / s.in_parallel) ** 2 * s.body.cold_ohm * s.body.metal.ratio(float(t))
                - float(loss_w(s.body, s.stack, float(t), ambient_c))
            )
            / (s.body.mass_kg * s.body.metal.specific_heat(float(t)))
            for s, share, t in zip(THREE, shares, t_c, strict=True)
        ]

    def over(_, t_c):
        return max(t - s.limit_c for s, t in zip(THREE, t_c, strict=True))

    over.terminal = True
    return solve_ivp(rate, (0.0, 4000.0), start_c, "DOP853", rtol=1e-9, atol=1e-7, events=over, dense_output=True)


@pytest.mark.parametrize("divide", [None, divide_a_beside_b_then_c])
@pytest.mark.parametrize("way", [STALLED, HELD_RUNNING])
def test_network_against_dop853(divide, way):
    """Three unlike sections, plain run and branches: hold to 0.02 %, temperatures to 1e-2 K of scipy's DOP853."""
    circuit = NotchCircuit("1", ("A", "B", "C"), 0.9, divide, run_law)
    line_v = {None: 400.0, divide_a_beside_b_then_c: 180.0 if way == STALLED else 260.0}[divide]
    settled = {"A": 60.0, "B": 100.0, "C": 30.0}
    rows = hold_rows(THREE, [circuit], [line_v], [25.0], settled, ends=[AS_GIVEN])
    got = [row for row in rows if row.case == f"{way}, from settled duty"]
    want = reference(circuit, line_v, list(settled.values()), 25.0, running=way == HELD_RUNNING)
    if want.t_events[0].size:
        assert got[0].hold_s == pytest.approx(want.t_events[0][0], rel=2e-4)
        assert [row.hot_c for row in got] == pytest.approx(list(want.y_events[0][0]), abs=1e-2)
    else:
        assert got[0].hold_s is None
    moments = np.linspace(0.0, want.t[-1] * 0.98, 9)
    curves = hold_curves_c(THREE, circuit, line_v, 25.0, moments, way=way, settled=settled)
    assert np.abs(curves - want.sol(moments).T).max() < 1e-3
