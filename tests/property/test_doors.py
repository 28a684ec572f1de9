"""A few inputs through every door on every run of the suite; ``roam_doors.py`` sends tens of thousands.

``doors.py`` says what a fault is. What the long runs found stands below as it came in.
"""

import os
import sys
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from griddesign.job.starters import starter_text

sys.path.insert(0, str(Path(__file__).parent))

from chart_doors import CHART_DOORS  # beside this file
from doors import DOORS, FORM, READ, example, sent_through
from outline_doors import OUTLINE_DOORS

EVERY = {**DOORS, **CHART_DOORS, **OUTLINE_DOORS}
FEW = {"dxf": 4, "command": 6, "whole-claim": 1, "solve": 1, "papers": 0, "whole-job": 0, "whole-retap": 0}
FEW |= {"outline": 4, "network-start": 1, "network-faults": 0, "network-design": 0, "exchanges": 0}
"""Inputs of a run of the suite, where it is not the usual number: what lies deeper costs more."""
USUAL = 10

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="the doors are watched with timers of POSIX")


@pytest.mark.parametrize("name", [name for name in EVERY if FEW.get(name, USUAL)])
def test_what_is_changed_is_read_or_refused(name: str) -> None:
    door = EVERY[name]
    seeds = list(door.seeds())

    @settings(max_examples=FEW.get(name, USUAL), database=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 2**32))
    def through(number: int) -> None:
        dice = Random(number)
        sent_through(door, door.mangle(dice, dice.choice(seeds), seeds))

    through()


@pytest.mark.parametrize("name", ["job", "claim", "plates", "first-off", "heat-run", "dxf", "binary-dxf", "chart"])
def test_before_they_are_changed_they_are_read(name: str) -> None:
    assert [raw[:60] for raw in EVERY[name].seeds() if not sent_through(EVERY[name], raw).startswith(READ)] == []


DEMO, CLAIM, OFFERED = example("demo.toml"), example("claim.toml"), example("offered-plate.dxf")
OFFER_JOB = starter_text("claim").encode()
FOUND: list[Any] = [
    ("job", DEMO.replace(b"count = 2", b"count = " + b"9" * 5000), "far too many digits"),
    ("job", DEMO.replace(b"count = 2", b"count = 0x" + b"f" * 5000), "out of range"),
    ("job", DEMO.replace(b"count = 2", b"count = " + b"[" * 5000 + b"]" * 5000), "far too deep"),
    ("job", DEMO.replace(b"count = 2", b"count = " + b"[" * 40 + b"]" * 40), "too deep"),
    ("job", DEMO.replace(b"works car 3", b"works\\u202ecar 3"), "invisible character"),
    ("job", DEMO.replace(b"works car 3", "works\u2028car 3".encode()), "invisible character"),
    ("job", DEMO.replace(b"works car 3", b"works\\u007fcar 3"), "a control character"),
    ("job", DEMO + b'\n[metal."a\\nb"]\n', "a control character"),
    ("claim", CLAIM.replace(b'"Offer 12', b'"\\u2067Offer 12'), "invisible character"),
    ("readings", FORM.replace(b"plate,1,1,P", "plate,1,²,P".encode()), "is no number of a position"),
    ("readings", FORM.replace(b"plate,1,1,P", b"plate,1," + b"9" * 5000 + b",P"), "is no number of a position"),
    ("readings", FORM.replace(b"four-wire,20", b"four-wire" + b"9" * 5000 + b",20"), "is no method"),
    ("plates", example("retap-plates.csv").replace(b"1,2,P", "1,2,\u202eP".encode()), "invisible character"),
    ("plates", example("retap-plates.csv") + b'\n"1', "the quotes do not match"),
    ("dxf", OFFERED.replace(b"\n 10\r", b"\n" + b"9" * 5000 + b"\r", 1), "stands where a group code should"),
    ("dxf", OFFERED.replace(b"\n 10\r", b"\n1_0\r", 1), "stands where a group code should"),
    ("whole-job", DEMO.replace(b'"400 degC"', b'"4e8 degC"'), "too much for a temperature"),
    ("whole-job", OFFER_JOB.replace(b'"0.8 ohm"', b'"8e-18 ohm"'), "is next to nothing"),
    ("whole-claim", CLAIM.replace(b'name = "5"', b'name = "4"'), "has no grid in the job"),
    ("whole-claim", CLAIM.replace(b'"8.1 mm"', b'"8.1e-3 mm"'), "cannot be. It must be at least"),
    ("whole-claim", CLAIM.replace(b'"7400 kg/m3"', b'"7 kg/m3"'), "cannot be. It must be at least"),
    ("record", b"[" * 100_000, "cannot be read"),
]


@pytest.mark.parametrize(("name", "raw", "words"), FOUND)
def test_what_the_long_runs_found_is_refused_in_one_line(name: str, raw: bytes, words: str) -> None:
    assert words in sent_through(EVERY[name], raw)
