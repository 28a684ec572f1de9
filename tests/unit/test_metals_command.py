"""``griddesign metals``: every key, every figure, plain text that fits a terminal, one JSON object."""

import json

import pytest
from click.testing import CliRunner

from griddesign import metals
from griddesign.cli.metals import command
from griddesign.cli.saying import fitting
from griddesign.errors import TableError


def run(*arguments: str) -> str:
    result = CliRunner().invoke(command, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


def test_the_list_has_every_key_and_fits() -> None:
    text = run()
    for key in metals.metal_keys():
        assert f"\n{key} " in text, key
    assert "grey_iron_class30      ≈ 85  70 to 100    memory               ≈ 400  Grey cast iron, general" in text
    assert "copper               1.7241               seen" in text
    assert max(map(len, text.splitlines())) <= 100


@pytest.mark.parametrize("key", metals.metal_keys())
def test_one_metal_has_every_figure_with_its_source(key: str) -> None:
    text = run(key)
    words = " ".join(text.split())
    for entry in metals.metal_entries(key):
        assert " ".join(metals.source(entry.source).title.split()[:3]) in words
        assert str(entry.status) in text
    assert "\n    20       1.000 " in text
    assert "\n   100 " in text
    assert max(map(len, text.splitlines())) <= 100


def test_weak_figures_are_marked_and_strong_ones_are_not() -> None:
    text = run("grey_iron_class30")
    assert "≈ 85 µΩ·cm              range 70 to 100          memory" in text
    assert "≈ 0.0019 per K at 20 °C range 0.0008 to 0.0027   memory" in text
    assert "  54 W/(m·K)" in text
    assert "also: 90 µΩ·cm (80 to 100), seen:" in text
    assert "   400       1.722     1.304     2.026           560" in text


def test_beyond_the_table_is_said() -> None:
    assert "   100       1.034     1.034     1.034           383   resistance beyond what is given" in run("cuni10")


def test_json_of_one_is_one_object_in_si_and_in_the_units_of_the_table() -> None:
    data = json.loads(run("grey_iron_class30", "--json"))
    resistivity = data["figures"]["resistivity"]
    assert (resistivity["value"], resistivity["unit"]) == (85, "uohm cm")
    assert resistivity["si"] == {"value": 85e-8, "low": 70e-8, "high": 100e-8, "unit": "ohm m"}
    assert resistivity["weak"] is True
    assert resistivity["source_title"] == metals.source("MEM-ASM").title
    assert [other["value"] for other in resistivity["others"]] == [90, 23.3]
    assert data["alpha20_per_k"]["low"] == 0.8e-3
    assert data["against_temperature"][-1]["t_c"] == 400.0


def test_json_of_all() -> None:
    data = json.loads(run("--json"))
    assert len(data["metals"]) == 37
    assert {row["key"] for row in data["metals"]} == set(metals.metal_keys())


def test_an_unknown_name_is_an_error_of_the_house() -> None:
    with pytest.raises(TableError, match="grey"):
        CliRunner().invoke(command, ["grey"], catch_exceptions=False)


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [("utf-8", "≈ 85 µΩ·cm, 20 °C"), ("cp437", "≈ 85 µΩ·cm, 20 °C"), ("cp1252", "~ 85 µohm·cm, 20 °C"),
     ("ascii", "~ 85 uohm cm, 20 degC")],
)  # fmt: skip
def test_a_terminal_gets_the_signs_it_knows(encoding: str, shown: str) -> None:
    assert fitting("≈ 85 µΩ·cm, 20 °C", encoding) == shown
    assert fitting(run("nicr_80_20"), encoding).encode(encoding)
