"""The plate that replaces another where notches are networks: joules of the start as it is run."""

import re
from dataclasses import replace

import pytest

from griddesign.choose.duty import start_heats
from griddesign.choose.from_job import start_on
from griddesign.errors import CircuitError
from griddesign.found.tapped import TappedSection
from griddesign.grid.build import ohms_by_section
from griddesign.grid.contacts.records import Wire
from griddesign.grid.records import Run
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.records import Result
from griddesign.judge.replacing import Wanted, order_plate
from griddesign.judge.retapping.bank import run_on
from griddesign.judge.runup import starter
from griddesign.judge.same_duty import NotComputed, SameDuty, as_meant, heats_as_run, same_duty
from griddesign.metals import metal
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.shipped import examples_folder
from griddesign.traction.network.cut import bridged
from griddesign.traction.network.written_out import written_out
from griddesign.traction.records import Grouping, Ladder, Notch


def test_joules_of_a_start_of_networks_are_those_of_the_same_groupings(demo: Result) -> None:
    """Every notch of the demo written out as a network; a start at mean currents is a few per cent off in its times."""
    job, worked = demo.job, demo.worked
    assert worked is not None and worked.design is not None and isinstance(worked.wanted, Ladder) and job.line
    networks = tuple(replace(one, common=None, strings=(), network=written_out(one)) for one in job.notches)
    found = heats_as_run(replace(job, notches=networks), worked, job.line.highest_v)
    mean = start_heats(start_on(job, worked.wanted, ohms_by_section(worked.design.sections), job.line.highest_v))
    assert list(found) == [one.section for one in mean]
    for one in mean:
        assert found[one.section].joules == pytest.approx(one.joules, rel=0.02)
        assert found[one.section].on_s == pytest.approx(one.on_s, rel=0.1)


COUNTS = {"A": 25, "B": 17, "C": 8, "D": 11, "E": 11}
SECTIONS = "".join(f'[[section]]\nname = "{name}"\nplates = {count}\nkind = "P"\n\n' for name, count in COUNTS.items())


@pytest.fixture(scope="module")
def counted(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The controller whose notches 3 and 5 are networks, with counts of measured plates and a duty."""
    odd, old = ((examples_folder() / f"{name}-controller.toml").read_text(encoding="utf-8") for name in ("odd", "old"))
    plates = old[old.index("[[plate]]") : old.index("[retap]")]
    odd = odd.replace('valley_current = "80 A"', 'valley_current = "75 A"')  # groupings alone allow for no more
    path = tmp_path_factory.mktemp("duty") / "odd.toml"
    path.write_text(f"{odd}\n{SECTIONS}{plates}{old[old.index('[duty]') :]}", encoding="utf-8")
    return read_job(path)


def test_a_replacement_is_held_against_the_duty_of_a_start_with_networks(counted: Job) -> None:
    """The mean heat of a plate is that of the section with the most joules per plate in the start as run."""
    plate = counted.plates[0]
    order = order_plate(counted, plate, Wanted(ohm=0.0705, metal="ss304", made_by="laser"))
    duty = order.duty
    assert isinstance(duty, SameDuty) and duty.holds
    assert duty.case.startswith("settled, a start every 150 s, 620 V")
    assert duty.ambient_c == 40.0 < duty.old_c < 400.0
    assert duty.new_c != duty.old_c
    groupings = tuple(notch for notch in counted.notches if notch.network is None)
    fewer = same_duty(replace(counted, notches=groupings), plate, plate.shape, plate.metal)
    assert isinstance(fewer, SameDuty)
    assert duty.mean_w > 1.2 * fewer.mean_w  # notches 3 and 5 heat C too
    assert as_meant(counted, plate)[0] == plate.shape


def test_without_counts_nothing_says_which_plates_get_how_hot(counted: Job) -> None:
    plate = counted.plates[0]
    assert counted.chart is not None
    bare = same_duty(replace(counted, sections=()), plate, plate.shape, metal("ss304"))
    assert isinstance(bare, NotComputed) and "no plates counted or chosen" in bare.why
    unknown = replace(counted, sections=(), chart=replace(counted.chart, section_ohm={}))
    lost = same_duty(unknown, plate, plate.shape, metal("ss304"))
    assert isinstance(lost, NotComputed) and re.search("nothing says the ohms of section A", lost.why)


def test_a_section_jumped_whole_is_bridged_in_a_network(counted: Job) -> None:
    """With B nothing is left of its fixed resistor on notch 3: C and both motors in series, as a grouping has them."""
    plates = PlatesAtHand((PlateAtHand(1, 1, "P", 1.0),))
    ohms = {"A": 1.75, "B": 0.0, "C": 0.55, "D": 0.8, "E": 0.8}
    sections = [TappedSection(name, 0, 0, ohm, 0.0, (), (), None) for name, ohm in ohms.items()]
    known = starter(replace(counted, sections=())).worked
    plain = Notch("3", Grouping(2, 1), Run(("C",)))
    notches = tuple(plain if one.name == "3" else one for one in counted.notches)
    bare = replace(counted, plates=(), boxes=None)
    one, other = (run_on(replace(bare, notches=each), known, plates, sections) for each in (counted.notches, notches))
    assert one.peak_a["3"] == pytest.approx(other.peak_a["3"], rel=1e-6)
    assert one.peak_a["5"] == pytest.approx(other.peak_a["5"], rel=1e-6)
    third = counted.notches[2].network
    assert third is not None
    beside = replace(third, wires=(*third.wires, Wire("A", "section", 1, 0)))
    with pytest.raises(CircuitError, match="bridging section A whole joins line and ground"):
        bridged(replace(counted.notches[2], network=beside), ["A"])
