"""The ``[hardware]`` table: everything optional, every fault with its key, a torque never without its source."""

from pathlib import Path

import pytest

from griddesign.errors import JobError
from griddesign.grid.stack.records import Hardware
from griddesign.job.reading import read_job
from griddesign.shipped import examples_folder

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
START, END = DEMO.index("[hardware]"), DEMO.index("[duty]")


def job_with(tmp_path: Path, table: str) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(f"{DEMO[:START]}{table}\n\n{DEMO[END:]}", encoding="utf-8")
    return path


def test_without_the_table_nothing_is_known(tmp_path: Path) -> None:
    assert read_job(job_with(tmp_path, "")).hardware is None


def test_an_empty_table_and_a_full_one(tmp_path: Path) -> None:
    bare = read_job(job_with(tmp_path, "[hardware]")).hardware
    assert bare is not None and bare.hardware == Hardware() and bare.torque is None
    full = read_job(
        job_with(
            tmp_path,
            '[hardware]\nmetal_washer = "1/16 in"\nmica_washer = "1 mm"\nterminal_clamp = "4 mm"\n'
            'end_insulation = "12 mm"\nend_frame = "8 mm"\nrod_diameter = "3/8 in"\nrod_metal = "ss304"\n'
            'frames_apart = "420 mm"\nmass_without_plates = "30 lb"\neye_tolerance = "0.3 mm"\n'
            'rod_torque = { value = "15 lbf ft", source = "sheet 4" }\neye_thickness = { P = "8 mm" }',
        )
    ).hardware
    assert full is not None and full.torque is not None and full.rod_metal is not None
    assert full.hardware == Hardware(0.0015875, 0.001, 0.004, 0.012, 0.008, pytest.approx(0.009525))
    assert (full.rod_metal.key, full.eye_m, full.torque.source) == ("ss304", {"P": 0.008}, "sheet 4")
    assert full.mass_kg == pytest.approx(30 * 0.45359237)


@pytest.mark.parametrize(
    ("line", "key", "words"),
    [
        ('rod_torque = "20 N m"', "hardware.rod_torque", "has no source"),
        ('eye_thickness = { X = "8 mm" }', "hardware.eye_thickness.X", "no plate of this job"),
        ('metal_washer = "0 mm"', "hardware.metal_washer", "above zero"),
        ('rod_metal = "cheese"', "hardware.rod_metal", "cheese"),
        ('washer = "2 mm"', "hardware.washer", "is not a key of this table"),
    ],
)
def test_faults_name_their_key(tmp_path: Path, line: str, key: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        read_job(job_with(tmp_path, f"[hardware]\n{line}"))
    (found,) = caught.value.complaints()
    assert found.key == key and words in f"{found.message} {found.hint}"
