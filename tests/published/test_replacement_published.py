"""Resistance at a temperature, and ohms times mass, against standards."""

import pytest

from griddesign.figures import Figure
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.gauges import sheets_for
from griddesign.plate.measured import MeasuredPlate, Reading, cold_from, four_wire, metal_check
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

COPPER = metal("copper")
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")


@pytest.mark.parametrize("t_c", [-10.0, 10.0, 20.0, 25.0, 75.0, 115.0])
def test_copper_by_the_234_5_rule(t_c: float, checked) -> None:
    """IEC 60028 (1925): copper's constant-mass coefficient is 0.00393 per K at 20 degC: k = 1/0.00393 - 20 = 234.5 and
    ``R20 = R (234.5 + 20)/(234.5 + T)``. Our table gives alpha20 with three figures, hence the tolerance."""
    assert cold_from(Reading(0.1, t_c), COPPER) == pytest.approx(0.1 * (234.5 + 20) / (234.5 + t_c), rel=2e-4)
    exact = 0.1 * (234.5 + 20) / (234.5 + t_c)
    checked("IEC 60028 (1925), 234.5 rule", "copper put to 20 degC", exact, cold_from(Reading(0.1, t_c), COPPER), "ohm")


def test_rise_by_resistance(checked) -> None:
    """IEC 60034-1 (2010), 8.6.2.3.3: ``theta2 - theta_a = (R2 - R1)/R1 (k + theta1) + theta1 - theta_a``, k = 235 for
    copper. 0.200 ohm at 20 degC, 0.210 ohm hot, air at 25 degC: 7.75 K, so the winding is at 32.75 degC; from there our
    reading must come back to 0.200 ohm."""
    own = COPPER.with_figure("alpha20", Figure.exact(1.0 / (235.0 + 20.0)))
    rise_k = (0.210 - 0.200) / 0.200 * (235.0 + 20.0) + 20.0 - 25.0
    assert rise_k == pytest.approx(7.75)
    assert cold_from(Reading(0.210, 25.0 + rise_k), own) == pytest.approx(0.200, rel=1e-12)
    found = cold_from(Reading(0.210, 25.0 + rise_k), own)
    checked("IEC 60034-1 (2010), 8.6.2.3.3", "winding put to 20 degC", 0.200, found, "ohm")


def test_ohms_times_mass_of_standard_copper(checked) -> None:
    """IEC 60028 (1925): a wire of standard annealed copper, 1 m long and 1 g in mass, has 0.15328 ohm at 20 degC. Ohms
    times mass over length squared is ``rho density`` whatever the section (ASTM B193: weight resistivity)."""
    per_m2 = COPPER.resistivity.value * COPPER.density.value
    assert 1e3 * per_m2 == pytest.approx(0.15328, rel=2e-3)
    weighed = MeasuredPlate("1", (Reading(1.0, 20.0),), mass_kg=1.0)
    check = metal_check(PLATE, weighed, COPPER)
    assert check is not None
    assert check.tabled_ohm_kg == pytest.approx(per_m2 * plate_squares(PLATE).value * outline_of(PLATE).area_m2)
    checked("IEC 60028 (1925)", "ohms of 1 m and 1 g of copper", 0.15328, 1e3 * per_m2, "ohm")


def test_current_read_both_ways() -> None:
    """ASTM B193 (from memory): thermo-emf is taken out by the mean of readings with the current both ways. 100 uV on a
    drop of 10 mV would be 1 %."""
    ohm, emf_v = four_wire(10.0, 0.0101, 0.0099)
    assert (ohm, emf_v) == (pytest.approx(0.001, rel=1e-12), pytest.approx(1e-4))
    assert four_wire(10.0, 0.0101)[0] == pytest.approx(0.00101)


@pytest.mark.parametrize(("gauge", "inch"), [("3", 0.25), ("11", 0.125), ("16", 0.0625), ("30", 0.0125)])
def test_gauges_of_the_statute(gauge: str, inch: float, checked) -> None:
    """15 U.S.C. 206, standard gauge for sheet and plate iron and steel."""
    names = {sheet.name: sheet.thickness_m for sheet in sheets_for(metal("ss304"))}
    assert names[f"gauge {gauge}, US standard"] == pytest.approx(inch * 0.0254)
    found = names[f"gauge {gauge}, US standard"] / 0.0254
    checked("15 U.S.C. 206", "gauges of sheet", inch, found, "in")


@pytest.mark.parametrize(("gauge", "inch"), [("3", 0.2391), ("11", 0.1196), ("16", 0.0598), ("20", 0.0359)])
def test_gauges_steel_is_sold_by(gauge: str, inch: float, checked) -> None:
    """Manufacturers' Standard Gauge, as printed in handbooks (e.g. Machinery's Handbook): 41.82 lb/ft2 per inch."""
    names = {sheet.name: sheet.thickness_m for sheet in sheets_for(metal("steel_low_carbon"))}
    assert names[f"gauge {gauge}, manufacturers' standard"] == pytest.approx(inch * 0.0254)
    found = names[f"gauge {gauge}, manufacturers' standard"] / 0.0254
    checked("Manufacturers' Standard Gauge, as printed in handbooks", "gauges of sheet", inch, found, "in")
