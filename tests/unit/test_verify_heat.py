"""The temperature a claimed current leads to, against an integrator of another make and against the balance itself."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from griddesign.figures import Figure, Status
from griddesign.heat.cooling import loss_w
from griddesign.heat.records import PlateBody, Stack
from griddesign.metals import Metal, metal
from griddesign.verify.heat import SAME_K, estimates_of, reached
from griddesign.verify.spans import Span

STACK = Stack(3, 0.0127)


def known(key: str) -> Metal:
    """The metal with its heat's figures measured: no estimate, no range."""
    found = metal(key)
    for name in ("alpha20", "emissivity", "specific_heat_20", "specific_heat_400"):
        found = found.with_figure(name, Figure.exact(getattr(found, name).value, Status.MEASURED))
    return found


def body(of: Metal) -> PlateBody:
    return PlateBody(0.25, 0.19, 0.005, 0.085, 1.05, 0.1, of)


@pytest.mark.parametrize(("current_a", "time_s"), [(150.0, 30.0), (60.0, 600.0), (300.0, 10.0)])
def test_short_time_agrees_with_another_integrator(current_a: float, time_s: float) -> None:
    """Radau of scipy on the same balance, properties taken straight and not from tables: within 0.1 K."""
    plate = body(known("fecral_13_4"))

    def rate(_: float, t_c: np.ndarray) -> np.ndarray:
        watt = current_a**2 * plate.cold_ohm * plate.metal.ratio(t_c) - loss_w(plate, STACK, t_c, 40.0)
        return np.asarray(watt / (plate.mass_kg * plate.metal.specific_heat(t_c)))

    ours = reached(plate, STACK, Span.exact(current_a), Span.exact(plate.cold_ohm), 40.0, time_s)
    theirs = solve_ivp(rate, (0.0, time_s), [40.0], method="Radau", rtol=1e-9, atol=1e-7).y[0, -1]
    assert ours.hot.value == pytest.approx(theirs, abs=0.1)
    assert ours.hot.low < ours.hot.value < ours.hot.high, "20 per cent of the loss either way"


def test_for_ever_ends_where_loss_and_heat_balance() -> None:
    plate = body(known("fecral_13_4"))
    hot = reached(plate, STACK, Span.exact(60.0), Span.exact(plate.cold_ohm), 40.0, None).hot
    for t_c, factor in ((hot.low, 1.2), (hot.value, 1.0), (hot.high, 0.8)):
        heat = 60.0**2 * plate.cold_ohm * plate.metal.ratio(t_c)
        assert float(loss_w(plate, STACK, t_c, 40.0, factor)) == pytest.approx(heat, rel=1e-3)


def test_without_loss_in_so_short_a_time_the_rise_is_heat_over_capacity() -> None:
    """By hand: I^2 R t / (m c), c and R at 20 degC, 0.1 s."""
    plate = body(known("ni35cr20"))
    hot = reached(plate, STACK, Span.exact(200.0), Span.exact(plate.cold_ohm), 20.0, 0.1).hot
    rise_k = 200.0**2 * plate.cold_ohm * 0.1 / (plate.mass_kg * plate.metal.specific_heat_20.value)
    assert hot.value - 20.0 == pytest.approx(rise_k, rel=1e-3)


def test_an_estimate_without_a_range_is_given_one_and_named() -> None:
    plate = body(metal("ni35cr20"))
    hot = reached(plate, STACK, Span.exact(60.0), Span.exact(plate.cold_ohm), 40.0, 120.0).hot
    assert hot.rests_on == estimates_of(plate.metal)
    assert "emissivity of ni35cr20" in hot.rests_on
    firm = reached(body(known("ni35cr20")), STACK, Span.exact(60.0), Span.exact(plate.cold_ohm), 40.0, 120.0).hot
    assert hot.high - hot.low > firm.high - firm.low
    assert firm.rests_on == ()
    assert SAME_K > 0.0


def test_a_span_keeps_both_ends_and_what_it_rests_on() -> None:
    one = Span(2.0, 1.0, 3.0, ("a",))
    two = Span(4.0, 4.0, 5.0, ("b", "a"))
    assert one * two == Span(8.0, 4.0, 15.0, ("a", "b"))
    assert one / two == Span(0.5, 0.2, 0.75, ("a", "b"))
    assert Span.of(Figure.exact(10.0, Status.MEMORY), "x") == Span(10.0, 9.0, 11.0, ("x",))
    assert Span.of(Figure(10.0, 9.5, 12.0, Status.SEEN), "x") == Span(10.0, 9.5, 12.0)
