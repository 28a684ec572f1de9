"""Plates at hand as the rooms of heat and start take them: runs of like plates, the hottest of each by itself.

A section of measured plates is parted into sections of like plates in series, which changes no circuit. Of each kind
the step with the most ohms stands apart, as it takes the most power, and is the thinnest: a plate rusted thin has more
ohms, and mass and strip section less by the same share, so its heat capacity is less too. What it is held against is
the job's own figure of a sound plate (``measured``), else the plate of least ohms of its kind found, so that scatter of
the casting counts as rust, which is the hotter side. Neighbours are taken as they stand section after section.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from griddesign.choose.duty import hot_ratios
from griddesign.choose.from_job import Worked, start_on
from griddesign.choose.records import ChosenKind, Design
from griddesign.errors import GriddesignError
from griddesign.found.tapped import TappedSection
from griddesign.grid.build import ohms_by_section
from griddesign.grid.records import BoxPlan, Branches, Run, SectionBuild
from griddesign.job.records import Job, PlateWish
from griddesign.judge.ends import hottest_c
from griddesign.judge.heat_cases import deciding
from griddesign.judge.limits import judge_limits
from griddesign.judge.retapping.records import NOT_RUN, RunAt
from griddesign.judge.run_heat import RunHeat, run_heat
from griddesign.judge.runup import Starter
from griddesign.judge.start_ends import shortest
from griddesign.judge.start_findings import highest_a, judge_run
from griddesign.plate.freeing import with_thickness
from griddesign.retaps.records import PlatesAtHand, Step
from griddesign.traction.records import Ladder, Notch, Transition
from griddesign.traction.runup.records import RunUp

OHMS_ONLY = "ohms only, not shown safe"
NO_CAR = "the job has no car, motor and start"


@dataclass(frozen=True, slots=True)
class Lot:
    """Steps alike in a section: ``series`` steps of ``in_parallel`` plates of ``plate_ohm`` each, thinner than a sound
    plate by ``thin`` (1 or more)."""

    name: str
    kind: str
    series: int
    in_parallel: int
    plate_ohm: float
    thin: float


def run_on(job: Job, worked: Worked, plates: PlatesAtHand, sections: Sequence[TappedSection]) -> RunAt:
    """The start run on these sections, with heat where every kind is drawn and the boxes are known."""
    lacking = missing_for_a_run(worked, sections)
    if lacking:
        return replace(NOT_RUN, without=lacking)
    try:
        ready = starter_on(job, worked, plates, sections)
        run = ready.run(ready.cases)
        heat = run_heat(ready) if ready.worked.design else None
    except GriddesignError as error:
        return replace(NOT_RUN, without=error.message)
    return told_of(ready, run, heat) if heat else _told_cold(ready, run, _undrawn(job, plates))


def starter_on(job: Job, worked: Worked, plates: PlatesAtHand, sections: Sequence[TappedSection]) -> Starter:
    """The start on these sections, ready to be run: parted into lots where every kind is drawn, else by ohms alone."""
    lots = {one.name: tuple(_lots(job, plates, one)) for one in sections}
    drawn = _drawn(job, lots.values())
    return _starter(job, worked, plates, lots) if drawn else _cold_starter(job, worked, sections)


def told_of(ready: Starter, run: RunUp, heat: RunHeat | None) -> RunAt:
    """Peaks and heat of a start as run."""
    if heat is None:
        return _told_cold(ready, run, "")
    given_c = hottest_c(deciding(heat.given_rows))
    beside = (*judge_run(ready, run), *judge_limits(ready.job, heat))
    return RunAt(_peaks(ready, run), heat.rows, shortest(heat.held), given_c=given_c, beside=beside)


def _told_cold(ready: Starter, run: RunUp, lacking: str) -> RunAt:
    beside = (*judge_run(ready, run), *judge_limits(ready.job, None))
    return RunAt(_peaks(ready, run), (), {}, f"{OHMS_ONLY}: {lacking}", beside=beside)


def _peaks(ready: Starter, run: RunUp) -> dict[str, float]:
    """Worst peak of every notch at nominal voltage, A per motor."""
    nominal = [place for place, case in enumerate(ready.cases) if case.line_v == ready.cases[0].line_v]
    return {log.name: float(np.max(highest_a(log)[nominal])) for log in run.notches}


def hot_ratios_on(
    job: Job, worked: Worked, plates: PlatesAtHand, sections: Sequence[TappedSection]
) -> dict[str, float]:
    """Hot over cold ohms of each section at the settled duty; empty where nothing is known of the heat or the duty."""
    lots = {one.name: tuple(_lots(job, plates, one)) for one in sections}
    if missing_for_a_run(worked, sections) or job.duty.start_every_s is None or not _drawn(job, lots.values()):
        return {}
    ready = _starter(job, worked, plates, lots)
    assert isinstance(worked.wanted, Ladder) and ready.worked.design is not None
    start = start_on(ready.job, worked.wanted, ohms_by_section(ready.worked.design.sections))
    by_lot = hot_ratios(ready.heated, start, job.duty)
    share = {lot.name: _lot_ohm(lot, plates.joint_ohm) for each in lots.values() for lot in each}
    return {
        name: sum(share[lot.name] * by_lot[lot.name] for lot in each) / sum(share[lot.name] for lot in each)
        for name, each in lots.items()
    }


def missing_for_a_run(worked: Worked, sections: Iterable[TappedSection]) -> str:
    """Why no start can be run; "" where one can."""
    if not isinstance(worked.wanted, Ladder):
        return NO_CAR
    opened = [one.name for one in sections if not isfinite(one.cold_ohm)]
    return f"section {', '.join(opened)} is open" if opened else ""


def _undrawn(job: Job, plates: PlatesAtHand) -> str:
    if job.boxes is None:
        return "the job has no [boxes] with their plate gap"
    kinds = dict.fromkeys(plate.kind for plate in plates.plates)
    lacking = [kind for kind in kinds if all(wish.name != kind for wish in job.plates)]
    return f"no [[plate]] draws kind {', '.join(lacking)}" if lacking else "plates of two kinds stand side by side"


def _drawn(job: Job, lots: Iterable[Sequence[Lot]]) -> bool:
    kinds = {lot.kind for each in lots for lot in each}
    return job.boxes is not None and kinds <= {wish.name for wish in job.plates}


# --- lots ------------------------------------------------------------------------------------------------------------


def _lots(job: Job, plates: PlatesAtHand, section: TappedSection) -> Iterator[Lot]:
    """The section's steps by make; of each make the step with the most ohms alone."""
    inside = [
        step
        for step in plates.steps
        if section.from_joint < step.first <= section.to_joint and set(_live(plates, step)) & set(section.plates)
    ]
    makes: dict[tuple[str, int], list[Step]] = {}
    for step in inside:
        makes.setdefault(_make(plates, step), []).append(step)
    for (kind, in_parallel), steps in makes.items():
        sound_ohm = _sound_ohm(job, plates, kind)
        hottest = max(steps, key=lambda step: step.ohm)
        rest = [step for step in steps if step is not hottest]
        where = _where(plates, hottest)
        yield _lot(f"{section.name}, {where}", kind, in_parallel, [hottest], sound_ohm, plates.joint_ohm)
        if rest:
            word = section.name if len(makes) == 1 else f"{section.name}, {kind}"
            name = word if in_parallel == 1 or len(makes) == 1 else f"{word} × {in_parallel}"
            yield _lot(name, kind, in_parallel, rest, sound_ohm, plates.joint_ohm)


def _where(plates: PlatesAtHand, step: Step) -> str:
    plate = plates.plates[step.first - 1]
    return f"box {plate.box} plate {plate.position}"


def _make(plates: PlatesAtHand, step: Step) -> tuple[str, int]:
    """Kind and number of plates side by side; of two kinds a name that nobody draws."""
    kinds = sorted({plates.plates[number - 1].kind for number in _live(plates, step)})
    return " with ".join(kinds), len(_live(plates, step))


def _live(plates: PlatesAtHand, step: Step) -> list[int]:
    numbers = range(step.first, step.last + 1)
    return [number for number in numbers if plates.plates[number - 1].state in ("in circuit", "cracked")]


def _lot(name: str, kind: str, in_parallel: int, steps: Sequence[Step], sound_ohm: float, joint_ohm: float) -> Lot:
    mean_ohm = in_parallel * (sum(step.ohm for step in steps) / len(steps) - joint_ohm)
    return Lot(name, kind, len(steps), in_parallel, mean_ohm, max(1.0, mean_ohm / sound_ohm))


def _sound_ohm(job: Job, plates: PlatesAtHand, kind: str) -> float:
    """Ohms of a plate of the kind that has lost nothing."""
    given = next((wish.measured_ohm for wish in job.plates if wish.name == kind and wish.measured_ohm), None)
    alike = [plate.ohm for plate in plates.plates if plate.kind == kind and isfinite(plate.ohm) and plate.ohm > 0.0]
    return given or min(alike, default=1.0)


# --- the start -------------------------------------------------------------------------------------------------------


def _starter(job: Job, worked: Worked, plates: PlatesAtHand, lots: Mapping[str, Sequence[Lot]]) -> Starter:
    """The job with its sections parted into lots, ready to be run."""
    own = _in_parts(job, plates, lots)
    assert own.boxes is not None
    every, plan = [lot for each in lots.values() for lot in each], own.boxes
    sections = tuple(
        SectionBuild(lot.name, lot.name, lot.series, lot.in_parallel, lot.plate_ohm, _lot_ohm(lot, plan.joint_ohm))
        for lot in every
    )
    kinds = tuple(ChosenKind(wish.name, wish.shape, lot.plate_ohm) for wish, lot in zip(own.plates, every, strict=True))
    return Starter(own, replace(worked, design=Design(sections, kinds, (), (), plan.boxes, ())))


def _in_parts(job: Job, plates: PlatesAtHand, lots: Mapping[str, Sequence[Lot]]) -> Job:
    """The job whose sections are the lots, one kind of plate for each; with figures at their ends it stays so."""
    assert job.boxes is not None
    every, rebuild = [lot for each in lots.values() for lot in each], job.rebuild
    wishes = {wish.name: wish for wish in job.plates}
    parted = {name: tuple(lot.name for lot in each) for name, each in lots.items()}
    return replace(
        job,
        plates=tuple(_as_wish(lot, wishes[lot.kind]) for lot in every),
        sections=(),
        boxes=_plan(job.boxes, plates),
        section_order=tuple(lot.name for lot in every),
        notches=tuple(_in_lots(notch, parted) for notch in job.notches),
        start=None if job.start is None else replace(job.start, transition=_changed(job.start.transition, parted)),
        rebuild=None if rebuild is None else lambda figures: _in_parts(rebuild(figures), plates, lots),
    )


def _lot_ohm(lot: Lot, joint_ohm: float) -> float:
    return lot.series * (lot.plate_ohm / lot.in_parallel + joint_ohm)


def _as_wish(lot: Lot, wish: PlateWish) -> PlateWish:
    """The kind as thin as the lot is."""
    shape = with_thickness(wish.shape, wish.shape.thickness_m / lot.thin)
    return replace(wish, name=lot.name, shape=shape, strip_width_range_m=None, measured_ohm=lot.plate_ohm)


def _plan(boxes: BoxPlan, plates: PlatesAtHand) -> BoxPlan:
    """Boxes as found, with one to spare, since plates parted by lots stand a little otherwise."""
    in_box: dict[int, int] = {}
    for plate in plates.plates:
        in_box[plate.box] = in_box.get(plate.box, 0) + 1
    return replace(boxes, boxes=2 * len(in_box) + 1, plates_per_box=max(4, *in_box.values()), tap_sides=2)


def _in_lots(notch: Notch, parted: Mapping[str, Sequence[str]]) -> Notch:
    if notch.network is not None:
        left = _bridged(notch, [name for name, lots in parted.items() if not lots])
        assert left.network is not None
        return replace(left, network=left.network.with_parts(parted), transition=_changed(notch.transition, parted))
    common = None if notch.common is None else _parted(notch.common, parted)
    strings = tuple(_parted(run, parted) for run in notch.strings)
    return replace(notch, common=common, strings=strings, transition=_changed(notch.transition, parted))


def _bridged(notch: Notch, empty: Sequence[str]) -> Notch:
    """A network with the sections of which nothing is left bridged; a grouping does without them by itself."""
    if notch.network is None or not empty:
        return notch
    from griddesign.traction.network.cut import bridged

    return bridged(notch, empty)


def _changed(change: Transition | None, parted: Mapping[str, Sequence[str]]) -> Transition | None:
    if change is None or not change.circuits:
        return change
    return replace(change, circuits=tuple(_parted(run, parted) for run in change.circuits))


def _parted(run: Run, parted: Mapping[str, Sequence[str]]) -> Run:
    """The run with every section named by its lots."""
    parts: list[str | Branches] = []
    for part in run.parts:
        if isinstance(part, str):
            parts.extend(parted[part])
        else:
            parts.append(Branches(tuple(_parted(branch, parted) for branch in part.runs)))
    return Run(tuple(parts))


def _cold_starter(job: Job, worked: Worked, sections: Sequence[TappedSection]) -> Starter:
    """The job with ohms alone: nothing is known of the heat."""
    assert isinstance(worked.wanted, Ladder)
    given = tuple((one.name, one.cold_ohm) for one in sections)
    empty = [one.name for one in sections if not one.cold_ohm]
    job = replace(job, notches=tuple(_bridged(notch, empty) for notch in job.notches))
    return Starter(job, replace(worked, wanted=replace(worked.wanted, sections=given), design=None))
