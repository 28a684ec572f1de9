"""From the rows of a CSV to the plates as they stand, with everything the readings say about each other."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import inf

from griddesign.found.accuracy import METHOD_NOT_TOLD, TWO_WIRE_BELOW_OHM
from griddesign.found.kinds import ENOUGH_MATES
from griddesign.found.missing import StepKnown, one_out
from griddesign.found.prepare import STATES, Prepared, alive, prepared, where
from griddesign.found.records import AsFound, Disagreement, KindKnown, OneOut, Reading20
from griddesign.found.squares import Fit, Observation, Outlier, reconciled
from griddesign.job.plates_csv import PlateRow, PlatesCsv
from griddesign.job.records import Job
from griddesign.retaps.records import PlateAtHand, PlatesAtHand, Step

SIGMAS = 2.0
"""Half-widths are taken for two sigma (95 per cent)."""


def as_found(job: Job, file: PlatesCsv) -> AsFound:
    """The plates of a file as they stand. Raises JobError where a plate's ohms cannot be known at all."""
    ready = prepared(job, file)
    joint_ohm = job.boxes.joint_ohm if job.boxes else 0.0
    lacking = [(number, one) for number, one in _one_out(ready, joint_ohm) if one is not None]
    aside = {number for number, one in lacking if one.shown and _all_read(ready, ready.readings[number])}
    seen, of_reading = _observations(ready, aside, joint_ohm)
    fit, out = reconciled(len(ready.live), seen, _prefer(ready, seen))
    thrown = {of_reading[one.place]: one for one in out}
    used = set(of_reading.values()) - thrown.keys()
    plates, estimated = _plates(ready, fit, seen)
    return AsFound(
        plates=PlatesAtHand(plates, joint_ohm),
        rows=ready.rows,
        readings=tuple(replace(one, used=number in used) for number, one in enumerate(ready.readings)),
        kinds=ready.kinds,
        estimated=estimated,
        disagreements=tuple(_disagreement(ready, ready.readings[at], one, of_reading) for at, one in thrown.items()),
        one_out=tuple(one for _, one in lacking),
        contradictions=ready.contradictions,
        two_wire=tuple(_two_wire(ready)),
        remarks=(*file.remarks, *_remarks(file, ready, estimated)),
    )


# --- one plate fewer -------------------------------------------------------------------------------------------------


def _one_out(ready: Prepared, joint_ohm: float) -> Iterator[tuple[int, OneOut | None]]:
    """Each reading over several plates with what it says of their number."""
    for number, reading in enumerate(ready.readings):
        if len(reading.steps) > 1 and _told_without(ready, reading):
            without_joints = replace(reading, ohm=reading.ohm - joint_ohm * len(reading.steps))
            yield number, one_out(without_joints, [_known(ready, place) for place in reading.steps])


def _told_without(ready: Prepared, reading: Reading20) -> bool:
    """Whether the plates are known from elsewhere, and not from this very reading."""
    kinds = {row.kind for row in ready.rows[reading.first - 1 : reading.last]}
    return _all_read(ready, reading) or not any("shared evenly" in ready.kinds[kind].source for kind in kinds)


def _all_read(ready: Prepared, reading: Reading20) -> bool:
    return all(_by_itself(ready, place) for place in reading.steps)


def _by_itself(ready: Prepared, place: int) -> list[Reading20]:
    """Readings of one step alone."""
    return [one for one in ready.readings if one.steps == (place,)]


def _known(ready: Prepared, place: int) -> StepKnown:
    """A step from its own most exact reading, else from the kinds of its plates."""
    step = ready.live[place]
    own = _by_itself(ready, place)
    if own:
        best = min(own, key=lambda one: one.half_width_ohm)
        return StepKnown(step.first, best.ohm, best.half_width_ohm)
    ohm, wide = _by_plates(ready, step)
    return StepKnown(step.first, ohm, wide)


def _by_plates(ready: Prepared, step: Step) -> tuple[float, float]:
    """Ohms and half-width of a step from its plates: read by themselves, else by their kinds."""
    each = [_plate(ready, number) for number in ready.live_plates(step)]
    ohm = 1.0 / sum(1.0 / one for one, _ in each)
    return ohm, sum(wide * (ohm / one) ** 2 for one, wide in each)


def _plate(ready: Prepared, number: int) -> tuple[float, float]:
    own = ready.own[number]
    if own:
        best = min(own, key=lambda one: one.half_width_ohm)
        return best.ohm, best.half_width_ohm
    known = ready.kinds[ready.rows[number - 1].kind]
    return known.ohm, known.share * known.ohm


# --- readings reconciled ---------------------------------------------------------------------------------------------


def _observations(ready: Prepared, aside: set[int], joint_ohm: float) -> tuple[list[Observation], dict[int, int]]:
    """What goes into the fit, and the reading behind each observation by its place."""
    seen: list[Observation] = []
    of_reading: dict[int, int] = {}
    for number, reading in enumerate(ready.readings):
        if reading.steps and number not in aside and not _blocked(ready, reading):
            several = len(reading.steps) if reading.first != reading.last else 0
            of_reading[len(seen)] = number
            ohm = reading.ohm - joint_ohm * several
            seen.append(Observation(reading.steps, ohm, reading.half_width_ohm / SIGMAS))
    alone = {one.steps[0] for one in seen if len(one.steps) == 1}
    for place, step in enumerate(ready.live):
        if place not in alone:
            seen.append(_held_up(ready, place, step))
    return seen, of_reading


def _held_up(ready: Prepared, place: int, step: Step) -> Observation:
    """A step nobody read as it stands: from its plates read apart, else from its kind, so loosely that it gives way."""
    ohm, wide = _by_plates(ready, step)
    apart = all(ready.own[number] for number in ready.live_plates(step))
    return Observation((place,), ohm, wide / SIGMAS if apart else ohm, tested=False)


def _blocked(ready: Prepared, reading: Reading20) -> bool:
    """Whether it was read over a dead plate that nothing stands beside."""
    covered = {
        number for place in reading.steps for number in range(ready.live[place].first, ready.live[place].last + 1)
    }
    dead = (number for number in range(reading.first, reading.last + 1) if ready.rows[number - 1].condition == "dead")
    return any(number not in covered for number in dead)


def _prefer(ready: Prepared, seen: Sequence[Observation]) -> list[int]:
    """Readings of one step that lie outside the scatter of their kind, furthest first: of readings that contradict each
    other equally they are the likeliest to be wrong."""
    far: list[tuple[float, int]] = []
    for number, one in enumerate(seen):
        if one.tested and len(one.steps) == 1:
            mates = _mates(ready, seen, ready.live[one.steps[0]], number)
            if len(mates) >= ENOUGH_MATES:
                middle = sorted(mates)[len(mates) // 2]
                scatter = max(abs(mate - middle) for mate in mates) + 2.0 * one.sigma_ohm
                far.append((abs(one.ohm - middle) / scatter, number))
    return [number for times, number in sorted(far, reverse=True) if times > 1.0]


def _mates(ready: Prepared, seen: Sequence[Observation], step: Step, but: int) -> list[float]:
    """Ohms of other steps of the same make."""
    make = _make(ready, step)
    return [
        one.ohm
        for number, one in enumerate(seen)
        if number != but and one.tested and len(one.steps) == 1 and _make(ready, ready.live[one.steps[0]]) == make
    ]


def _make(ready: Prepared, step: Step) -> tuple[str, ...]:
    return tuple(sorted(ready.rows[number - 1].kind for number in ready.live_plates(step)))


def _disagreement(ready: Prepared, reading: Reading20, out: Outlier, of_reading: dict[int, int]) -> Disagreement:
    rivals = tuple(
        ready.readings[of_reading[place]].words for place in out.alike if place != out.place and place in of_reading
    )
    single = len(reading.steps) == 1
    why = "it lies outside the scatter of its kind" if rivals and single else ""
    may = SIGMAS * out.off_sigma_ohm
    return Disagreement(reading.words, reading.ohm, out.others_ohm, may, abs(out.w), rivals, why)


# --- plates ----------------------------------------------------------------------------------------------------------


def _plates(ready: Prepared, fit: Fit, seen: Sequence[Observation]) -> tuple[tuple[PlateAtHand, ...], tuple[int, ...]]:
    """Every plate with its ohms, and the numbers of those that are known by their kind alone."""
    read = {one.steps[0] for one in seen if one.tested and len(one.steps) == 1}
    ohms: dict[int, tuple[float, float]] = {}
    estimated: list[int] = []
    for place, step in enumerate(ready.live):
        shared = list(_shared(ready, place, step, fit))
        known = place in read or all(ready.own[number] for number, _, _ in shared)
        for number, ohm, wide in shared:
            ohms[number] = (
                ohm,
                wide if known else max(wide if wide < ohm / 2.0 else 0.0, _kind(ready, number).share * ohm),
            )
            if not known:
                estimated.append(number)
    plates = tuple(_at_hand(ready, number, row, ohms) for number, row in enumerate(ready.rows, start=1))
    return plates, tuple(estimated)


def _shared(ready: Prepared, place: int, step: Step, fit: Fit) -> Iterator[tuple[int, float, float]]:
    """The fitted ohms of a step shared out to its live plates as what is known of each: number, ohm, half-width."""
    numbers = ready.live_plates(step)
    before = [_plate(ready, number)[0] if number else 1.0 for number in numbers]
    together = 1.0 / sum(1.0 / ohm for ohm in before)
    scale = float(fit.ohm[place]) / together
    share = SIGMAS * float(fit.sigma_ohm[place]) / float(fit.ohm[place])
    yield from ((number, scale * ohm, share * scale * ohm) for number, ohm in zip(numbers, before, strict=True))


def _kind(ready: Prepared, number: int) -> KindKnown:
    return ready.kinds[ready.rows[number - 1].kind]


def _at_hand(ready: Prepared, number: int, row: PlateRow, ohms: dict[int, tuple[float, float]]) -> PlateAtHand:
    """The plate as record; of one that carries nothing its own reading, else its kind's, for whoever puts it back."""
    if number in ohms:
        ohm, wide = ohms[number]
    elif row.condition == "dead":
        ohm, wide = inf, 0.0
    elif ready.own[number] or row.kind in ready.kinds:
        ohm, wide = _plate(ready, number)
    else:
        ohm, wide = 0.0, 0.0
    return PlateAtHand(row.box, row.position, row.kind, ohm, wide, STATES[row.condition], row.carries_a, row.joined)


# --- what to say -----------------------------------------------------------------------------------------------------


def _two_wire(ready: Prepared) -> Iterator[str]:
    for one in ready.readings:
        if one.method == "two-wire" and one.read_ohm < TWO_WIRE_BELOW_OHM:
            yield one.words


def _remarks(file: PlatesCsv, ready: Prepared, estimated: Sequence[int]) -> Iterator[str]:
    untold = sum(not one.method_given and one.method == "four-wire" for one in file.readings)
    if untold:
        yield (
            f"≈ {untold} reading{'s' if untold > 1 else ''} without a method taken as four-wire, within "
            f"{100 * METHOD_NOT_TOLD:.0f} %; two wires would read the leads with the plate."
        )
    assumed = {one.method for one in ready.readings if one.assumed}
    if assumed:
        yield f"≈ The accuracy of readings by {', '.join(sorted(assumed))} is our own figure; the file states none."
    if estimated:
        first = where(ready.rows[estimated[0] - 1])
        yield f"≈ {len(estimated)} plates no reading tells apart, from {first} on: ohms by their kind."
    idle = [where(row) for row in ready.rows if row.condition == "not in circuit"]
    if idle:
        yield f"Mounted, not in circuit: {'; '.join(idle)}."
    cracked = [where(row) for row in ready.rows if row.condition == "cracked"]
    if cracked:
        yield f"Cracked or doubtful: {'; '.join(cracked)}. It may open any day."
    if any(not alive(row) and row.condition == "dead" for row in ready.rows):
        dead = (where(row) for row in ready.rows if row.condition == "dead")
        yield f"Dead: {'; '.join(dead)}."
