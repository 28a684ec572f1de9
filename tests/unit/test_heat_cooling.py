"""Loss of one plate: signs, limits, the grey enclosure solved on its own, refusals."""

from dataclasses import replace

import numpy as np
import pytest

from griddesign.errors import GeometryError, InputError
from griddesign.figures import Figure, Status
from griddesign.heat.air import air_at, film
from griddesign.heat.closed import heat_run, time_between_s
from griddesign.heat.cooling import (
    STEFAN_BOLTZMANN_W_M2K4,
    convection_w_m2k,
    gap_radiating_m2,
    inner_radiating_m2,
    loss_w,
    mean_radiating_m2,
    plate_nusselt,
    rectangle_view_factor,
)
from griddesign.heat.records import PlateBody, Stack
from griddesign.metals import metal

E08 = metal("grey_iron_class30").with_figure("emissivity", Figure.exact(0.8, Status.GIVEN))
WORKED = PlateBody(0.30, 0.25, 0.006, 0.15, 2.0, 0.05, E08)
STACK = Stack(20, 0.015)


def test_worked_stack_inner_and_mean():
    """Derived figures: mean of the stack 0.0253 m2, an inner plate only 0.0200 m2, whole stack 0.506 m2."""
    assert mean_radiating_m2(WORKED, STACK) == pytest.approx(0.0253, abs=5e-5)
    assert inner_radiating_m2(WORKED, STACK) == pytest.approx(0.0200, abs=5e-5)
    assert 20 * mean_radiating_m2(WORKED, STACK) == pytest.approx(0.506, abs=1e-3)


def test_free_faces_would_overstate_three_to_six_times():
    free = inner_radiating_m2(WORKED, Stack(1, 0.0))
    for gap in (0.017, 0.025, 0.040):
        assert 3.0 < free / inner_radiating_m2(WORKED, Stack(20, gap)) < 6.0


@pytest.mark.parametrize("emissivity", [0.2, 0.63, 0.8, 1.0])
@pytest.mark.parametrize("gap", [0.005, 0.015, 0.1])
def test_gap_against_a_radiosity_solution(emissivity, gap):
    """Two like grey walls and a black mouth at 0 K: radiosities J = e sigma T^4 + (1 - e) F J, nothing taken from G."""
    area, view = 0.30 * 0.25, rectangle_view_factor(0.30, 0.25, gap)
    matrix = np.array([[1.0, -(1 - emissivity) * view], [-(1 - emissivity) * view, 1.0]])
    radiosity = np.linalg.solve(matrix, np.full(2, emissivity))
    out = area * (1 - view) * radiosity.sum()
    assert gap_radiating_m2(0.30, 0.25, gap, emissivity) == pytest.approx(out, rel=1e-12)


def test_view_factor_against_ray_casting():
    """Rays from one rectangle with a cosine law, counted on the other: within four standard errors."""
    rng = np.random.default_rng(7)
    count = 200_000
    start = rng.random((count, 2)) * (0.3, 0.25)
    radius, angle = np.sqrt(rng.random(count)), 2 * np.pi * rng.random(count)
    reach = 0.1 * radius / np.sqrt(1 - radius**2)
    end = start + np.stack([reach * np.cos(angle), reach * np.sin(angle)], axis=1)
    hit = np.mean(np.all((end >= 0) & (end <= (0.3, 0.25)), axis=1))
    assert hit == pytest.approx(rectangle_view_factor(0.3, 0.25, 0.1), abs=4 * np.sqrt(0.25 / count))


def test_loss_is_the_sum_of_its_parts():
    h = float(convection_w_m2k(0.30, 0.015, 320.0, 20.0))
    radiated = STEFAN_BOLTZMANN_W_M2K4 * inner_radiating_m2(WORKED, STACK) * (593.15**4 - 293.15**4)
    assert float(loss_w(WORKED, STACK, 320.0, 20.0)) == pytest.approx(h * 0.15 * 300.0 + radiated, rel=1e-12)
    assert float(loss_w(WORKED, STACK, 320.0, 20.0, 0.8)) == pytest.approx(
        0.8 * float(loss_w(WORKED, STACK, 320.0, 20.0)), rel=1e-12
    )


def test_loss_of_arrays_is_the_loss_of_each():
    t_c = np.linspace(-20.0, 600.0, 63)
    many = loss_w(WORKED, STACK, t_c, 20.0)
    assert many.shape == t_c.shape
    assert [float(loss_w(WORKED, STACK, float(t), 20.0)) for t in t_c] == pytest.approx(list(many), rel=1e-14)
    assert np.all(many[t_c <= 20.0] == 0.0)
    assert np.all(np.diff(many[t_c >= 20.0]) > 0.0)


def test_end_plates_and_lone_plates_lose_more():
    inner, pair, alone = (float(loss_w(WORKED, Stack(count, 0.015), 300.0, 20.0)) for count in (3, 2, 1))
    assert inner < pair < alone
    assert inner == float(loss_w(WORKED, STACK, 300.0, 20.0))


def test_channel_governs_in_narrow_gaps_only():
    wide = float(convection_w_m2k(0.30, 0.05, 320.0, 20.0))
    single = film(320.0, 20.0)
    ra = 9.80665 / (443.15) * 300.0 * 0.3**3 / (single.viscosity_m2_s * single.diffusivity_m2_s)
    assert wide == pytest.approx(float(single.conductivity_w_mk * plate_nusselt(ra, single.prandtl)) / 0.3, rel=1e-9)
    assert float(convection_w_m2k(0.30, 0.004, 320.0, 20.0)) < 0.3 * wide


def test_local_air_only_adds():
    still = float(convection_w_m2k(0.30, 0.015, 320.0, 20.0))
    faint = float(convection_w_m2k(0.30, 0.015, 320.0, 20.0, local_air_m_s=0.05))
    fresh = float(convection_w_m2k(0.30, 0.015, 320.0, 20.0, local_air_m_s=5.0))
    assert still < faint < 1.05 * still
    assert fresh > 2.0 * still


def test_refusals():
    with pytest.raises(GeometryError, match="above zero"):
        loss_w(replace(WORKED, mass_kg=0.0), STACK, 100.0, 20.0)
    with pytest.raises(GeometryError, match=r"20 plates 0\.0 mm apart"):
        loss_w(WORKED, Stack(20, 0.0), 100.0, 20.0)
    with pytest.raises(InputError, match="outside the table of air"):
        air_at(1500.0)
    with pytest.raises(InputError, match="outside the table of air"):
        air_at(float("nan"))
    with pytest.raises(InputError, match="one lump warming up"):
        heat_run(20.0, 41.0, 1800.0)
    with pytest.raises(InputError, match="not on the way"):
        time_between_s(20.0, 500.0, 400.0, 800.0)
