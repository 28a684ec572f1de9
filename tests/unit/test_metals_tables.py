"""The shipped tables: all there, every figure with a range that holds it, a status and a source that exists."""

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from griddesign import metals
from griddesign.errors import TableError
from griddesign.figures import WEAK, Figure, Status
from griddesign.metals import Entry
from griddesign.metals.entries import entry_from
from griddesign.shipped import examples_folder, materials_folder, shipped_folder

KEYS = metals.metal_keys()
TABLE_STATUSES = {Status.SEEN, Status.DERIVED, Status.MEMORY, Status.DERIVED_MEMORY, Status.ESTIMATE}
MUST = {
    "resistivity", "resistance_with_temperature", "density", "specific_heat_20", "specific_heat_400", "conductivity",
    "emissivity", "expansion", "limit", "air_limit", "melting", "min_bend_radius",
}  # fmt: skip


def every_entry() -> Iterator[tuple[str, Entry]]:
    for key in KEYS:
        for entry in metals.metal_entries(key):
            yield key, entry
            yield from ((key, other) for other in entry.others)


def test_37_metals_with_all_their_figures() -> None:
    assert len(KEYS) == 37
    counted = list(every_entry())
    assert len(counted) == 466 + 219  # figures, and what other sources print for them
    for key in KEYS:
        assert {entry.name for entry in metals.metal_entries(key)} >= MUST, key
        assert ("pattern_shrinkage" in {entry.name for entry in metals.metal_entries(key)}) == metals.metal(
            key
        ).castable


def test_the_trades_metals_are_all_there() -> None:
    wanted = (
        "grey_iron_soft grey_iron_class30 grey_iron_250 grey_iron_hard ductile_ferritic ductile_pearlitic "
        "malleable_ferritic a436_type1 a436_type2 a439_d2 steel_low_carbon steel_aluminised steel_silicon_3 ss304 "
        "ss316 ss310 alloy_25cr20ni_si ss409 ss430 nicr_80_20 nicr_70_30 nicr_60_16 ni35cr20 fecral_13_4 fecral_21_4 "
        "fecral_22_5 fecral_25_5 cuni44 cuni23 cuni10 cuni6 c70600 manganin nickel_silver_18 copper brass_c26000 "
        "brass_c36000"
    )
    assert set(KEYS) == set(wanted.split())


def test_every_figure_has_a_status_and_a_source_that_exists() -> None:
    for key, entry in every_entry():
        where = f"{key}.{entry.name}"
        assert entry.status in TABLE_STATUSES, where
        found = metals.source(entry.source)
        assert found.title, where
        assert found.read, where


def test_every_range_holds_its_value() -> None:
    for key, entry in every_entry():
        figure = entry.figure()
        if figure is not None:
            assert figure.low <= figure.value <= figure.high, f"{key}.{entry.name}"


def test_figures_come_in_si() -> None:
    iron = metals.metal("grey_iron_class30")
    assert (iron.resistivity.value, iron.resistivity.low, iron.resistivity.high) == (85e-8, 70e-8, 100e-8)
    assert iron.density.value == 7150.0
    assert iron.expansion.value == 11.7e-6
    assert iron.pattern_shrinkage is not None
    assert iron.pattern_shrinkage.value == 0.012
    assert iron.limit_c.value == 400.0
    assert iron.min_bend_radius_t is None


def test_grey_irons_alpha_is_weak_over_its_whole_range() -> None:
    for key in KEYS:
        if key.startswith("grey_iron"):
            alpha = metals.metal(key).alpha20
            assert (alpha.low, alpha.value, alpha.high) == (0.8e-3, 1.9e-3, 2.7e-3)
            assert alpha.weak
            assert alpha.status in WEAK
            assert "measuring a sample plate" in alpha.note


def test_disputed_figures_keep_what_the_others_print() -> None:
    entries = {entry.name: entry for entry in metals.metal_entries("grey_iron_class30")}
    assert [other.value for other in entries["resistivity"].others] == [90.0, 23.3]
    assert [other.value for other in entries["resistance_with_temperature"].others] == [0.001, 0.00231]
    assert "Not used" in entries["resistivity"].others[1].note
    chrome = {entry.name: entry for entry in metals.metal_entries("nicr_80_20")}["resistance_with_temperature"]
    assert [other.points[-1] for other in chrome.others] == [1.074, 1.04]


def test_every_file_opens_in_the_plainest_editor() -> None:
    for path in sorted(materials_folder().rglob("*.toml")):
        text = path.read_text(encoding="utf-8")
        assert text.isascii(), path.name
        assert "\r" not in text, path.name
        tomllib.loads(text)


def test_an_unknown_metal_names_its_neighbours() -> None:
    with pytest.raises(TableError) as caught:
        metals.metal("grey_iron_class_30")
    assert "'grey_iron_class_30'" in caught.value.message
    assert "grey_iron_class30" in caught.value.hint
    with pytest.raises(TableError) as caught:
        metals.metal("unobtainium")
    assert "griddesign metals lists them all" in caught.value.hint


@pytest.mark.parametrize("name", ["../sources", "", "grey_iron_class30.toml", "sources"])
def test_only_a_key_opens_a_file(name: str) -> None:
    with pytest.raises(TableError):
        metals.metal(name)


@pytest.mark.parametrize(
    ("data", "part"),
    [
        ({"value": 5, "unit": "uohm cm", "source": "MEM"}, "status"),
        ({"value": 5, "unit": "uohm cm", "status": "sworn", "source": "MEM"}, "sworn"),
        ({"value": 5, "unit": "furlong", "status": "seen", "source": "MEM"}, "furlong"),
        ({"value": 5, "range": [6, 7], "unit": "degC", "status": "seen", "source": "MEM"}, "outside its range"),
        ({"value": -5, "range": [-7, -6], "unit": "degC", "status": "seen", "source": "MEM"}, "outside its range"),
        ({"temperature": [20, 100], "ratio": [1, 2, 3], "status": "seen", "source": "MEM"}, "2 temperatures"),
        ({"temperature": [20, 20], "ratio": [1, 2], "status": "seen", "source": "MEM"}, "do not rise"),
        ({"value": "many", "unit": "degC", "status": "seen", "source": "MEM"}, "many"),
    ],
)
def test_a_spoilt_table_is_refused_by_name(data: dict[str, object], part: str) -> None:
    with pytest.raises(TableError) as caught:
        entry_from("density", data)
    assert "[density]" in caught.value.message
    assert part in caught.value.message


def test_a_missing_folder_is_said() -> None:
    with pytest.raises(TableError) as caught:
        shipped_folder("no_such_folder")
    assert "no_such_folder" in caught.value.message


def test_the_shipped_folders_stand_together() -> None:
    assert (materials_folder() / "sources.toml").is_file()
    assert examples_folder().is_dir()
    assert materials_folder().parent == examples_folder().parent


def test_installed_folders_go_before_those_of_a_checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "griddesign"
    (tmp_path / "materials").mkdir()
    (package / "materials").mkdir(parents=True)
    monkeypatch.setattr("griddesign.shipped._PACKAGE", package)
    assert shipped_folder.__wrapped__("materials") == package / "materials"
    (package / "materials").rmdir()
    assert shipped_folder.__wrapped__("materials") == tmp_path / "materials"


def sources_in(data: object) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            if key.endswith("source"):
                yield value
            else:
                yield from sources_in(value)
    elif isinstance(data, list):
        for item in data:
            yield from sources_in(item)


def test_every_table_of_the_workshop_has_source_and_status() -> None:
    data = tomllib.loads((materials_folder() / "shop.toml").read_text(encoding="utf-8"))
    assert set(data) == set(metals.shop_table_names())
    for name, table in data.items():
        found = list(sources_in(table))
        assert found, name
        assert all(metals.source(key).title for key in found)


def test_a_table_of_the_workshop_cannot_be_changed() -> None:
    kerf = metals.shop_table("kerf")
    assert kerf["fibre_laser"]["range_mm"] == (0.1, 0.3)
    assert kerf["fibre_laser"]["status"] == "seen"
    with pytest.raises(TypeError):
        kerf["fibre_laser"]["typical_mm"] = 5.0
    with pytest.raises(TableError, match="kerb"):
        metals.shop_table("kerb")


def test_tolerances_widen_with_length_and_grade() -> None:
    rows = metals.shop_table("dctg")["rows"]
    assert [row["over_mm"] for row in rows[1:]] == [row["up_to_mm"] for row in rows[:-1]]
    by_grade: dict[int, list[float]] = {}
    for row in rows:
        assert list(row["total_mm"]) == sorted(row["total_mm"])
        for grade, total in enumerate(row["total_mm"], start=row["first_grade"]):
            by_grade.setdefault(grade, []).append(total)
    assert set(by_grade) == set(range(1, 17))
    assert all(totals == sorted(totals) for totals in by_grade.values())
    assert sum(len(row["total_mm"]) for row in rows) == 146
    for letter in "fmcv":
        column = [row[f"{letter}_mm"] for row in metals.shop_table("iso2768_linear")["rows"] if f"{letter}_mm" in row]
        assert column == sorted(column)
        assert len(column) == {"f": 7, "m": 8, "c": 8, "v": 7}[letter]


def test_magnetism_has_three_answers() -> None:
    assert metals.metal("ss304").magnetic is False
    assert metals.metal("ss430").magnetic is True
    assert metals.metal("ni35cr20").magnetic is None
    assert "cold work" in metals.metal("ss304").magnetic_note


def test_missing_figures_are_none_and_hot_specific_heat_is_carried_on() -> None:
    manganin = metals.metal("manganin")
    assert manganin.specific_heat_400 == Figure(
        406.0, 406.0, 406.0, Status.ESTIMATE, "MANG-W", note="not used so hot: the figure at 20 degC carried on"
    )
    assert manganin.pattern_shrinkage is None
    assert metals.metal("grey_iron_soft").conductivity_400 is not None
    assert metals.metal("copper").conductivity_400 is None
