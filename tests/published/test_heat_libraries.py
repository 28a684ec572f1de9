"""Correlations against general heat-transfer libraries that share no line with ours: ht and fluids (C. Bell)."""

import pytest

from griddesign.heat.air import air_at
from griddesign.heat.cooling import STEFAN_BOLTZMANN_W_M2K4, forced_plate_nusselt, parallel_plates_w_m2

ht = pytest.importorskip("ht")
fluids = pytest.importorskip("fluids")


@pytest.mark.parametrize("reynolds", [1e3, 2e4, 4e5])
@pytest.mark.parametrize("prandtl", [0.69, 0.72, 1.0])
def test_forced_laminar_plate(reynolds, prandtl, checked):
    """Mean Nusselt number of a plate in a laminar stream, ``Nu_horizontal_plate_laminar_Baehr``: equal to 1e-12."""
    theirs = ht.conv_external.Nu_horizontal_plate_laminar_Baehr(reynolds, prandtl)
    assert float(forced_plate_nusselt(reynolds, prandtl)) == pytest.approx(theirs, rel=1e-12)
    checked(
        "Library ht (C. Bell)",
        "Nusselt number, laminar stream over a plate",
        theirs,
        forced_plate_nusselt(reynolds, prandtl),
    )


@pytest.mark.parametrize(("hot_k", "cold_k"), [(600.0, 300.0), (350.0, 290.0)])
def test_black_radiation(hot_k, cold_k, checked):
    """``q_rad`` of a black surface; its constant is that of 2014 (5.670367e-8), ours that of 2018: equal to 2e-6."""
    theirs = ht.radiation.q_rad(1.0, hot_k, cold_k)
    assert parallel_plates_w_m2(hot_k, cold_k, 1.0, 1.0) == pytest.approx(theirs, rel=2e-6)
    assert pytest.approx(5.670374419e-8, rel=1e-12) == STEFAN_BOLTZMANN_W_M2K4
    checked("Library ht (C. Bell)", "black radiation", theirs, parallel_plates_w_m2(hot_k, cold_k, 1.0, 1.0), "W/m2")


@pytest.mark.parametrize("kelvin", [250.0, 288.15, 320.0])
def test_air_of_the_standard_atmosphere(kelvin, checked):
    """U.S. Standard Atmosphere 1976 as ``fluids`` has it, inside its range: viscosity and conductivity within 1.5 %."""
    standard = fluids.atmosphere.ATMOSPHERE_1976
    air = air_at(kelvin)
    density = standard.density(kelvin, 101325.0)
    assert float(air.viscosity_m2_s) == pytest.approx(standard.viscosity(kelvin) / density, rel=0.015)
    assert float(air.conductivity_w_mk) == pytest.approx(standard.thermal_conductivity(kelvin), rel=0.015)
    atmosphere = "U.S. Standard Atmosphere 1976 as the library fluids has it"
    checked(atmosphere, "viscosity of air", standard.viscosity(kelvin) / density, air.viscosity_m2_s, "m2/s")
    checked(atmosphere, "conductivity of air", standard.thermal_conductivity(kelvin), air.conductivity_w_mk, "W/(m·K)")
