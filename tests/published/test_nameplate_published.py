"""Published series motors from their own rating: the whole published curve must lie within the stated spread.

The rating of a motor in these tables is taken at a current the table holds, with the speed printed there. The motor
under test is first left out of the shapes, so the spread comes from the others alone: that is the real trial. The most
and the least saturated of all then stand outside by what is written beside them; with all shapes each is enclosed.

The figures are those of published companions that work the books' examples again; the books were not seen.
"""

from math import pi

import pytest

from griddesign.traction.curve import MotorCurve
from griddesign.traction.nameplate import (
    Nameplate,
    efficiency,
    magnetisation,
    resistance_ends,
    spread,
)
from griddesign.traction.shapes import Shape, published_shapes

RPM = pi / 30.0


THERAJA = "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III"
CURVES = {
    "theraja_43_22": f"{THERAJA}, Ex 43.22",
    "theraja_43_23": f"{THERAJA}, Ex 43.23, p. 1737",
    "chakrabarti_4_6_1": "A. Chakrabarti et al., A Textbook on Power System Engineering, Ex 4.6.1, p. 788",
}


def others(key: str) -> tuple[Shape, ...]:
    found = tuple(shape for shape in published_shapes() if shape.key != key)
    assert len(found) == len(published_shapes()) - 1
    return found


def ends(volts_v: float, ohm: float, current_a: float, rpm: float, shapes: tuple[Shape, ...]) -> list[MotorCurve]:
    """The least and the most saturated curve of a motor rated so."""
    power_w = (volts_v - current_a * ohm) * current_a
    plate = Nameplate(power_w, volts_v, current_a, ohm, rpm * RPM)
    return [MotorCurve(magnetisation(plate, saturation, shapes)) for saturation in (0.0, 1.0)]


def outside(value: float, both: list[float]) -> float:
    """How far a value lies outside two ends, as a share of itself; 0 between them."""
    return max(min(both) - value, value - max(both), 0.0) / value


# Volts, ohms, rated current here, the printed rows of current and speed, and how far outside the others' spread.
SPEEDS = [
    pytest.param(
        "theraja_43_22", 230.0, 0.3, 20.0,
        {5: 546, 10: 434, 15: 323, 20: 276, 25: 247, 30: 218, 35: 204, 40: 194}, 0.0,
        id="Theraja and Theraja, A Textbook of Electrical Technology, vol. III, Ex 43.22",
    ),
    pytest.param(
        "theraja_43_23", 600.0, 0.8, 60.0, {20: 1630, 40: 894, 60: 683, 80: 585}, 0.01,
        id="Theraja and Theraja, vol. III, Ex 43.23, p. 1737, rated at 60 A",
    ),
    pytest.param(
        "theraja_43_23", 600.0, 0.8, 40.0, {20: 1630, 40: 894, 60: 683, 80: 585}, 0.105,
        id="the same rated at 40 A, where it is the least saturated of all",
    ),
    pytest.param(
        "chakrabarti_4_6_1", 500.0, 0.6, 40.0, {10: 874, 20: 656, 30: 552, 40: 498}, 0.15,
        id="Chakrabarti et al., A Textbook on Power System Engineering, Ex 4.6.1, p. 788, the most saturated",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("key", "volts_v", "ohm", "rated_a", "rows", "miss"), SPEEDS)
def test_printed_speeds_lie_between_the_two_ends(
    key: str, volts_v: float, ohm: float, rated_a: float, rows: dict[int, float], miss: float, checked
) -> None:
    """Speed at full volts, ``(V - I·R)/k(I)``, against the speeds printed; ``miss`` is the most it may lie outside."""
    both = ends(volts_v, ohm, rated_a, rows[int(rated_a)], others(key))
    for current_a, rpm in rows.items():
        found = [curve.speed_rad_s(volts_v, ohm, float(current_a)) / RPM for curve in both]
        assert outside(rpm, found) <= miss + 1e-12, (current_a, rpm, found)
    with_itself = ends(volts_v, ohm, rated_a, rows[int(rated_a)], published_shapes())
    for current_a, rpm in rows.items():
        found = [curve.speed_rad_s(volts_v, ohm, float(current_a)) / RPM for curve in with_itself]
        assert outside(rpm, found) <= 0.001, (current_a, rpm, found)
    nearest = []
    for current_a, rpm in rows.items():
        found = sorted(curve.speed_rad_s(volts_v, ohm, float(current_a)) / RPM for curve in both)
        nearest.append(min(max(rpm, found[0]), found[1]))
    what = f"speed by a nameplate of {rated_a:g} A, nearest point of the spread of the other shapes"
    checked(CURVES[key], what, list(rows.values()), nearest, "rpm")


def test_a_printed_rating_encloses_its_whole_curve() -> None:
    """The one motor whose rating is printed: 220 V, 100 A; emf at 700 rpm 181 V at 100 A, then 198.5, 211 and 221.5 V
    at 125, 150 and 175 A (a chopper problem of G. K. Dubey, Fundamentals of Electrical Drives, as worked on a course
    page; the points of 25, 50 and 75 A, 66.5, 124 and 158.5 V, from memory). 0.1 ohm."""
    both = ends(220.0, 0.1, 100.0, 700.0 * 210.0 / 181.0, others("dubey_chopper"))
    for current_a, emf_v in {25: 66.5, 50: 124.0, 75: 158.5, 100: 181.0, 125: 198.5, 150: 211.0, 175: 221.5}.items():
        found = [curve.k(float(current_a)) * 700.0 * RPM for curve in both]
        assert outside(emf_v, found) <= 1e-9, (current_a, emf_v, found)


def test_torques_of_a_braking_example_lie_between_the_two_ends() -> None:
    """Theraja and Theraja, vol. III, Ex 43.32, p. 1751: 50 to 250 A, 150 to 1750 N·m; its torque scaled at 125 A, since
    its speeds do not balance with its torques."""
    rows = {50: 150.0, 100: 525.0, 150: 930.0, 200: 1335.0, 250: 1750.0}
    torque_125 = (525.0 + 930.0) / 2.0
    both = ends(600.0, 0.6, 125.0, 525.0 * 125.0 / torque_125 / RPM, others("theraja_43_32"))
    for current_a, torque_nm in rows.items():
        found = [curve.torque_nm(float(current_a)) for curve in both]
        assert outside(torque_nm, found) <= 0.02, (current_a, torque_nm, found)


def test_losses_that_are_all_copper_give_back_the_ohms_printed(checked) -> None:
    """Theraja and Theraja, vol. III, Ex 43.23: 600 V, 0.8 ohm, at 40 A. With ``P = Eb·I`` nothing but copper is lost,
    so the most ohms the plate allows are the motor's own, and the least lie below."""
    power_w = (600.0 - 40.0 * 0.8) * 40.0
    low, likely, high = resistance_ends(power_w, 600.0, 40.0)
    assert high == pytest.approx(0.8, rel=1e-12)
    assert 0.0 < low < likely < high
    checked("Theraja and Theraja, vol. III, Ex 43.23", "most ohms a nameplate allows", 0.8, high, "ohm")


def test_efficiency_of_a_street_railway_motor_by_its_plate(checked) -> None:
    """Report of the Electric Railway Test Commission (1906), p. 122: 25 hp at 45 A and 500 V: 82.9 %, worked out."""
    assert efficiency(25 * 745.7, 500.0, 45.0) == pytest.approx(0.829, abs=5e-4)
    report = "Report of the Electric Railway Test Commission (1906), p. 122"
    checked(report, "efficiency of a 25 hp motor", 0.829, efficiency(25 * 745.7, 500.0, 45.0))


def test_half_of_the_losses_copper_lies_within_the_spread(checked) -> None:
    """Deshpande, Electrical Machines, Ex 9.2, p. 198: 3.73 kW, 200 V, efficiency 0.88, copper half of the losses gives
    the armature 0.57 ohm."""
    current_a = 3730.0 / 0.88 / 200.0
    low, _, high = resistance_ends(3730.0, 200.0, current_a)
    assert low < 0.57 < high
    assert 0.5 * high == pytest.approx(0.57, abs=0.005)
    checked(
        "M. V. Deshpande, Electrical Machines, Ex 9.2, p. 198",
        "ohms with half of the losses copper",
        0.57,
        0.5 * high,
        "ohm",
    )


def test_every_published_shape_lies_between_the_two_ends() -> None:
    """With either end of its rated current, up to the end of its own curve (twice the rated current for most)."""
    straight, bent = spread(published_shapes())
    shares = (0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0, 1.125, 1.25, 1.375, 1.5, 2.0)
    for shape in published_shapes():
        for rated_a in shape.rated_a:
            for share, one, other in zip(shares, straight, bent, strict=False):
                if share * rated_a <= shape.curve.highest_a:
                    flux = shape.flux(share, rated_a)
                    assert min(one, other) - 1e-9 <= flux <= max(one, other) + 1e-9, (shape.key, rated_a, share)
