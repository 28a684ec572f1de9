"""The inspector's sheet come back: plates, boxes, sections and insulation held against their acceptance bands.

Every reading is brought to 20 degC by the metal's temperature, at both ends of its coefficient: what falls inside its
band at one end only is not shown.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from griddesign.choose.from_job import notch_aims
from griddesign.errors import InputError
from griddesign.grid.build import ohms_by_section
from griddesign.job.inspected import InspectedRow, Inspection
from griddesign.job.records import Job
from griddesign.judge.finding import Verdict
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.metals import Metal
from griddesign.progress import at
from griddesign.telling import stage
from griddesign.units import show, show_change, show_cold
from griddesign.verify.records import Effect, VerifyFinding, ranked
from griddesign.verify.safety import SAFETY_WEIGHT
from griddesign.verify.spans import Span
from griddesign.verify.weights import Car

TWO_WIRE_OHM = 1.0
"""Below this two-wire readings tell the leads as much as the plate (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Band:
    """What is accepted at 20 degC, what was chosen, and whose metal corrects the reading."""

    ohm: float
    low_ohm: float
    high_ohm: float
    metals: tuple[Metal, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """One reading as left: at 20 degC with its ends, and its band; None where it has none."""

    row: InspectedRow
    name: str
    cold_ohm: Span | None
    band: Band | None
    finding: VerifyFinding


@dataclass(frozen=True)
class Inspected:
    """The sheet judged. ``left``: every reading in the order of the file; ``findings`` ranked, gaps among them."""

    job: Job
    inspection: Inspection
    fingerprint: str
    left: tuple[Left, ...]
    findings: tuple[VerifyFinding, ...]
    counted: Mapping[Verdict, int] = field(default_factory=dict)

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)


@stage("the readings held against their bands")
def inspect(job: Job, inspection: Inspection) -> Inspected:
    """Judge a filled-in sheet against the job's design. Raises InputError where the job has none, or where the sheet
    names a plate, box or section that it does not have."""
    at("the design of the job, which the readings are held against")
    result = result_of(job)
    if result.layout is None or result.worked is None or result.worked.design is None:
        raise InputError(
            "the job has no grid to hold the readings against",
            hint="It needs notches, plates and boxes: griddesign design.",
        )
    bench = _Bench(result)
    left = tuple(bench.judged(row) for row in inspection.rows)
    findings = ranked((*(one.finding for one in left), *bench.gaps(left)))
    counted = Counter(finding.verdict for finding in findings)
    mark = fingerprint((*job.files, inspection.path), job.asked)
    return Inspected(job, inspection, mark, left, findings, counted)


class _Bench:
    """The design with its bands, at hand by name."""

    def __init__(self, result: Result) -> None:
        assert result.layout is not None and result.worked is not None and result.worked.design is not None
        self.result, self.layout, design = result, result.layout, result.worked.design
        self.metal = {plate.wish.name: plate.wish.metal for plate in result.plates}
        self.built = {section.name: section for section in design.sections}
        self.car = Car(
            result.job.limits.notch_tolerance,
            notch_aims(result.job, result.worked.wanted),
            ohms_by_section(design.sections),
            {section.name: section.kind for section in design.sections},
            worst=result.heat,
        )

    # --- one reading ---

    def judged(self, row: InspectedRow) -> Left:
        """One row of the sheet."""
        if row.test_voltage_v is not None:
            name = "insulation" if row.box is None else f"insulation, box {row.box}"
            return Left(row, name, None, None, replace(self._insulation(row), item=name))
        name, band = self._band(row)
        wrong = self._wrong_kind(row)
        if row.ohm is None:
            why = "open: no current passes"
            finding = _point(name, None, band, Verdict.FAILS, why, Effect(weight=SAFETY_WEIGHT))
            return Left(row, name, None, band, finding)
        cold = _at_20(row.ohm, row.t_c, band.metals)
        finding = self._finding(row, name, cold, band)
        if wrong:
            finding = replace(finding, verdict=Verdict.FAILS, why=f"{wrong}; {finding.why}")
        return Left(row, name, cold, band, finding)

    def _band(self, row: InspectedRow) -> tuple[str, Band]:
        if row.section:
            return self._section_band(row)
        if row.position is not None or row.box is None:
            return self._plate_band(row)
        for box in self.result.box_bands:
            if box.box == row.box:
                kinds = {place.kind for place in self.layout.in_box(box.box) if place.in_circuit}
                return f"box {box.box}", Band(
                    box.cold_ohm, box.accept_low_ohm, box.accept_high_ohm, self._metals(kinds)
                )
        raise _unknown(row, f"there is no box {row.box}", f"The design has {self.layout.boxes}.")

    def _section_band(self, row: InspectedRow) -> tuple[str, Band]:
        for band in self.result.bands:
            if band.name == row.section:
                built = self.built[band.name]
                found = Band(built.cold_ohm, band.accept_low_ohm, band.accept_high_ohm, self._metals({built.kind}))
                return f"section {band.name}", found
        raise _unknown(row, f"there is no section {row.section}", f"The design has {', '.join(self.built)}.")

    def _plate_band(self, row: InspectedRow) -> tuple[str, Band]:
        kind, where = self._kind(row), row.name or row.kind
        if row.box is not None:
            where = f"{row.box}/{row.position}"
        for plate in self.result.plates:
            if plate.wish.name == kind and plate.low_ohm is not None and plate.high_ohm is not None:
                return f"plate {where}", Band(plate.order_ohm, plate.low_ohm, plate.high_ohm, (plate.wish.metal,))
        raise _unknown(row, f"no plate of kind {kind!r} stands in the grid", f"Kinds: {', '.join(self.metal)}.")

    def _kind(self, row: InspectedRow) -> str:
        """The kind the row names, else the one that stands there, else the only one there is."""
        if row.kind:
            return row.kind
        standing = self._standing(row)
        return standing or (next(iter(self.metal)) if len(self.metal) == 1 else "")

    def _standing(self, row: InspectedRow) -> str:
        if row.box is None or row.position is None:
            return ""
        places = self.layout.in_box(row.box)
        found = next((place.kind for place in places if place.position == row.position), "")
        if not places or not found:
            raise _unknown(row, f"no plate stands at {row.box}/{row.position}", "Count from the dot end of its box.")
        return found

    def _wrong_kind(self, row: InspectedRow) -> str:
        standing = self._standing(row) if row.kind else ""
        return f"kind {row.kind} where {standing} should stand" if standing and standing != row.kind else ""

    def _metals(self, kinds: set[str]) -> tuple[Metal, ...]:
        return tuple({self.metal[kind].key: self.metal[kind] for kind in sorted(kinds)}.values())

    def _finding(self, row: InspectedRow, name: str, cold: Span, band: Band) -> VerifyFinding:
        inside = [band.low_ohm <= ohm <= band.high_ohm for ohm in (cold.low, cold.value, cold.high)]
        beyond = cold.high < band.low_ohm or cold.low > band.high_ohm
        verdict = Verdict.HOLDS if all(inside) else Verdict.FAILS if beyond else Verdict.NOT_SHOWN
        off, effect = cold.value / band.ohm - 1.0, Effect()
        accepted = f"{_ohm(band.low_ohm)} to {_ohm(band.high_ohm)}"
        assert row.ohm is not None
        units = self.result.job.paper.units
        read = f"{_ohm(row.ohm)} at {show(row.t_c, 'temperature', units=units)}"
        why = f"{read} is {_ohm(cold.value)} at {show_cold(units)}, {show_change(off)}; accepted {accepted}"
        if verdict is Verdict.NOT_SHOWN:
            why += f"; at the ends of the metal's coefficient {_ohm(cold.low)} to {_ohm(cold.high)}"
        if row.method == "two-wire" and row.ohm < TWO_WIRE_OHM:
            verdict, why = Verdict.NOT_SHOWN, f"{why}; two-wire: the leads are in it"
        if verdict is not Verdict.HOLDS:
            effect = self._effect(row, off)
        return _point(name, cold.value, band, verdict, why, effect)

    def _effect(self, row: InspectedRow, off: float) -> Effect:
        """What a reading so far off does to the notches; one plate counts as its share of its section."""
        if row.section:
            return self.car.by_ohms({row.section: 1.0 + off})
        places = self.layout.in_box(row.box) if row.box is not None else self.layout.places
        moved: dict[str, float] = {}
        for place in places:
            if place.in_circuit and row.position in (None, place.position):
                built = self.built[place.section]
                moved[place.section] = moved.get(place.section, 0.0) + off / built.plates
        if row.box is None:  # a plate of which nobody knows where it stands counts as one in the shortest section
            return self.car.by_ohms({name: 1.0 + off / self.built[name].series for name in self._least(row)})
        return self.car.by_ohms({name: 1.0 + share for name, share in moved.items()})

    def _least(self, row: InspectedRow) -> list[str]:
        own = [section for section in self.built.values() if section.kind == self._kind(row)]
        return [min(own, key=lambda section: section.series).name] if own else []

    # --- insulation and what was not measured ---

    def _insulation(self, row: InspectedRow) -> VerifyFinding:
        asked, given = self.result.job.limits.test_voltage_v, row.test_voltage_v
        assert given is not None
        said = f"tested at {show(given, 'voltage')}"
        if row.insulation_ohm is not None:
            said += f", {show(row.insulation_ohm, 'resistance')}"
        measure = "Have a qualified person apply the job's test voltage to the finished bank, as its clause asks."
        verdict, why = Verdict.HOLDS, f"{said}, stood"
        if row.stood is False:
            verdict, why = Verdict.FAILS, f"{said}, did not stand"
        elif asked is None:
            verdict, why = Verdict.NOT_SHOWN, f"{said}; the job gives no test voltage to hold it against"
            measure = 'Give [limits] test_voltage = { value = "…", source = "the clause" }.'
        elif given < asked * (1.0 - 1e-9):
            verdict, why = Verdict.NOT_SHOWN, f"{said}, less than the {show(asked, 'voltage')} the job asks"
        elif row.stood is None:
            verdict, why = Verdict.NOT_SHOWN, f"{said}; the sheet does not say whether it stood"
        held = verdict is Verdict.HOLDS
        effect = Effect() if held else Effect(weight=SAFETY_WEIGHT)
        return VerifyFinding("insulation", given, asked, "V", "voltage", verdict, why, "" if held else measure, effect)

    def gaps(self, left: Sequence[Left]) -> Iterator[VerifyFinding]:
        """What the sheet leaves open."""
        named = {one.name for one in left}
        for band in self.result.bands:
            if f"section {band.name}" not in named:
                yield _open(f"section {band.name}", "not on the sheet", "Measure it and fill it in.", 0.0)
        untested = [box.box for box in self.result.box_bands if f"insulation, box {box.box}" not in named]
        if untested and "insulation" not in named:
            which = "" if len(untested) == self.layout.boxes else f", box {', '.join(map(str, untested))}"
            yield _open(f"insulation{which}", "not on the sheet", "Test the insulation.", SAFETY_WEIGHT)
        for box in self.result.box_bands:
            whole = all(f"plate {box.box}/{place.position}" in named for place in self.layout.in_box(box.box))
            if f"box {box.box}" not in named and not whole:
                yield _open(f"box {box.box}", "neither it nor all of its plates are on the sheet", "Measure it.", 0.0)


def _open(item: str, why: str, measure: str, weight: float) -> VerifyFinding:
    kind, unit = ("voltage", "V") if item.startswith("insulation") else ("resistance", "ohm")
    return VerifyFinding(item, None, None, unit, kind, Verdict.NOT_SHOWN, why, measure, Effect(weight=weight))


def _point(item: str, cold_ohm: float | None, band: Band, verdict: Verdict, why: str, effect: Effect) -> VerifyFinding:
    measure = "" if verdict is Verdict.HOLDS else f"Measure {item} again, four-wire, at rest and cold."
    return VerifyFinding(item, cold_ohm, band.ohm, "ohm", "resistance", verdict, why, measure, effect)


def _at_20(ohm: float, t_c: float, of: Sequence[Metal]) -> Span:
    """``R / r(T)`` at both ends of the coefficient of every metal in it; the middle by the first."""
    ratios = [metal.at_ends(alpha20=end).ratio(t_c) for metal in of for end in ("low", "high")]
    middles = [metal.ratio(t_c) for metal in of]
    every = (*ratios, *middles)
    return Span(ohm / (sum(middles) / len(middles)), ohm / max(every), ohm / min(every))


def _ohm(value: float) -> str:
    return show(value, "resistance", digits=4)


def _unknown(row: InspectedRow, message: str, hint: str) -> InputError:
    return InputError(f"line {row.line}: {message}", hint=hint)
