"""The designer against plain enumeration: every count tried, every aim compared, nothing shared with the search.

Evidence: own enumeration, with the ohms of circuits from ``grid.circuit`` (checked on its own with exact fractions) and
the boxes from ``grid.layout`` (checked by a walk plate by plate). Plate ohms are found here by scalar bisection.
"""

from dataclasses import dataclass
from itertools import product
from math import floor, inf

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from griddesign.choose.aims import ORDERS
from griddesign.choose.design import choose
from griddesign.choose.problem import CandidateKind, Choice, NotchAim
from griddesign.choose.records import Design
from griddesign.errors import InputError
from griddesign.grid.build import build_section, ohms_by_section
from griddesign.grid.circuit import ohms
from griddesign.grid.layout import lay_out
from griddesign.grid.records import BoxPlan, Branches, Run, SectionBuild

TIE = 1e-8

RUNS = (
    Run(("A", "B", "C")),
    Run(("B", "C")),
    Run(("C",)),
    Run(("A",)),
    Run(("A", Branches((Run(("B",)), Run(("C",)))))),
    Run((Branches((Run(("A", "B")), Run(("C",)))),)),
    Run(("B", "C", "B")),
)


@dataclass(frozen=True)
class Heat:
    """A heat that may be called as the designer calls it: hotter with ohms, cooler side by side."""

    duty: tuple[float, ...]
    limit_k: float

    def __call__(self, section: str, kind: str, in_parallel: int, plate_ohm: float) -> float:
        own = 1.0 + 0.13 * (kind == "Q")
        return self.limit_k - own * self.duty["ABC".index(section)] * (plate_ohm / 0.07) ** 1.4 / in_parallel**2


def mass_kg(kind: str, plate_ohm: float) -> float:
    return (0.15 if kind == "P" else 0.17) / plate_ohm


@st.composite
def choices(draw: st.DrawFn, fixed_kinds: bool = False) -> Choice:
    """Small questions about sections A, B, C whose targets lie near some grid that could be made."""
    counts = draw(st.tuples(*(st.integers(1, 4) for _ in range(3))))
    section = {name: count * 0.07 for name, count in zip("ABC", counts, strict=True)}
    runs = (RUNS[0], *draw(st.lists(st.sampled_from(RUNS[1:]), min_size=1, max_size=4)))
    aims = [
        NotchAim(
            str(number),
            run,
            ohms(run, section) * draw(st.floats(0.96, 1.04)),
            draw(st.sampled_from((0.0, 0.1, 0.3))),
            draw(st.sampled_from((1.0, 2.0))),
        )
        for number, run in enumerate(runs)
    ]
    low = draw(st.sampled_from((0.055, 0.06, 0.07)))
    kinds = [CandidateKind("P", low, low if fixed_kinds else low * draw(st.sampled_from((1.0, 1.2, 1.5))))]
    if fixed_kinds:
        kinds.append(CandidateKind("Q", *([draw(st.sampled_from((0.04, 0.083, 0.09)))] * 2)))
    return Choice(
        section_order=("A", "B", "C"),
        notches=tuple(aims),
        tolerance=draw(st.sampled_from((0.05, 0.1, 0.15))),
        kinds=tuple(kinds),
        plan=BoxPlan(
            draw(st.integers(2, 3)),
            draw(st.integers(4, 5)),
            0.0127,
            draw(st.sampled_from((1, 2, 2))),
            draw(st.sampled_from((0.0, 0.0, 2e-3))),
        ),
        margin=Heat(
            draw(st.tuples(*(st.floats(10.0, 200.0) for _ in range(3)))), draw(st.sampled_from((120.0, 300.0)))
        ),
        mass=mass_kg,
        shape_for=lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
        in_parallel=draw(st.sampled_from(((1,), (1, 2), (1, 2), (2, 3)))),
        prefer=draw(st.sampled_from(("margin", "closest", "light"))),
    )


@dataclass(frozen=True)
class Counted:
    """One set of counts: way and steps of each section, boxes it needs."""

    choice: Choice
    ways: tuple[tuple[str, int, int], ...]
    boxes: int

    @property
    def kinds(self) -> int:
        return len({kind for kind, _, _ in self.ways})

    def section_ohm(self, plate: dict[str, float]) -> dict[str, float]:
        joint = self.choice.plan.joint_ohm
        return {
            name: steps * (plate[kind] / q + joint)
            for name, (kind, q, steps) in zip(self.choice.section_order, self.ways, strict=True)
        }

    def signed(self, plate: dict[str, float]) -> list[float]:
        section = self.section_ohm(plate)
        return [notch.error(ohms(notch.circuit, section)) for notch in self.choice.notches]

    def worst(self, plate: dict[str, float]) -> float:
        return max(abs(error) for error in self.signed(plate))

    def margin_class(self, plate: dict[str, float]) -> int:
        margin = min(
            self.choice.margin(name, kind, q, plate[kind]) or 0.0
            for name, (kind, q, _) in zip(self.choice.section_order, self.ways, strict=True)
        )
        return floor(margin / 10.0 + 1e-8)

    def mass(self, plate: dict[str, float]) -> float:
        return sum(q * steps * mass_kg(kind, plate[kind]) for kind, q, steps in self.ways)


def every_count(choice: Choice) -> list[Counted]:
    """All counts that fit into the boxes and are not beyond the tolerance at both ends of the plate ohms."""
    unit, plan = choice.step_unit, choice.plan
    room = plan.boxes * plan.plates_per_box
    ways = [
        (kind.name, q, steps)
        for kind in choice.kinds
        for q in choice.in_parallel
        for steps in range(unit, room // q + 1, unit)
    ]
    found = []
    for three in product(ways, repeat=3):
        if sum(q * steps for _, q, steps in three) > room or _hopeless(Counted(choice, three, 0)):
            continue
        built = tuple(_section(name, way) for name, way in zip("ABC", three, strict=True))
        try:
            found.append(Counted(choice, three, lay_out(built, plan).boxes))
        except InputError:
            continue
    return found


def _hopeless(counted: Counted) -> bool:
    """Ohms too low even with the highest plate ohms, or too high even with the lowest, by the run of all three."""
    choice, kind = counted.choice, counted.choice.kinds[0]
    notch, reach = choice.notches[0], choice.tolerance + 1e-9
    ends = [counted.section_ohm(plate(choice, ohm)) for ohm in (kind.high_ohm, kind.low_ohm)]
    return notch.error(sum(ends[0].values())) > reach or notch.error(sum(ends[1].values())) < -reach


def _section(name: str, way: tuple[str, int, int]) -> SectionBuild:
    return build_section(name, way[0], way[2], way[1], 1.0)


def plate(choice: Choice, ohm: float) -> dict[str, float]:
    """Plate ohms of all kinds: the first at ``ohm``, the others at their fixed value."""
    return {kind.name: (ohm if number == 0 else kind.low_ohm) for number, kind in enumerate(choice.kinds)}


def bisect(rising: "object", low: float, high: float) -> float:
    """Where a rising function of plate ohms turns positive, to the last bits; an end where it does not turn."""
    call = rising
    assert callable(call)
    if call(low) > 0.0:
        return low
    if call(high) <= 0.0:
        return high
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if call(middle) > 0.0 else (middle, high)
    return 0.5 * (low + high)


def window(counted: Counted, error: float) -> tuple[float, float] | None:
    """Plate ohms of the first kind within which every notch is inside ``+-error``."""
    choice, kind = counted.choice, counted.choice.kinds[0]
    low = bisect(lambda r: error - max(counted.signed(plate(choice, r))), kind.low_ohm, kind.high_ohm)
    high = bisect(lambda r: -min(counted.signed(plate(choice, r))) - error, kind.low_ohm, kind.high_ohm)
    slack = 1e-10
    if max(counted.signed(plate(choice, low))) > error + slack:
        return None
    if min(counted.signed(plate(choice, high))) < -error - slack:
        return None
    return (low, high) if low <= high * (1.0 + 1e-12) else None


class Answer:
    """Lexicographic best by enumeration: the aims in order, each over all counts still standing with their ohms."""

    def __init__(self, choice: Choice, counted: list[Counted]) -> None:
        self.choice = choice
        self.open = [(c, *found) for c in counted if (found := window(c, choice.tolerance)) is not None]
        self.open = [(c, low, high) for c, low, high in self._capped(0)]
        self.values: dict[str, float] = {}

    def _capped(self, least_class: int) -> list[tuple[Counted, float, float]]:
        kept = []
        for c, low, high in self.open:
            if c.margin_class(plate(self.choice, low)) < least_class:
                continue
            above = bisect(lambda r, c=c: least_class - self._margin(c, r) / 10.0, low, high)
            kept.append((c, low, above))
        return kept

    def _margin(self, counted: Counted, ohm: float) -> float:
        at = plate(self.choice, ohm)
        return min(
            self.choice.margin(name, kind, q, at[kind]) or 0.0
            for name, (kind, q, _) in zip("ABC", counted.ways, strict=True)
        )

    def pursue(self) -> None:
        for aim in ORDERS[self.choice.prefer]:
            getattr(self, f"_{aim}_aim")()

    def _margin_aim(self) -> None:
        best = max(c.margin_class(plate(self.choice, low)) for c, low, _ in self.open)
        self.open = self._capped(best)
        self.values["margin"] = 10.0 * best

    def _kinds_aim(self) -> None:
        best = min(c.kinds for c, _, _ in self.open)
        self.open = [row for row in self.open if row[0].kinds == best]
        self.values["kinds"] = float(best)

    def _boxes_aim(self) -> None:
        best = min(c.boxes for c, _, _ in self.open)
        self.open = [row for row in self.open if row[0].boxes == best]
        self.values["boxes"] = float(best)

    def _least_error(self, row: tuple[Counted, float, float]) -> tuple[float, float]:
        c, low, high = row
        ohm = bisect(
            lambda r: -(max(c.signed(plate(self.choice, r))) + min(c.signed(plate(self.choice, r)))), low, high
        )
        return c.worst(plate(self.choice, ohm)), ohm

    def _error_aim(self) -> None:
        rows = [(self._least_error(row), row) for row in self.open]
        best = min(error for (error, _), _ in rows)
        near = [(ohm, row) for (error, ohm), row in rows if error <= best + TIE]
        self.open = [(row[0], ohm, ohm) for ohm, row in near]
        self.values["error"] = best

    def _mass_aim(self) -> None:
        rows = [(c.mass(plate(self.choice, high)), (c, high, high)) for c, _, high in self.open]
        best = min(mass for mass, _ in rows)
        self.open = [row for mass, row in rows if mass <= best * (1.0 + TIE)]
        self.values["mass"] = best


OBJECTIVES = {
    "margin": "greatest smallest heat margin, K, in whole steps of 10 K",
    "kinds": "fewest kinds of plate",
    "boxes": "fewest boxes",
    "error": "smallest worst notch error",
    "mass": "smallest mass of plates, kg",
}


def reached(design: Design) -> dict[str, float]:
    by_objective = {proof.objective: proof for proof in design.proofs}
    assert all(proof.proved for proof in design.proofs)
    return {aim: by_objective[objective].reached for aim, objective in OBJECTIVES.items()}


def check(choice: Choice) -> None:
    counted = every_count(choice)
    answer = Answer(choice, counted)
    try:
        design = choose(choice)
    except InputError:
        assert not counted
        return
    assert bool(answer.open) == (not design.fails)
    if not answer.open:
        return
    answer.pursue()
    got = reached(design)
    for aim in ORDERS[choice.prefer]:
        assert got[aim] == pytest.approx(answer.values[aim], rel=1e-7, abs=1e-9), aim
    check_record(choice, design, got)


def check_record(choice: Choice, design: Design, got: dict[str, float]) -> None:
    """The record itself keeps what the proofs say."""
    section = ohms_by_section(design.sections)
    for notch, row in zip(choice.notches, design.notches, strict=True):
        assert row.cold_ohm == pytest.approx(ohms(notch.circuit, section), rel=1e-12)
    assert max(abs(row.error) for row in design.notches) <= choice.tolerance * (1.0 + 1e-8)
    assert max(abs(row.error) for row in design.notches) == pytest.approx(got["error"], abs=1e-8)
    assert design.boxes == got["boxes"] <= choice.plan.boxes
    assert all(tap.side == "terminal side" for tap in design.taps) or choice.plan.tap_sides == 2
    assert lay_out(design.sections, choice.plan).boxes == design.boxes
    smallest = min(choice.margin(s.name, s.kind, s.in_parallel, s.plate_ohm) or inf for s in design.sections)
    assert smallest >= got["margin"] - 1e-9


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(choices())
def test_one_kind_equals_enumeration(choice: Choice) -> None:
    check(choice)


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(choices(fixed_kinds=True))
def test_two_kinds_of_fixed_ohms_equal_enumeration(choice: Choice) -> None:
    check(choice)
