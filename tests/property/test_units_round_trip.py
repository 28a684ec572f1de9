"""What is shown reads back; what is read does not depend on the unit it was written in."""

import math
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import QuantityError
from griddesign.units import KINDS, read, read_at, show, show_fraction, show_range
from griddesign.units.quantity import from_si
from griddesign.units.spellings import TABLE

DEGREES = ("temperature", "temperature_difference")
SIZES = st.floats(1e-9, 1e9)
PROPORTIONAL = sorted(set(KINDS) - {*DEGREES, "count", "fraction", "gradient"})


@given(st.sampled_from(PROPORTIONAL), SIZES, st.integers(1, 9), st.sampled_from(["mm", "inch"]))
def test_shown_reads_back_within_its_digits(kind: str, value: float, digits: int, units: str) -> None:
    back = read(show(value, kind, digits=digits, units=units), kind).value
    assert abs(back - value) <= 0.5000001 * 10.0 ** (1 - digits) * max(abs(value), abs(back))


@given(st.sampled_from(["fraction", "gradient"]), st.floats(1e-6, 1.0), st.sampled_from([1, -1]), st.integers(1, 9))
def test_shares_read_back_within_their_digits(kind: str, value: float, sign: int, digits: int) -> None:
    signed = sign * value if kind == "gradient" else value
    assert math.isclose(
        read(show(signed, kind, digits=digits), kind).value, signed, rel_tol=0.51 * 10.0 ** (1 - digits)
    )


@given(st.floats(-200.0, 2000.0), st.integers(3, 8), st.sampled_from(["mm", "inch"]))
def test_temperatures_read_back_within_their_digits(value: float, digits: int, units: str) -> None:
    back = read(show(value, "temperature", digits=digits, units=units), "temperature").value
    assert abs(back - value) <= 0.5000001 * 10.0 ** (3 - digits)


@given(st.integers(0, 10_000))
def test_counts_read_back(count: int) -> None:
    assert read(show(count, "count"), "count").value == count


@given(st.integers(1, 100_000), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch_read_back_exactly(parts: int, parting: int) -> None:
    value = float(Fraction(parts, parting) * Fraction("0.0254"))
    assert read(show_fraction(value, parts=parting), "length").value == value


@given(st.sampled_from(PROPORTIONAL), SIZES, st.floats(1.001, 100.0))
def test_ranges_read_back(kind: str, low: float, ratio: float) -> None:
    back = read(show_range(low, low * ratio, kind, digits=6), kind)
    assert math.isclose(back.low, low, rel_tol=1e-5)
    assert math.isclose(back.high, low * ratio, rel_tol=1e-5)


@settings(max_examples=300)
@given(st.sampled_from(sorted(set(KINDS) - {"number", "count"})), st.decimals("0.001", "0.9", places=4), st.data())
def test_a_value_reads_alike_in_every_unit_of_its_kind(kind: str, value: object, data: st.DataObject) -> None:
    """To a relative 1e-12: written in a unit with 17 figures, any quantity comes back as it was."""
    unit, listed = data.draw(st.sampled_from(sorted(TABLE[kind].units.items())))
    spelling = data.draw(st.sampled_from(listed.split(", ")))
    si = Fraction(str(value))
    written = f"{float(from_si(si, unit, kind)):.17g}".replace("e+", "e")
    if written.startswith("-") and TABLE[kind].low == 0.0:
        return
    assert math.isclose(read(f"{written} {spelling}", kind).value, float(si), rel_tol=1e-12, abs_tol=1e-12)


@given(st.integers(0, 200), st.integers(0, 11), st.integers(0, 31))
def test_feet_and_inches_in_every_form_are_one_length(feet: int, inches: int, parts: int) -> None:
    fraction = f" {parts}/32" if parts else ""
    exact = read(f"{(feet * 12 + inches) * 32 + parts}e0 in", "length").value / 32
    forms = [f"{feet} ft {inches}{fraction} in", f"{feet}' {inches}{fraction}\"", f"{feet}′-{inches}{fraction}″"]
    for form in forms:
        assert math.isclose(read(form, "length").value, exact, rel_tol=1e-15, abs_tol=0.0)


@settings(max_examples=400)
@given(
    st.text(st.sampled_from("0123456789 ./-+,eE'\"½°CmtinfkgΩVA%²·to()±×"), max_size=16), st.sampled_from(sorted(KINDS))
)
def test_any_text_is_read_finite_and_in_order_or_refused_with_a_hint(text: str, kind: str) -> None:
    try:
        reading, _ = read_at(text, kind)
    except QuantityError as refused:
        assert refused.hint
        assert refused.message
    else:
        assert math.isfinite(reading.low)
        assert reading.low <= reading.value <= reading.high
        assert math.isfinite(reading.high)


@settings(max_examples=300)
@given(st.text(max_size=100), st.sampled_from(sorted(KINDS)))
def test_no_text_at_all_raises_anything_else(text: str, kind: str) -> None:
    try:
        read(text, kind)
    except QuantityError as refused:
        assert refused.hint
