"""Results do not depend on the units a job is written in: the demo's job rewritten in other units, token by token.

The conversions are exact by definition (National Institute of Standards and Technology, Special Publication 811,
2008, appendix B: inch 25.4 mm, pound 0.453 592 37 kg, mile 1609.344 m, standard gravity 9.806 65 m/s2).
"""

import math
import re
import tempfile
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from griddesign.choose.from_job import wanted_of
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.shipped import examples_folder

INCH_M, POUND_KG, GRAVITY, MILE_KM = (
    Fraction("0.0254"),
    Fraction("0.45359237"),
    Fraction("9.80665"),
    Fraction("1.609344"),
)
OTHERS: dict[str, dict[str, Fraction]] = {  # unit in the demo -> other spelling, and how many of it make one
    "V": {"kV": Fraction(1, 1000), "mV": Fraction(1000), "volts": Fraction(1)},
    "A": {"mA": Fraction(1000), "kA": Fraction(1, 1000), "amps": Fraction(1)},
    "ohm": {"mohm": Fraction(1000), "uohm": Fraction(10**6), "kohm": Fraction(1, 1000)},
    "t": {"kg": Fraction(1000), "lb": 1000 / POUND_KG, "short tons": 1000 / (2000 * POUND_KG)},
    "m": {"in": 1 / INCH_M, "ft": 1 / (12 * INCH_M), "cm": Fraction(100), "thou": 1000 / INCH_M},
    "mm": {"in": 1 / (1000 * INCH_M), "thou": 1 / INCH_M, "m": Fraction(1, 1000), "ft": 1 / (12000 * INCH_M)},
    "%": {"permille": Fraction(10), "": Fraction(1, 100)},
    "N/t": {"N/kg": Fraction(1, 1000), "kgf/t": 1 / GRAVITY, "lbf/short ton": 2 / GRAVITY},
    "N/t per km/h": {"N/t per mph": MILE_KM, "N/kg per m/s": Fraction(36, 10_000), "kgf/t per km/h": 1 / GRAVITY},
    "rpm": {"rev/s": Fraction(1, 60), "rad/s": Fraction(2 * math.pi) / 60},
    "s": {"min": Fraction(1, 60), "h": Fraction(1, 3600), "ms": Fraction(1000)},
}  # fmt: skip
TOKEN = re.compile(r"(?<![\w./])(\d+(?:\.\d+)?) (N/t per km/h|N/t|degC|rpm|ohm|mm|[VAtms%])(?![\w/])")
DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")


def rewritten(choose: Random) -> str:
    """The demo's text with every quantity in a unit of chance."""
    lines = [
        line if line.startswith("#") else TOKEN.sub(lambda found: other(found, choose), line)
        for line in DEMO.split("\n")
    ]
    return "\n".join(lines)  # fmt: skip


def other(found: re.Match[str], choose: Random) -> str:
    value, unit = Fraction(found[1]), found[2]
    if unit == "degC":
        shown, spelled = choose.choice(
            ((value, "degC"), (value * 9 / 5 + 32, "degF"), (value + Fraction("273.15"), "K"))
        )
        return f"{decimal(shown)} {spelled}"
    spelled, factor = choose.choice([(unit, Fraction(1)), *OTHERS[unit].items()])
    return f"{decimal(value * factor)} {spelled}".rstrip()


def decimal(value: Fraction) -> str:
    """Twenty decimal places more than the first digit needs: plain digits, no exponent."""
    places = 20
    whole = round(value * 10**places)
    digits = f"{whole:0{places + 1}d}"
    return f"{digits[:-places]}.{digits[-places:]}"


def job_of(text: str) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "demo.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)


def numbers(where: str, value: Any) -> Iterator[tuple[str, float]]:
    """Every number below a record, with its place."""
    if isinstance(value, int | float):
        yield where, float(value)
    elif is_dataclass(value):
        for each in fields(value):
            if each.name not in {"path", "lines", "rebuild", "text"}:
                yield from numbers(f"{where}.{each.name}", getattr(value, each.name))
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield from numbers(f"{where}.{name}", inner)
    elif isinstance(value, tuple):
        for place, inner in enumerate(value):
            yield from numbers(f"{where}[{place}]", inner)


@pytest.fixture(scope="module")
def written() -> Job:
    return job_of(DEMO)


def test_the_rewriting_reaches_every_quantity_of_the_demo() -> None:
    bare = [line for line in DEMO.split("\n") if re.search(r'"[^"]*\d [A-Za-z%]', TOKEN.sub("", line))]
    assert [line for line in bare if not line.startswith(("#", "plate_gap"))] == []
    assert len(TOKEN.findall(DEMO)) >= 40


@seed(811)
@settings(max_examples=60, deadline=None, database=None)
@given(st.integers(0, 2**32))
def test_the_same_numbers_arrive_whatever_the_units(written: Job, number: int) -> None:
    expected, found = dict(numbers("job", written)), dict(numbers("job", job_of(rewritten(Random(number)))))
    assert found.keys() == expected.keys() and len(expected) > 100
    for place, value in expected.items():
        assert found[place] == pytest.approx(value, rel=1e-12, abs=1e-13 if "_c" in place else 0.0), place


@pytest.mark.parametrize("number", range(4))
def test_the_same_ohms_are_wanted_whatever_the_units(written: Job, number: int) -> None:
    expected, found = wanted_of(written), wanted_of(job_of(rewritten(Random(number))))
    for one, two in zip(expected.notches, found.notches, strict=True):
        assert two.wanted_ohm == pytest.approx(one.wanted_ohm, rel=1e-9, abs=1e-12), one.name
    for (name, ohm), (_, again) in zip(expected.sections, found.sections, strict=True):
        assert again == pytest.approx(ohm, rel=1e-9), name
