"""Rows of a CSV made ready to be reconciled: the steps they form, readings at 20 degC, what each was read over."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from griddesign.errors import Complaint, JobError
from griddesign.found.accuracy import at_20
from griddesign.found.kinds import from_spans, kinds_known
from griddesign.found.records import KindKnown, Reading20
from griddesign.job.plates_csv import OhmReading, PlateRow, PlatesCsv
from griddesign.job.records import Job
from griddesign.metals import Metal
from griddesign.retaps.records import PlateAtHand, PlatesAtHand, State, Step

STATES: Mapping[str, State] = {
    "sound": "in circuit",
    "not in circuit": "not in circuit",
    "cracked": "cracked",
    "dead": "dead",
}


@dataclass(frozen=True)
class Prepared:
    """``live``: the steps current passes through, in order; readings name them by their place among these.

    ``own``: plate number -> readings of that plate by itself (of one in a pair: taken apart, or it is alone alive).
    """

    rows: tuple[PlateRow, ...]
    live: tuple[Step, ...]
    readings: tuple[Reading20, ...]
    own: Mapping[int, tuple[Reading20, ...]]
    kinds: Mapping[str, KindKnown]
    contradictions: tuple[str, ...]

    def live_plates(self, step: Step) -> tuple[int, ...]:
        """Numbers of the plates of a step that carry current."""
        return tuple(number for number in range(step.first, step.last + 1) if alive(self.rows[number - 1]))


def alive(row: PlateRow) -> bool:
    """Whether a plate carries current."""
    return row.condition in ("sound", "cracked")


def prepared(job: Job, file: PlatesCsv) -> Prepared:
    """The file made ready. Raises JobError where a kind has no metal, or nothing tells a plate's ohms."""
    rows = file.plates
    live = tuple(step for step in skeleton(rows).steps if step.in_circuit and not step.dead)
    metals = _metals(job, file)
    readings = tuple(_reading(file, one, live, metals) for one in file.readings)
    own = {number: tuple(_own(rows, readings, number)) for number in range(1, len(rows) + 1)}
    kinds = _kinds(job, file, readings, own, live)
    return Prepared(rows, live, readings, own, kinds, tuple(_contradictions(rows, readings)))


def skeleton(rows: Sequence[PlateRow]) -> PlatesAtHand:
    """The plates without their ohms: enough to tell steps and joints."""
    return PlatesAtHand(
        tuple(
            PlateAtHand(row.box, row.position, row.kind, 1.0, 0.0, STATES[row.condition], row.carries_a, row.joined)
            for row in rows
        )
    )


def where(row: PlateRow) -> str:
    """A plate in words."""
    return f"box {row.box}, plate {row.position}"


def _metals(job: Job, file: PlatesCsv) -> dict[str, Metal]:
    """The metal of every kind."""
    drawn = {plate.name: plate.metal for plate in job.plates}
    spare = job.retap.metal if job.retap else None
    only = job.plates[0].metal if len({plate.metal.key for plate in job.plates}) == 1 else None
    found: dict[str, Metal] = {}
    for row in file.plates:
        metal = drawn.get(row.kind) or spare or only
        if metal is None:
            words = f"kind {row.kind} has no metal, and its ohms depend on temperature"
            hint = 'Draw it as [[plate]] in the job, or give [retap] metal = "…".'
            raise JobError((Complaint(words, hint, str(file.path), row.line, "kind"),))
        found[row.kind] = metal
    return found


def _reading(file: PlatesCsv, one: OhmReading, live: Sequence[Step], metals: Mapping[str, Metal]) -> Reading20:
    rows = file.plates[one.first - 1 : one.last]
    ohm, wide, assumed = at_20(one, metals[rows[0].kind])
    over = tuple(place for place, step in enumerate(live) if one.first <= step.last and step.first <= one.last)
    cut = [live[place] for place in over if live[place].first < one.first or live[place].last > one.last]
    single = one.first == one.last
    if cut and not single:
        words = f"{one.over} ends between plates {cut[0].first} and {cut[0].last} of the grid, joined side by side"
        raise JobError((Complaint(words, "Read from outside the pair.", str(file.path), one.line, "to"),))
    alone = single and (not alive(rows[0]) or rows[0].apart)
    words = where(rows[0]) if single else f"{one.over} ({where(rows[0])} to {where(rows[-1])})"
    return Reading20(
        one.line, words, one.first, one.last, one.ohm, one.t_c, ohm, wide, one.method, assumed, () if alone else over
    )


def _own(rows: Sequence[PlateRow], readings: Sequence[Reading20], number: int) -> Iterator[Reading20]:
    """Readings of one plate by itself."""
    row = rows[number - 1]
    mates = [other for other in rows if other.joined and (other.box, other.joined) == (row.box, row.joined)]
    alone = row.apart or not row.joined or not alive(row) or sum(map(alive, mates)) == 1
    if alone:
        yield from (one for one in readings if one.first == one.last == number)


def _kinds(
    job: Job,
    file: PlatesCsv,
    readings: Sequence[Reading20],
    own: Mapping[int, Sequence[Reading20]],
    live: Sequence[Step],
) -> dict[str, KindKnown]:
    """Every kind that stands in the boxes. Raises JobError where nothing at all tells the ohms of one."""
    rows = file.plates
    by_kind: dict[str, list[float]] = {}
    for number, row in enumerate(rows, start=1):
        if alive(row):
            by_kind.setdefault(row.kind, []).extend(one.ohm for one in own[number][:1])
    _add_pairs(by_kind, rows, readings, live)
    found = kinds_known(job, by_kind, (row.kind for row in rows))
    for row in rows:
        if row.kind not in found:
            known = from_spans(_spans(rows, readings, live, row.kind))
            if known is None and alive(row):
                words = f"{where(row)}: nothing tells the ohms of kind {row.kind}"
                hint = "Read a plate of it, or over several; or give the kind's ohms in the job: measured = …"
                raise JobError((Complaint(words, hint, str(file.path), row.line, "ohm"),))
            if known is not None:
                found[row.kind] = known
    return found


def _add_pairs(
    by_kind: dict[str, list[float]], rows: Sequence[PlateRow], readings: Sequence[Reading20], live: Sequence[Step]
) -> None:
    """A pair of like plates read as it stands tells them both: twice its ohms each."""
    for one in readings:
        step = live[one.steps[0]] if len(one.steps) == 1 else None
        kinds = [rows[number - 1].kind for number in range(step.first, step.last + 1)] if step else []
        if step is not None and one.first == one.last and step.plates > 1 and len(set(kinds)) == 1:
            alive_here = sum(alive(rows[number - 1]) for number in range(step.first, step.last + 1))
            if alive_here > 1:
                by_kind.setdefault(kinds[0], []).append(alive_here * one.ohm)


def _spans(
    rows: Sequence[PlateRow], readings: Sequence[Reading20], live: Sequence[Step], kind: str
) -> Iterator[tuple[float, int]]:
    for one in readings:
        steps = [live[place] for place in one.steps]
        if len(steps) > 1 and any(row.kind == kind for row in rows[one.first - 1 : one.last]):
            yield one.ohm, len(steps)


def _contradictions(rows: Sequence[PlateRow], readings: Sequence[Reading20]) -> Iterator[str]:
    """Readings that cannot be where a plate is marked dead."""
    for one in readings:
        dead = [row for row in rows[one.first - 1 : one.last] if row.condition == "dead"]
        blocked = [row for row in dead if not _beside(rows, row)]
        if blocked:
            dead_one = where(blocked[0])
            yield f"{one.words} reads {one.ohm:.4g} ohm, yet {dead_one} is marked dead: it is bridged, or not dead"


def _beside(rows: Sequence[PlateRow], row: PlateRow) -> bool:
    """Whether a live plate stands beside it."""
    return row.joined > 0 and any(alive(other) for other in rows if (other.box, other.joined) == (row.box, row.joined))
