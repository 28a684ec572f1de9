"""Starter steps of the textbooks, constant flux and saturating.

B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. II, Ex 30.50 (p. 1080), 30.53 (p. 1082),
30.56 (p. 1085); M. V. Deshpande, Electrical Machines, Ex 9.2 (p. 198); D. P. Kothari and I. J. Nagrath, Electric
Machines, Ex 7.44 (p. 231); T. K. Nagsarkar and M. S. Sukhija, Basic Electrical Engineering, Ex 9.14 (p. 557). Seen in
published companions that re-work the solved examples; the printed books were not seen.
"""

from itertools import pairwise
from math import pi

import pytest

from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import speed_rad_s
from griddesign.traction.ladder import ladder
from griddesign.traction.records import (
    Car,
    Grouping,
    Ladder,
    Line,
    MagnetisationPoints,
    Motor,
    Notch,
    RunningResistance,
    Start,
)
from griddesign.traction.textbook import constant_flux_count, constant_flux_sections, saturating_totals

THERAJA = "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. II"
DESHPANDE = "M. V. Deshpande, Electrical Machines, Ex 9.2, p. 198"
KOTHARI = "D. P. Kothari and I. J. Nagrath, Electric Machines, Ex 7.44, p. 231"
NAGSARKAR = "T. K. Nagsarkar and M. S. Sukhija, Basic Electrical Engineering, Ex 9.14, p. 557"

NEARLY_CONSTANT_FLUX = MagnetisationPoints(100.0, (0.01, 1000.0), (220.0, 220.0 * (1.0 + 1e-9)))
CAR = Car(5000.0, 0.0, 0.8, 4.0, 1.0, RunningResistance())


def ladder_of_one_motor(
    volts: float, motor_ohm: float, peak: float, sections: int, points: MagnetisationPoints
) -> Ladder:
    names = "ABCDEFGHIJ"[:sections]
    notches = [Notch(str(k), Grouping(1, 1), Run(tuple(names[k:]))) for k in range(sections + 1)]
    motor = Motor(1, motor_ohm, 20.0, points)
    return ladder(Line(volts, volts), CAR, motor, Start(peak, peak), notches, section_order=names)


THERAJA_30_50 = (1.812, 1.215, 0.815, 0.546, 0.366, 0.246)
KOTHARI_7_44 = (0.64883, 0.35040, 0.18924, 0.10220)


def test_theraja_30_50(checked) -> None:
    sections = constant_flux_sections(220.0, 0.5, 40.0, 6)
    assert sections == pytest.approx(THERAJA_30_50, abs=6e-4)
    assert sum(sections) + 0.5 == pytest.approx(5.5)
    checked(f"{THERAJA}, Ex 30.50, p. 1080", "sections of a starter", THERAJA_30_50, sections, "ohm")


def test_theraja_30_53_number_of_sections(checked) -> None:
    count = constant_flux_count(250.0, 0.125, 200.0, 150.0)
    assert count == pytest.approx(8.004, abs=1e-3)
    published = (0.313, 0.234, 0.176, 0.132, 0.099, 0.074, 0.056, 0.042)
    assert constant_flux_sections(250.0, 0.125, 200.0, round(count)) == pytest.approx(published, abs=1e-3)
    sections = constant_flux_sections(250.0, 0.125, 200.0, round(count))
    checked(f"{THERAJA}, Ex 30.53, p. 1082", "number of sections", 8.004, count)
    checked(f"{THERAJA}, Ex 30.53, p. 1082", "sections of a starter (three decimals)", published, sections, "ohm")


def test_deshpande_9_2(checked) -> None:
    full_load = 3730.0 / 0.88 / 200.0
    motor_ohm = 0.5 * (3730.0 / 0.88 - 3730.0) / full_load**2
    assert motor_ohm == pytest.approx(0.57, abs=0.005)
    sections = constant_flux_sections(200.0, motor_ohm, 2.0 * full_load, 5)
    assert sections == pytest.approx((1.63, 1.07, 0.70, 0.46, 0.30), abs=0.012)
    checked(DESHPANDE, "sections of a starter (two decimals)", (1.63, 1.07, 0.70, 0.46, 0.30), sections, "ohm")


def test_kothari_7_44_sections_and_speeds(checked) -> None:
    peak = 1.5 * 25000.0 / 230.0
    sections = constant_flux_sections(230.0, 0.12, peak, 4)
    assert sections == pytest.approx(KOTHARI_7_44, abs=6e-6)
    totals = [0.12 + sum(sections[k:]) for k in range(5)]
    valley = peak * totals[1] / totals[0]
    k_flux = (230.0 - 103.7 * 0.12) / 2000.0
    speeds = [(230.0 - valley * total) / k_flux for total in totals[:4]]
    assert speeds == pytest.approx((972.50, 1497.71, 1781.35, 1934.53), rel=3e-4)
    checked(KOTHARI, "sections of a starter", KOTHARI_7_44, sections, "ohm")
    checked(KOTHARI, "speeds of a starter", (972.50, 1497.71, 1781.35, 1934.53), speeds, "rpm")


@pytest.mark.parametrize(
    ("volts", "motor_ohm", "peak", "published", "digit"),
    [(220.0, 0.5, 40.0, THERAJA_30_50, 6e-4), (230.0, 0.12, 1.5 * 25000.0 / 230.0, KOTHARI_7_44, 6e-6)],
)
def test_the_ladder_gives_the_same_starter(
    volts: float, motor_ohm: float, peak: float, published: tuple[float, ...], digit: float, checked
) -> None:
    found = ladder_of_one_motor(volts, motor_ohm, peak, len(published), NEARLY_CONSTANT_FLUX)
    assert [ohm for _, ohm in found.sections] == pytest.approx(published, abs=digit)
    ratio = (motor_ohm * peak / volts) ** (1.0 / len(published))
    assert found.valley_a == pytest.approx(peak * ratio, rel=1e-7)
    checked(
        "Theraja II, Ex 30.50; Kothari and Nagrath, Ex 7.44",
        "sections by the ladder",
        published,
        [ohm for _, ohm in found.sections],
        "ohm",
    )


def test_theraja_30_56_saturating(checked) -> None:
    totals = saturating_totals(650.0, 0.51, 140.0, 100.0, 1.2)
    sections = [a - b for a, b in pairwise(totals)]
    assert sections[:3] == pytest.approx((1.592, 1.364, 1.170), abs=1.5e-3)
    assert totals[3] == pytest.approx(0.517, abs=1e-3)
    checked(f"{THERAJA}, Ex 30.56, p. 1085", "sections, saturating motor", (1.592, 1.364, 1.170), sections[:3], "ohm")


def test_nagsarkar_9_14_saturating(checked) -> None:
    totals = saturating_totals(450.0, 0.25, 160.0, 125.0, 1.12)
    sections = [a - b for a, b in pairwise(totals)]
    assert sections[:4] == pytest.approx((0.69, 0.60, 0.53, 0.46), abs=6e-3)
    assert totals[4] - 0.25 == pytest.approx(0.28, abs=6e-3)
    checked(NAGSARKAR, "sections, saturating motor (two decimals)", (0.69, 0.60, 0.53, 0.46), sections[:4], "ohm")


def test_the_ladder_follows_the_saturating_recursion(checked) -> None:
    """Theraja Ex 30.56 with as many sections as nearly fit: the ladder finds the valley that fits exactly."""
    points = MagnetisationPoints(2.0 * pi, (20.0, 100.0, 140.0), (130.0, 500.0, 600.0))
    found = ladder_of_one_motor(650.0, 0.51, 140.0, 3, points)
    flux_ratio = MotorCurve(points).k(140.0) / MotorCurve(points).k(found.valley_a)
    totals = saturating_totals(650.0, 0.51, 140.0, found.valley_a, flux_ratio)
    assert [notch.total_ohm for notch in found.notches] == pytest.approx(totals[:4], rel=1e-7)
    assert found.valley_a == pytest.approx(100.0, rel=0.01)
    speeds = [speed_rad_s(650.0, total, 1, MotorCurve(points), found.valley_a) for total in totals[:4]]
    assert [notch.leave_rad_s for notch in found.notches] == pytest.approx(speeds, rel=1e-7)
    checked(
        f"{THERAJA}, Ex 30.56, p. 1085",
        "valley by the ladder (the book's sections nearly fit)",
        100.0,
        found.valley_a,
        "A",
    )
