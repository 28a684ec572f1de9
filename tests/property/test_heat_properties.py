"""What must hold of any grid: more metal, cooler air, less voltage, shorter holds are never worse."""

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from griddesign.heat.cooling import loss_w
from griddesign.heat.cycle import StartHeat
from griddesign.heat.duty import settled_rows, start_rows
from griddesign.heat.holds import hold_curves_c, hold_rows
from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.network import NotchCircuit
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.metals import metal

METALS = tuple(metal(key) for key in ("grey_iron_class30", "ss304", "nicr_80_20", "fecral_13_4", "a436_type1"))
FEW = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])

bodies = st.builds(
    PlateBody,
    height_m=st.floats(0.12, 0.5),
    depth_m=st.floats(0.1, 0.4),
    thickness_m=st.floats(0.002, 0.010),
    surface_m2=st.floats(0.03, 0.3),
    mass_kg=st.floats(0.3, 4.0),
    cold_ohm=st.floats(0.02, 0.12),
    metal=st.sampled_from(METALS),
)


@st.composite
def sections(draw, name="A"):
    body = draw(bodies)
    in_parallel = draw(st.sampled_from((1, 2)))
    series = draw(st.integers(2, 24))
    stack = Stack(series * in_parallel, draw(st.floats(0.005, 0.03)))
    return HeatedSection(name, body, series, in_parallel, stack, draw(st.floats(250.0, 1.0 * body.metal.top_c)))


def one(other_ohm):
    return NotchCircuit("1", ("A",), other_ohm)


def stalled(section, other_ohm, line_v=550.0, ambient_c=30.0):
    row = hold_rows([section], [one(other_ohm)], [line_v], [ambient_c], ends=[AS_GIVEN])[0]
    return np.inf if row.hold_s is None else row.hold_s, row


def margin_tolerance(seconds):
    return 1e-4 * min(seconds, 1e6) + 1e-3


@FEW
@given(sections(), st.floats(0.2, 3.0), st.floats(1.02, 3.0))
def test_more_metal_is_never_hotter(section, other_ohm, times):
    """Same ohms and surface, more mass: holds never get shorter, a settled duty never hotter."""
    heavy = replace(section, body=replace(section.body, mass_kg=section.body.mass_kg * times))
    hold, row = stalled(section, other_ohm)
    heavy_hold, heavy_row = stalled(heavy, other_ohm)
    assert heavy_hold >= hold - margin_tolerance(hold)
    if hold == heavy_hold == np.inf:
        assert heavy_row.hot_c <= row.hot_c + 0.05
    starts = [StartHeat("A", 4000.0 * section.series * section.in_parallel, 10.0)]
    for rows in (start_rows, lambda *args, **more: settled_rows(*args, every_s=240.0, **more)):
        light_c = rows([section], starts, 550.0, [30.0], ends=[AS_GIVEN])[0].hot_c
        assert rows([heavy], starts, 550.0, [30.0], ends=[AS_GIVEN])[0].hot_c <= light_c + 0.02


@FEW
@given(sections(), st.floats(0.2, 3.0), st.floats(5.0, 60.0))
def test_hotter_air_is_never_cooler(section, other_ohm, warmer_k):
    hold, _ = stalled(section, other_ohm, ambient_c=10.0)
    warm_hold, _ = stalled(section, other_ohm, ambient_c=10.0 + warmer_k)
    assert warm_hold <= hold + margin_tolerance(hold)
    starts = [StartHeat("A", 4000.0 * section.series * section.in_parallel, 10.0)]
    cool, warm = settled_rows([section], starts, 550.0, [10.0, 10.0 + warmer_k], every_s=240.0, ends=[AS_GIVEN])
    assert warm.hot_c >= cool.hot_c - 0.02


@FEW
@given(sections(), st.floats(0.2, 3.0), st.floats(100.0, 600.0), st.floats(1.01, 1.5))
def test_more_volts_never_hold_longer(section, other_ohm, line_v, times):
    hold, row = stalled(section, other_ohm, line_v)
    more_hold, more = stalled(section, other_ohm, line_v * times)
    assert more_hold <= hold + margin_tolerance(hold)
    if hold == more_hold == np.inf:
        assert more.hot_c >= row.hot_c - 0.02


@FEW
@given(sections(), st.floats(0.2, 3.0), st.floats(50.0, 600.0))
def test_longer_holds_never_raise_the_margin(section, other_ohm, line_v):
    hold, _ = stalled(section, other_ohm, line_v)
    moments = np.linspace(0.0, min(hold, 4000.0), 12)
    for end in (AS_GIVEN, AS_GIVEN.adiabatic()):
        curve = hold_curves_c([section], one(other_ohm), line_v, 30.0, moments, end=end)[:, 0]
        assert np.all(np.diff(curve[~np.isnan(curve)]) >= -1e-3)


@FEW
@given(
    st.tuples(sections("A"), sections("B"), sections("C")), st.floats(0.2, 3.0), st.floats(50.0, 600.0), st.booleans()
)
def test_the_bound_is_never_below_the_estimate(three, other_ohm, line_v, branched):
    def divide(ohms):
        a, b, c = (ohms[..., place] for place in range(3))
        return a * b / (a + b) + c, np.stack([b / (a + b), a / (a + b), np.ones_like(c)], axis=-1)

    circuit = NotchCircuit("1", ("A", "B", "C"), other_ohm, divide if branched else None)
    settled = {"A": 90.0, "B": 150.0, "C": 60.0}
    for row in hold_rows(three, [circuit], [line_v], [30.0], settled):
        assert row.bound_c >= row.hot_c
        assert row.hold_s is None or (row.hold_bound_s is not None and row.hold_bound_s <= row.hold_s)


@FEW
@given(sections(), st.floats(0.2, 3.0), st.floats(100.0, 600.0))
def test_alone_the_adiabatic_network_is_a_true_bound(section, other_ohm, line_v):
    """One section: without loss it is hotter at every moment, no maximum taken."""
    moments = np.array([5.0, 30.0, 120.0, 600.0])
    best = hold_curves_c([section], one(other_ohm), line_v, 30.0, moments, end=AS_GIVEN)[:, 0]
    bare = hold_curves_c([section], one(other_ohm), line_v, 30.0, moments, end=AS_GIVEN.adiabatic())[:, 0]
    known = ~np.isnan(bare)
    assert np.all(bare[known] >= best[known] - 1e-3)
    assert np.all(np.isnan(bare[np.isnan(best)]))


@FEW
@given(bodies, st.floats(0.003, 0.05), st.integers(1, 30), st.floats(-30.0, 60.0))
def test_loss_rises_with_temperature_and_falls_with_warmer_air(body, gap_m, plates, ambient_c):
    t_c = ambient_c + np.linspace(0.0, 500.0, 60)
    loss = loss_w(body, Stack(plates, gap_m), t_c, ambient_c)
    assert loss[0] == 0.0
    assert np.all(np.diff(loss) > 0.0)
    assert np.all(loss_w(body, Stack(plates, gap_m), t_c, ambient_c + 10.0) <= loss + 1e-12)
