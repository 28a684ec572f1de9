"""The tables of metals against standards, handbooks and reference libraries.

Sources, beside each test: ASTM B603 Table 1, IEC 60028, EN 1993-1-2 clauses 3.4.1, IEC 60034-1, 15 U.S.C. 206, the
Manufacturers' Standard Gauge, the CRC Handbook, IEEE Std 32, and the library ht (DIN EN 12524, VDI Heat Atlas).
"""

import math

import pytest
from ht.insulation import building_materials

from griddesign import metals
from griddesign.metals import Entry, alpha_from_two, metal, metal_entries

OHM_CMIL_PER_FT = math.pi / 4.0 * (25.4e-6) ** 2 / 0.3048
"""ohm m: a wire of one circular mil (a circle of 0.001 in across) and one foot, from 1 in = 25.4 mm exactly."""


def entry(key: str, name: str) -> Entry:
    return next(each for each in metal_entries(key) if each.name == name)


def printed(key: str, name: str, source: str, remark: str = "") -> Entry:
    """What the source prints for the figure, be it the chosen one or among the others."""
    chosen = entry(key, name)
    return next(each for each in (chosen, *chosen.others) if each.source == source and remark in each.remark)


def value(found: Entry) -> float:
    assert found.value is not None
    return found.value


def test_ohm_circular_mil_per_foot() -> None:
    """NIST SP 811 (2008), Appendix B: 1 ohm circular-mil per foot = 1.662 426 E-09 ohm m, that is 0.166243 uohm cm."""
    ohm_m = OHM_CMIL_PER_FT
    assert ohm_m == pytest.approx(1.662426e-9, rel=3e-7)
    assert round(ohm_m * 1e8, 6) == 0.166243


@pytest.mark.parametrize(
    ("key", "source", "ohm_cmil_per_ft", "within"),
    [
        ("nicr_80_20", "W650", 650.0, 1e-4),
        ("nicr_60_16", "W675", 675.0, 1e-4),
        ("ni35cr20", "MEM-B267", 600.0, 1e-3),
        ("cuni44", "MEM-B267", 294.0, 1e-3),
        ("cuni23", "MEM-B267", 180.0, 1e-3),
        ("cuni10", "MEM-B267", 90.0, 1e-3),
        ("cuni6", "MEM-B267", 60.0, 1e-3),
        ("brass_c26000", "C260", 37.0, 2e-3),
        ("c70600", "C706", 115.0, 2e-3),
    ],
)
def test_resistivities_printed_in_the_wire_trades_unit(
    key: str, source: str, ohm_cmil_per_ft: float, within: float, checked
) -> None:
    """Data sheets of strip and wire (C26000, C70600, Ni-Cr) and nominal values of ASTM B267, the latter from memory."""
    figure = printed(key, "resistivity", source).figure()
    assert figure is not None
    assert figure.value == pytest.approx(ohm_cmil_per_ft * OHM_CMIL_PER_FT, rel=within)
    given = ohm_cmil_per_ft * OHM_CMIL_PER_FT * 1e8
    checked(metals.source(source).title, "resistivity, from ohm cmil/ft", given, figure.value * 1e8, "µΩ·cm")


@pytest.mark.parametrize(
    ("key", "remark", "low", "high", "within"),
    [
        ("fecral_13_4", "13-16Cr", 715.0, 785.0, 0.005),
        ("fecral_13_4", "12-15Cr", 665.0, 735.0, 0.005),
        ("fecral_22_5", "4.75-5.75Al", 795.0, 880.0, 0.02),
        ("fecral_25_5", "5-6Al", 825.0, 920.0, 0.02),
    ],
)
def test_iron_chrome_aluminium_of_astm_b603(
    key: str, remark: str, low: float, high: float, within: float, checked
) -> None:
    """ASTM B603-07 (2013), Table 1: classes by resistivity in ohm cmil/ft, with uohm cm in brackets.

    Two rows of the copy convert to figures 1.3 to 2 % off its own brackets. The inch figures rule; the file says so.
    """
    figure = printed(key, "resistivity", "B603-07", remark).figure()
    assert figure is not None
    assert figure.low == pytest.approx(low * OHM_CMIL_PER_FT, rel=within)
    assert figure.high == pytest.approx(high * OHM_CMIL_PER_FT, rel=within)
    chosen = metal(key).resistivity
    assert chosen.low < high * OHM_CMIL_PER_FT
    assert chosen.high > low * OHM_CMIL_PER_FT
    ends = [low * OHM_CMIL_PER_FT * 1e8, high * OHM_CMIL_PER_FT * 1e8]
    checked("ASTM B603-07 (2013), Table 1", f"{key}, {remark}", ends, [figure.low * 1e8, figure.high * 1e8], "µΩ·cm")


def test_copper_of_iec_60028(checked) -> None:
    """IEC 60028 (1925): standard annealed copper 58 MS/m at 20 degC, that is 1.7241 uohm cm; alpha20 3.93e-3 /K."""
    copper = metal("copper")
    assert copper.resistivity.value == pytest.approx(1.0 / 58e6, abs=5e-13)
    assert copper.alpha20.value == 3.93e-3
    assert not copper.alpha20.weak
    checked("IEC 60028 (1925)", "resistivity of copper", 100.0 / 58.0, copper.resistivity.value * 1e8, "µΩ·cm")
    checked("IEC 60028 (1925)", "coefficient of copper at 20 degC", 3.93e-3, copper.alpha20.value, "1/K")


@pytest.mark.parametrize(
    ("key", "source", "remark", "percent_iacs", "within"),
    [
        ("brass_c26000", "C260", "", 28.0, 1e-3),
        ("brass_c36000", "DB-360", "", 26.0, 1e-3),
        ("c70600", "C706", "", 9.0, 4e-3),
        ("steel_low_carbon", "DB-1020", "1020", 11.0, 2e-3),
        ("grey_iron_class30", "DB-GI", "7.4 %", 7.4, 1e-3),
        ("ss310", "DB-310", "310S", 2.0, 1e-3),
        ("nickel_silver_18", "DB-NS", "C77000", 5.5, 1e-3),
        ("nickel_silver_18", "DB-NS", "C73100", 7.5, 1e-3),
        ("nickel_silver_18", "DB-NS", "C74500", 9.0, 1e-3),
    ],
)
def test_resistivities_printed_in_percent_iacs(
    key: str, source: str, remark: str, percent_iacs: float, within: float, checked
) -> None:
    """100 % IACS is 58 MS/m (IEC 60028); the percentages are those of the alloy data pages named in the tables."""
    figure = printed(key, "resistivity", source, remark).figure()
    assert figure is not None
    assert figure.value == pytest.approx(100.0 / percent_iacs / 58e6, rel=within)
    given = 100.0 / percent_iacs / 58e6 * 1e8
    checked(
        metals.source(source).title, f"resistivity, from % IACS {remark}".strip(), given, figure.value * 1e8, "µΩ·cm"
    )


def ec3_specific_heat(t_c: float) -> float:
    """EN 1993-1-2:2005, 3.4.1.2, for 20 to 600 degC, J/(kg K)."""
    return 425.0 + 7.73e-1 * t_c - 1.69e-3 * t_c**2 + 2.22e-6 * t_c**3


@pytest.mark.parametrize("key", ["steel_low_carbon", "steel_aluminised"])
def test_carbon_steel_of_en_1993_1_2(key: str, checked) -> None:
    """EN 1993-1-2:2005, 3.4.1.1 to 3.4.1.3: specific heat, conductivity 54 - 3.33e-2 T, elongation, at 20 and 400 degC.

    Between the two points the tool goes straight: at most 3 % under the formula. Above 400 degC it stays flat, on the
    safe side of the rising formula.
    """
    steel = metal(key)
    assert steel.specific_heat(20.0) == pytest.approx(ec3_specific_heat(20.0), abs=0.5)
    assert steel.specific_heat(400.0) == pytest.approx(ec3_specific_heat(400.0), abs=0.5)
    for t_c in (100.0, 200.0, 300.0):
        assert 0.97 < steel.specific_heat(t_c) / ec3_specific_heat(t_c) <= 1.0
    assert steel.specific_heat(600.0) < ec3_specific_heat(600.0)
    assert steel.conductivity.value == pytest.approx(54.0 - 3.33e-2 * 20.0, abs=0.05)
    assert steel.conductivity_400 is not None
    assert steel.conductivity_400.value == pytest.approx(54.0 - 3.33e-2 * 400.0, abs=0.05)
    elongation = 1.2e-5 * 400.0 + 0.4e-8 * 400.0**2 - 2.416e-4
    assert steel.expansion.value == pytest.approx(elongation / 380.0, abs=0.05e-6)
    clause = "EN 1993-1-2:2005, 3.4.1"
    checked(
        clause,
        "specific heat of steel at 20 and 400 degC",
        *zip(*((ec3_specific_heat(t), steel.specific_heat(t)) for t in (20.0, 400.0)), strict=True),
        "J/(kg·K)",
    )
    checked(
        clause,
        "specific heat of steel between",
        *zip(*((ec3_specific_heat(t), steel.specific_heat(t)) for t in (100.0, 200.0, 300.0)), strict=True),
        "J/(kg·K)",
    )
    checked(clause, "elongation of steel to 400 degC", elongation / 380.0 * 1e6, steel.expansion.value * 1e6, "1e-6/K")


def test_cast_iron_steel_copper_brass_of_the_library_ht(checked) -> None:
    """ht 1.x, building_materials: DIN EN 12524 by way of the VDI Heat Atlas (density, conductivity, specific heat)."""
    rows = {
        "grey_iron_class30": "Metals, iron, cast",
        "copper": "Metals, copper",
        "brass_c26000": "Metals, brass",
    }
    for key, row in rows.items():
        density, conductivity, heat = building_materials[row]
        assert value(printed(key, "density", "HT")) == density
        chosen = metal(key)
        assert chosen.density.value == pytest.approx(density, rel=0.05)
        assert chosen.specific_heat(20.0) == pytest.approx(heat, rel=0.07)
        assert chosen.conductivity.value == pytest.approx(conductivity, rel=0.09)
    assert value(printed("ss304", "specific_heat_20", "HT")) == building_materials["Metals, stainless steel"][2]
    assert value(printed("steel_low_carbon", "specific_heat_20", "HT")) == building_materials["Metals, steel"][2]
    for key, row in rows.items():
        checked(
            "Library ht: DIN EN 12524, VDI Heat Atlas",
            f"density of {key}",
            building_materials[row][0],
            metal(key).density.value,
            "kg/m3",
        )
        checked(
            "Library ht: DIN EN 12524, VDI Heat Atlas",
            f"specific heat of {key}",
            building_materials[row][2],
            metal(key).specific_heat(20.0),
            "J/(kg·K)",
        )
        checked(
            "Library ht: DIN EN 12524, VDI Heat Atlas",
            f"conductivity of {key}",
            building_materials[row][1],
            metal(key).conductivity.value,
            "W/(m·K)",
        )


def test_coefficients_of_the_crc_handbook_pairs(checked) -> None:
    """CRC Handbook, Section 15, wire table, uohm cm at 20 and 100 degC: 60Cu-40Ni 45.38, 45.11; brass 6.08, 6.91."""
    other = printed("cuni44", "resistance_with_temperature", "CRC15")
    assert value(other) == pytest.approx(alpha_from_two(45.38, 20.0, 45.11, 100.0), abs=0.05e-5)
    assert metal("brass_c26000").alpha20.value == pytest.approx(alpha_from_two(6.08, 20.0, 6.91, 100.0), abs=0.5e-5)
    crc = "CRC Handbook, Section 15, wire table"
    brass = metal("brass_c26000").alpha20.value
    checked(crc, "coefficient of brass from its pair", alpha_from_two(6.08, 20.0, 6.91, 100.0), brass, "1/K")


def test_two_temperatures_of_a_copper_winding() -> None:
    """IEC 60034-1, 8.6.2.3: (T2 + 235)/(T1 + 235) = R2/R1 for copper, so alpha20 = 1/255 (from memory).

    Example: 0.200 ohm at 20 degC, 0.210 ohm at 32.75 degC, that is a rise of 7.75 K over air of 25 degC.
    """
    assert alpha_from_two(0.200, 20.0, 0.210, 32.75) == pytest.approx(1.0 / 255.0, rel=1e-12)
    assert alpha_from_two(0.200, 20.0, 0.210, 32.75) == pytest.approx(metal("copper").alpha20.value, rel=0.003)


def test_430_against_its_printed_resistivities(checked) -> None:
    """Grade page of AISI 430: 560 nohm m at 20 degC rising to 1160 at 900 degC."""
    assert metal("ss430").ratio(900.0) == pytest.approx(1160.0 / 560.0, abs=5e-4)
    checked("Grade page of AISI 430", "R(900)/R(20)", 1160.0 / 560.0, metal("ss430").ratio(900.0))


def test_304_against_the_pair_of_its_data_sheet(checked) -> None:
    """Data sheet of AISI 304: 72 uohm cm at 20, 116 at 650 degC. The table is 2.6 % under it; its high end meets it."""
    steel = metal("ss304")
    assert steel.ratio(650.0) == pytest.approx(116.0 / 72.0, rel=0.027)
    assert steel.at_ends(alpha20="high").ratio(650.0) == pytest.approx(116.0 / 72.0, rel=2e-3)
    checked("Data sheet of AISI 304", "R(650)/R(20)", 116.0 / 72.0, steel.ratio(650.0))


def test_silicon_steel_of_the_remembered_relation(checked) -> None:
    """rho = 13.25 + 11.3 %Si uohm cm, density 7.865 - 0.065 %Si (after ASTM A664, from memory), at 3 % Si."""
    steel = metal("steel_silicon_3")
    assert steel.resistivity.value == pytest.approx((13.25 + 11.3 * 3.0) * 1e-8, abs=0.06e-8)
    assert steel.density.value == pytest.approx((7.865 - 0.065 * 3.0) * 1e3, abs=1.0)
    checked(
        "After ASTM A664 (from memory)",
        "resistivity of 3 % silicon steel",
        13.25 + 11.3 * 3.0,
        steel.resistivity.value * 1e8,
        "µΩ·cm",
    )


def test_limits_by_ieee_32(checked) -> None:
    """IEEE Std 32-1972, at second hand: continuous rise 385 K, short time 760 K; over air of 40 degC."""
    rules = {row["rise_k"] for row in metals.shop_table("temperature_rise_rules")["rows"]}
    assert rules == {760, 610, 385, 375}
    for key in ("ss304", "ss430", "fecral_22_5", "alloy_25cr20ni_si"):
        assert metal(key).limit_c.value == 385.0 + 40.0
    checked(
        "IEEE Std 32-1972 (at second hand)",
        "continuous limit of stainless steel",
        425.0,
        metal("ss304").limit_c.value,
        "degC",
    )


def test_gauges_of_the_statute_and_of_the_makers(checked) -> None:
    """15 U.S.C. 206: ounces per square foot over 640 inches. Manufacturers' Standard Gauge: 41.82 lb/ft2 per inch."""
    rows = metals.shop_table("gauges")["rows"]
    assert len(rows) == 37
    for row in rows:
        ounces = row["oz_per_ft2"]
        assert row["us_standard_in"] == ounces / 640.0
        assert row["us_standard_mm"] == pytest.approx(ounces / 640.0 * 25.4, abs=6e-4)
        if "manufacturers_in" in row:
            assert row["manufacturers_in"] == pytest.approx(ounces / 16.0 / 41.82, abs=6e-5)
            assert row["manufacturers_mm"] == pytest.approx(ounces / 16.0 / 41.82 * 25.4, abs=6e-4)
    ten = next(row for row in rows if row["gauge"] == "10")
    assert (ten["us_standard_in"], ten["manufacturers_in"]) == (0.140625, 0.1345)
    pairs = [(row["oz_per_ft2"] / 640.0 * 25.4, row["us_standard_mm"]) for row in rows]
    checked("15 U.S.C. 206", "thickness by ounces per square foot", *zip(*pairs, strict=True), "mm")


def test_pattern_shrinkage_in_inches_per_foot() -> None:
    """Dooley, Applied Science for Metal Workers, ch. XXXI: 3/32 in per ft for cast iron; 1/8 in A Text-Book of
    Mechanical Engineering, p. 63; each row's per cent is its inches per foot over 12, to the digits printed."""
    for row in metals.shop_table("pattern_shrinkage")["rows"]:
        if "inch_per_foot" in row:
            above, below = map(float, row["inch_per_foot"].split("/"))
            assert row["percent"] == pytest.approx(above / below / 12.0 * 100.0, abs=0.04)


def test_one_spot_contact_falls_with_the_root_of_the_force() -> None:
    """Holm's constriction with plastic touch, R = sqrt(rho^2 pi H / (4 F)) (Electrical Contacts: Principles and
    Applications, pp. 13-15, at second hand): R goes as the inverse root of the force."""
    table = metals.shop_table("contact_resistance")
    for row in table["estimates"]:
        for force, uohm in zip(table["force_n"], row["uohm"], strict=True):
            assert uohm == pytest.approx(row["uohm"][0] * math.sqrt(table["force_n"][0] / force), abs=0.11)


def test_expansion_printed_per_degree_fahrenheit() -> None:
    """Foundry table: grey iron 5.8e-6, ductile 6.5e-6 per degF; 1 K is 1.8 degF."""
    assert value(printed("grey_iron_250", "expansion", "AZOM")) == pytest.approx(5.8 * 1.8, abs=0.005)
    assert value(printed("ductile_ferritic", "expansion", "AZOM")) == pytest.approx(6.5 * 1.8, abs=0.005)
