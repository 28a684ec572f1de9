"""Ordering and measuring, there and back: any ohms wanted are met or refused, any heat measured is found again."""

import math
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import GeometryError
from griddesign.job.readings import read_plates_csv
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.freeing import with_thickness
from griddesign.plate.measured import MeasuredPlate, Reading, four_wire, heat_figures, metal_check
from griddesign.plate.ohms import cold_ohm
from griddesign.plate.replacement import FREE, Asked, Free, replacement
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import eye_centres, outline_of

IRON = metal("grey_iron_class30")
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
OHM = cold_ohm(PLATE, IRON)


@settings(deadline=None, max_examples=8)
@given(st.floats(0.3, 4.0), st.sampled_from(FREE))
def test_wanted_ohms_are_met_inside_the_envelope_or_refused(times: float, free: Free) -> None:
    try:
        found = replacement(Asked(PLATE, IRON, "cast", times * OHM), free)
    except GeometryError as refused:
        assert "Nearest is" in refused.hint
        return
    assert found.figures.cold_ohm == pytest.approx(times * OHM, rel=1e-4)
    assert found.figures.low_ohm <= times * OHM * (1 + 1e-9) and times * OHM <= found.figures.high_ohm * (1 + 1e-9)
    assert found.shape.height_m == PLATE.height_m
    old, new = eye_centres(PLATE), eye_centres(found.shape)
    span = [math.dist(eyes["first eye"], eyes["last eye"]) for eyes in (old, new)]
    assert span[0] == pytest.approx(span[1], rel=1e-12)
    if free != "strip_width":
        assert found.shape.width_m == pytest.approx(PLATE.width_m, rel=1e-12)
    assert not found.broken


@settings(deadline=None, max_examples=50)
@given(
    st.floats(2e-7, 1.5e-6),
    st.floats(5e-4, 3e-3),
    st.floats(0.003, 0.009),
    st.floats(-20.0, 60.0),
    st.floats(80.0, 300.0),
)
def test_a_heat_is_found_again_from_its_plates(
    rho: float, alpha: float, thickness: float, cold: float, hot: float
) -> None:
    at_20 = rho * plate_squares(PLATE).value / thickness
    readings = tuple(Reading(at_20 * (1 + alpha * (t_c - 20)), t_c) for t_c in (cold, hot))
    heat = heat_figures([(PLATE, MeasuredPlate("1", readings, thickness_m=thickness))], IRON)
    assert heat.resistivity.value == pytest.approx(rho, rel=1e-9)
    assert heat.alpha20 is not None and heat.alpha20.value == pytest.approx(alpha, rel=1e-9)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.0005, 0.05), st.floats(0.9, 1.1), st.floats(0.9, 1.1))
def test_ohms_times_mass_does_not_depend_on_the_thickness(thickness: float, rho: float, density: float) -> None:
    shape = with_thickness(PLATE, thickness)
    ohm = rho * IRON.resistivity.value * plate_squares(shape).value / thickness
    mass = density * IRON.density.value * outline_of(shape).area_m2 * thickness
    check = metal_check(PLATE, MeasuredPlate("1", (Reading(ohm, 20.0),), mass_kg=mass), IRON)
    assert check is not None
    assert check.measured_ohm_kg / check.tabled_ohm_kg == pytest.approx(rho * density, rel=1e-9)


@given(st.floats(0.1, 1000.0), st.floats(1e-4, 10.0), st.floats(-0.4, 0.4))
def test_four_wires_both_ways(current: float, ohm: float, emf_share: float) -> None:
    drop_v = current * ohm
    found, emf_v = four_wire(current, drop_v * (1 + emf_share), drop_v * (1 - emf_share))
    assert found == pytest.approx(ohm, rel=1e-12)
    assert emf_v == pytest.approx(emf_share * drop_v, abs=1e-12 * drop_v)


@settings(deadline=None, max_examples=40)
@given(st.floats(1.0, 900.0), st.floats(-30.0, 80.0), st.floats(0.2, 20.0))
def test_points_and_commas_say_the_same(mohm: float, t_c: float, kg: float) -> None:
    cells = [f"{number:.4f}" for number in (mohm, t_c, kg)]
    texts = (
        "plate,ohm (mohm),temperature (degC),mass (kg)\r\n1," + ",".join(cells),
        "plate;ohm (mohm);temperature (degC);mass (kg)\n1;" + ";".join(cells).replace(".", ","),
    )
    with tempfile.TemporaryDirectory() as folder:
        read = []
        for number, text in enumerate(texts):
            path = Path(folder) / f"{number}.csv"
            path.write_text(text, encoding="utf-8-sig", newline="")
            read.append(read_plates_csv(path).plates)
    assert read[0] == read[1]
    assert read[0][0].cold.ohm == pytest.approx(mohm / 1e3, rel=1e-3, abs=1e-6)
