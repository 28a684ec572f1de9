"""A job file into records: what it holds, and every fault with its line, key, what was found and what would do."""

from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign.errors import Complaint, JobError
from griddesign.figures import Status
from griddesign.grid.records import Branches, Run
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.job.starters import PURPOSES, starter_text
from griddesign.job.wires import read_circuit

Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str) -> Path:
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return put


@pytest.fixture
def car(write: Write) -> Callable[..., Job]:
    """The car starter with some texts replaced."""

    def read(*changes: tuple[str, str]) -> Job:
        text = starter_text("car")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        return read_job(write(text))

    return read


def complaints(call: Callable[[], object]) -> tuple[Complaint, ...]:
    with pytest.raises(JobError) as caught:
        call()
    return caught.value.complaints()


@pytest.mark.parametrize("purpose", PURPOSES)
def test_every_starter_reads_and_is_marked_as_an_example(write: Write, purpose: str) -> None:
    job = read_job(write(starter_text(purpose)))
    assert job.example
    assert job.starter_values == ()


@pytest.mark.parametrize("purpose", PURPOSES)
def test_without_its_example_line_a_starter_lists_what_is_still_its_own(write: Write, purpose: str) -> None:
    lines = [line for line in starter_text(purpose).splitlines() if not line.startswith("example")]
    job = read_job(write("\n".join(lines)))
    assert not job.example
    assert "plate.P.shape.height" in job.starter_values


def test_a_changed_value_is_no_longer_listed(write: Write) -> None:
    text = starter_text("plate").replace("example = true", "example = false").replace('"250 mm"', '"9 1/2 in"')
    left = read_job(write(text)).starter_values
    assert "plate.P.shape.height" not in left
    assert "plate.P.shape.thickness" in left


def test_numbers_arrive_in_si(car: Callable[..., Job]) -> None:
    job = car()
    assert job.car is not None and job.motor is not None and job.line is not None and job.start is not None
    assert job.car.mass_kg == pytest.approx(14_000.0, rel=1e-12)
    assert job.car.wheel_diameter_m == pytest.approx(33 * 0.0254, rel=1e-12)
    assert job.car.resistance.linear_n_s_per_kg_m == pytest.approx(0.9e-3 * 3.6, rel=1e-12)
    assert job.motor.resistance_at_c == 75.0
    assert job.motor.magnetisation.speed_rad_s == pytest.approx(62.83185307179586, rel=1e-12)
    assert (job.notches[0].grouping.series, job.notches[0].grouping.parallel) == (2, 1)
    assert (job.notches[-1].grouping.series, job.notches[-1].grouping.parallel) == (1, 2)
    assert job.section_order == ("A", "B", "C", "D")


def test_about_and_ranges_keep_their_ends_and_can_be_pinned(car: Callable[..., Job]) -> None:
    job = car(
        ('mass = "14 t"', 'mass = { value = "12 t to 16 t", source = "driver" }'),
        ('gear_ratio = "4"', 'gear_ratio = "about 4"'),
    )
    mass, gear = job.figures["car.mass"], job.figures["car.gear_ratio"]
    assert (mass.low, mass.high, mass.source) == (12_000.0, 16_000.0, "driver")
    assert gear.status is Status.ABOUT and gear.weak and gear.low < 4 < gear.high
    high = job.at(**{"car.mass": "high"})
    assert high.car is not None and high.car.mass_kg == 16_000.0
    assert job.car is not None and job.car.mass_kg == mass.value


def test_nested_lists_alternate_between_runs_and_branches() -> None:
    assert read_circuit(["A", ["B", ["C", "D"]]]) == Run(("A", Branches((Run(("B",)), Run(("C", "D"))))))
    assert read_circuit([]) == Run(())


def test_a_metal_of_the_users_own(car: Callable[..., Job]) -> None:
    extra = '\n[metal.grey_iron_class30]\nresistivity = { value = "92 uohm cm", source = "test bar" }\n'
    extra += 'two_temperatures = ["0.0690 ohm at 20 degC", "0.0921 ohm at 200 degC"]\n'
    text = "[duty]"
    job = car((text, extra + text))
    metal = job.plates[0].metal
    assert metal.resistivity.value == pytest.approx(92e-8)
    assert metal.alpha20.value == pytest.approx((0.0921 / 0.0690 - 1) / 180, rel=1e-9)
    assert metal.alpha20.status is Status.MEASURED
    assert not metal.alpha20.weak


FAULTS = [
    ("unknown key", ('mass = "14 t"', 'mass = "14 t"\nmas = "1 t"'), "car.mas", "not a key", "mass"),
    ("wrong unit", ('mass = "14 t"', 'mass = "14 mm"'), "car.mass", "mm", "t"),
    ("no unit", ('mass = "14 t"', "mass = 14"), "car.mass", "no unit", '"14'),
    ("negative", ('mass = "14 t"', 'mass = "-14 t"'), "car.mass", "14 t", ""),
    ("nan", ('mass = "14 t"', 'mass = "nan t"'), "car.mass", "nan", ""),
    ("inf", ('mass = "14 t"', 'mass = "inf t"'), "car.mass", "inf", ""),
    ("nan as a number", ('mass = "14 t"', "mass = nan"), "car.mass", "nan", ""),
    ("missing key", ('mass = "14 t"                 # (d)\n', ""), "car.mass", "is missing", "mass ="),
    ("zero strip", ('strip_width = "8 mm"', 'strip_width = "0 mm"'), "plate.P.shape.strip_width", "0 mm", "above zero"),
    ("parity", ('eyes = "opposite edges"', 'eyes = "one edge"'), "plate.P.shape", "13 passes", "14"),
    ("strip wider than the plate", ('strip_width = "8 mm"', 'strip_width = "180 mm"'), "plate.P", "mm", ""),
    (
        "unknown metal",
        ('metal = "grey_iron_class30"', 'metal = "grey_iron_clas30"'),
        "plate.P.metal",
        "clas30",
        "grey_iron_class30",
    ),
    ("process", ('made_by = "cast"', 'made_by = "carved"'), "plate.P.made_by", "carved", "laser"),
    ("metal that is not cut", ('made_by = "cast"', 'made_by = "stamped"'), "plate.P.made_by", "", ""),
    (
        "unknown section",
        ('circuit = ["B", "C", "D"]', 'circuit = ["B", "C", "X"]'),
        "notch.2.circuit",
        "section X",
        "A, B, C, D",
    ),
    ("circuit as text", ('circuit = ["D"]', 'circuit = "D"'), "notch.3.circuit", "not a list", '["D"]'),
    ("group of one", ('circuit = ["D"]', 'circuit = ["C", ["D"]]'), "notch.3.circuit", "branches", "two branches"),
    ("twin names", ('name = "2"', 'name = "1"'), "notch", "two notches are named 1", ""),
    ("curve falls", ('"505 V", "570 V"', '"505 V", "470 V"'), "motor.magnetisation.emf", "", ""),
    ("flux per ampere rises", ('"110 V", "230 V"', '"80 V", "230 V"'), "motor.magnetisation.emf", "", ""),
    (
        "curve of unlike lengths",
        ('"505 V", "570 V"', '"505 V"'),
        "motor.magnetisation.emf",
        "5 voltages",
        "each current",
    ),
    (
        "peak beyond the curve",
        ('peak_current = "130 A"', 'peak_current = "230 A"'),
        "start.peak_current",
        "170 A",
        "curve",
    ),
    (
        "first above peak",
        ('first_notch_current = "110 A"', 'first_notch_current = "135 A"'),
        "start.first_notch_current",
        "130 A",
        "",
    ),
    ("highest below nominal", ('highest = "690 V"', 'highest = "590 V"'), "line.highest", "590 V", ""),
    ("odd motors in pairs", ("count = 2", "count = 3"), "notch.1.motors", "3 motors", "series ="),
    ("table missing", ("[car]", "[wagon]"), "car", "missing", "[car]"),
    ("width without gap", ('"7 mm to 9.5 mm"', '"7 mm to 19 mm"'), "plate.P.may_vary.strip_width", "15.2 mm", ""),
    ("revision", ('revision = "draft"', 'revision = "3"'), "revision", "'3'", "draft"),
    ("schema", ("schema = 1", "schema = 9"), "schema", "9", "1"),
    ("section counts", ("[boxes]", '[[section]]\nname = "A"\nplates = 3\n[boxes]'), "section", "B, C, D", ""),
    ("boolean", ("example = true", 'example = "yes"'), "example", "yes", "true"),
]


@pytest.mark.parametrize(
    ("change", "key", "found", "would_do"), [fault[1:] for fault in FAULTS], ids=[fault[0] for fault in FAULTS]
)
def test_each_fault_names_line_key_what_was_found_and_what_would_do(
    car: Callable[..., Job], change: tuple[str, str], key: str, found: str, would_do: str
) -> None:
    met = [item for item in complaints(lambda: car(change)) if item.key.startswith(key)]
    assert met, [item.text() for item in complaints(lambda: car(change))]
    assert any(found in item.message and would_do in item.hint for item in met), [item.text() for item in met]
    assert all(item.file.endswith("job.toml") for item in met)


def test_all_faults_of_a_file_come_together_in_the_order_of_the_file(car: Callable[..., Job]) -> None:
    changes = (
        ('nominal = "600 V"', 'nominal = "600"'),
        ('mass = "14 t"', 'mass = "14 mm"'),
        ("passes = 13", "passes = 12"),
    )
    found = complaints(lambda: car(*changes))
    assert [item.key for item in found] == ["line.nominal", "car.mass", "plate.P.shape"]
    assert [item.line for item in found] == sorted(item.line or 0 for item in found)


def test_an_empty_table_set_is_refused(write: Write) -> None:
    found = complaints(lambda: read_job(write('title = "x"\n')))
    assert "neither a plate nor a notch" in found[0].message


def test_notches_without_motor_or_ohms_are_refused(write: Write) -> None:
    text = 'title = "x"\n[[notch]]\nname = "1"\ncircuit = ["A"]\n'
    found = complaints(lambda: read_job(write(text)))
    assert "what ohms" in found[0].message and found[0].line == 2
