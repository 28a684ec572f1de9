"""``[motor] nameplate``: a motor nobody has measured, its figures with both ends, and plates that cannot be."""

import re
from collections.abc import Callable
from math import pi
from pathlib import Path

import pytest

from griddesign import cli
from griddesign.errors import JobError
from griddesign.figures import Status
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.metals import source
from griddesign.shipped import examples_folder
from griddesign.traction.curve import MotorCurve
from griddesign.traction.nameplate import BEYOND, SHARES, Nameplate, magnetisation, spread
from griddesign.traction.shapes import published_shapes

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
CURVE = re.compile(r"\[motor\.magnetisation\].*?emf = [^\n]*\n", re.DOTALL)
OHMS = 'resistance = "0.42 ohm at 75 degC"'
PLATE = 'nameplate = { power = "25 kW", voltage = "550 V", current = "53 A", speed = "600 rpm" }'


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str], Path]:
    """The demo's job with its motor's ohms and curve replaced by these lines."""

    def put(lines: str) -> Path:
        path = tmp_path / "plate.toml"
        path.write_text(CURVE.sub("", DEMO).replace(OHMS, lines), encoding="utf-8")
        return path

    return put


@pytest.fixture
def job(write: Callable[[str], Path]) -> Callable[[str], Job]:
    return lambda lines: read_job(write(lines))


def test_a_motor_by_its_plate_passes_through_its_rating(job: Callable[[str], Job]) -> None:
    """At 53 A the emf is ``550 - 53·R`` at 600 rpm, whatever the shape; with the ohms given nothing else is guessed."""
    motor = job(f"{OHMS}\n{PLATE}").motor
    assert motor is not None and (motor.resistance_ohm, motor.resistance_at_c) == (0.42, 75.0)
    curve = MotorCurve(motor.magnetisation)
    assert curve.k(53.0) * 600.0 * pi / 30.0 == pytest.approx(550.0 - 53.0 * 0.42, rel=1e-9)
    assert curve.lowest_a == pytest.approx(0.25 * 53.0) and curve.highest_a == pytest.approx(3.0 * 53.0)


@pytest.mark.parametrize("ohms", ["", 'resistance = "unknown"\n'])
def test_ohms_not_known_come_from_the_losses_with_both_ends(job: Callable[[str], Job], ohms: str) -> None:
    """``(V·I - P)/I²`` is 1.4774 ohm here; 40 % of it at least, all of it at most."""
    read = job(f"{ohms}{PLATE}")
    figure = read.figures["motor.resistance"]
    lost_ohm = (550.0 * 53.0 - 25e3) / 53.0**2
    assert (figure.low, figure.high) == pytest.approx((0.4 * lost_ohm, lost_ohm))
    assert figure.status is Status.ESTIMATE and figure.weak and "0.591 to 1.48 ohm" in figure.text
    assert read.motor is not None and read.motor.resistance_ohm == figure.value and read.motor.resistance_at_c == 75.0


def test_speed_and_shape_not_known_are_weak_figures_with_their_lines(job: Callable[[str], Job]) -> None:
    read = job(f"{OHMS}\n{PLATE}".replace(', speed = "600 rpm"', ""))
    speed, shape = read.figures["motor.nameplate.speed"], read.figures["motor.nameplate.curve_shape"]
    assert speed.weak and (speed.low, speed.high) == pytest.approx((450.0 * pi / 30.0, 750.0 * pi / 30.0))
    assert (shape.low, shape.value, shape.high) == (0.0, 0.5, 1.0) and "Theraja" in shape.source
    plate_line = DEMO[: DEMO.index(OHMS)].count("\n") + 2
    assert read.lines["motor.nameplate.curve_shape"] == read.lines["motor.nameplate.power"] == plate_line


def test_the_ends_of_the_shape_can_be_had_and_enclose_the_middle(job: Callable[[str], Job]) -> None:
    read = job(f"{OHMS}\n{PLATE}")
    key = "motor.nameplate.curve_shape"
    low, mid, high = (read.at(**{key: end}).motor for end in ("low", "value", "high"))
    assert low and mid and high
    for current_a in (20.0, 40.0, 70.0, 150.0):
        ends = [MotorCurve(one.magnetisation).k(current_a) for one in (low, mid, high)]
        assert sorted((ends[0], ends[2]))[0] < ends[1] < sorted((ends[0], ends[2]))[1]
        assert (ends[0] < ends[2]) is (current_a < 53.0)


def test_pinning_a_figure_of_the_plate_leaves_the_others_where_they_were(job: Callable[[str], Job]) -> None:
    read = job(PLATE.replace('"25 kW"', '"about 25 kW"'))
    high = read.at(**{"motor.nameplate.power": "high"})
    assert high.motor is not None and read.motor is not None
    assert high.motor.resistance_ohm == read.motor.resistance_ohm
    corner = read.at(**{"motor.resistance": "high", "motor.nameplate.power": "high"})
    assert corner.motor is not None and corner.motor.resistance_ohm == read.figures["motor.resistance"].high


BAD = [
    (PLATE.replace("25 kW", "30 kW"), "motor.nameplate.power", "102.9%", "one motor"),
    (PLATE.replace("25 kW", "29.15 kW"), "motor.nameplate.power", "100.0%", "one motor"),
    (PLATE.replace("25 kW", "14 kW"), "motor.nameplate.power", "48%", "same rating"),
    (PLATE.replace("53 A", "530 A"), "motor.nameplate.power", "9%", "same rating"),
    (f'resistance = "2 ohm at 75 degC"\n{PLATE}', "motor.nameplate.power", "5618 W", "slip"),
    (PLATE.replace(', current = "53 A"', ""), "motor.nameplate.current", "is missing", "53 A"),
    (PLATE.replace('"53 A"', '"53"'), "motor.nameplate.current", "53", ""),
    (PLATE.replace("speed =", "rpm ="), "motor.nameplate.rpm", "not a key", "speed"),
    (PLATE.replace(' }', ', curve_shape = "0.5" }'), "motor.nameplate.curve_shape", "not a key", "power"),
    ('nameplate = "25 kW"', "motor.nameplate", "not a table", ""),
    ("", "motor.magnetisation", "is missing", "[motor.magnetisation]"),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "key", "message", "hint"), BAD)
def test_a_plate_that_cannot_be_is_refused_with_line_and_key(
    write: Callable[[str], Path], lines: str, key: str, message: str, hint: str
) -> None:
    with pytest.raises(JobError) as caught:
        read_job(write(lines))
    found = [one for one in caught.value.complaints() if one.key == key]
    assert found and message in found[0].message and hint in found[0].hint and found[0].line is not None


def test_a_plate_beside_a_curve_is_refused_on_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "both.toml"
    path.write_text(DEMO.replace(OHMS, f"{OHMS}\n{PLATE}"), encoding="utf-8")
    with pytest.raises(SystemExit) as done:
        cli.main(["start", str(path)])
    said = capsys.readouterr()
    line = DEMO[: DEMO.index(OHMS)].count("\n") + 2
    assert done.value.code == 2
    assert f"both.toml:{line}: motor.nameplate: stands beside a magnetisation" in said.err
    assert not said.out


# The shapes.


def test_both_ends_are_curves_in_themselves() -> None:
    """Rising, and never more emf per ampere than before: what ``MotorCurve`` asks for; flux 1 at the rated current."""
    straight, bent = spread(published_shapes())
    assert straight[SHARES.index(1.0)] == bent[SHARES.index(1.0)] == 1.0
    plate = Nameplate(25e3, 550.0, 53.0, 0.6, 60.0)
    for saturation in (0.0, 0.3, 1.0):
        curve = MotorCurve(magnetisation(plate, saturation))
        assert len(curve.points.current_a) == len(SHARES) + len(BEYOND)


def test_every_shape_has_a_source_that_is_written_out() -> None:
    shapes = published_shapes()
    assert len(shapes) >= 5 and len({shape.key for shape in shapes}) == len(shapes)
    for shape in shapes:
        assert source(shape.source).title
        assert shape.rated_a[0] <= shape.rated_a[1] < shape.curve.highest_a
