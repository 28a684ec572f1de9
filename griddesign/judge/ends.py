"""Both ends of every figure that is not sure: which findings stand at all of them, and what to measure next.

Grid and driver stay as chosen with the figures as given: it is the truth that moves, not the grid. Each figure goes to
either end by itself; then all together, every one at its hotter end, every one at its end with the higher currents, and
every one at its cooler end (what fails must fail there too). What the table of a metal leaves open is in every heat
verdict already and is only ranked here, but for ohms that nothing has measured.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from griddesign.choose.from_job import Worked
from griddesign.errors import GriddesignError, InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import End
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.job.records import Job
from griddesign.judge.bands import metal_spread
from griddesign.judge.finding import Finding, Unknown, Verdict
from griddesign.judge.measuring import advice, ranked, settled, weak_keys
from griddesign.traction.records import Ladder

BOTH = ("low", "high")
MOVES = 1e-6
MOVES_K = 0.05  # under what papers print, and above the grain of the marched temperatures
Pins = Mapping[str, str]
Rows = tuple[HeatRow, ...]
MetalEnds = Mapping[str, tuple[str, tuple[End, End]]]


@dataclass(frozen=True, eq=False)
class Trial:
    """What comes out with some figures at their ends. ``current`` (notches, cases) grows with the current of the notch;
    ``hot_c`` by section, highest voltage, hottest ambient, metal as given. Both are None where ``refused`` says why
    nothing could be computed. ``worst``: the duty's rows at the worst end of the metal's figures, where holds go on
    from."""

    pins: Pins
    findings: tuple[Finding, ...] = ()
    current: FloatArray | None = None
    hot_c: Mapping[str, float] | None = None
    refused: str = ""
    worst: Rows = ()

    @property
    def words(self) -> str:
        """Which figures were moved, for a reader."""
        if len(self.pins) == 1:
            ((key, end),) = self.pins.items()
            return f"with {key} at its {end} end"
        return f"with {len(self.pins)} figures at their ends together"


Attempt = Callable[[Sequence[Pins]], Sequence[Trial]]
"""From many sets of figures at their ends to a trial for each, refused ones among them."""


@dataclass(frozen=True)
class AtEnds:
    """All trials of a job; ``base`` is the one with the figures as given. By section: ``limits_c``, and ``hold_s``, the
    least and the most of its shortest hold."""

    job: Job
    limits_c: Mapping[str, float]
    base: Trial
    singles: tuple[Trial, ...]
    corners: tuple[Trial, ...] = ()
    of_metal: tuple[Unknown, ...] = ()
    hold_s: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)

    @cached_property
    def measure_next(self) -> tuple[Unknown, ...]:
        """All that is not sure, first what uses up most of its room."""
        each = (*self.of_job, *self.of_metal)
        return ranked(each, self.job.limits.notch_tolerance, self._margin_k(self.hottest) if self.hottest else 0.0)

    @cached_property
    def of_job(self) -> tuple[Unknown, ...]:
        """What the job's own figures leave open, in the order of the file."""
        keys = dict.fromkeys(key for trial in self.singles for key in trial.pins)
        return tuple(self._unknown(key, [trial for trial in self.singles if key in trial.pins]) for key in keys)

    @property
    def unknowns(self) -> tuple[Unknown, ...]:
        """The job's own figures that move the current of a notch, the strongest first."""
        moving = (one for one in self.of_job if one.key in self.job.figures and one.swing > MOVES)
        return tuple(sorted(moving, key=lambda one: -one.swing))

    @property
    def hottest(self) -> str:
        """The section with the least margin; empty where nothing is known of the heat."""
        return min(self.base.hot_c or {}, key=self._margin_k, default="")

    def _margin_k(self, section: str) -> float:
        return self.limits_c[section] - (self.base.hot_c or {})[section]

    def _unknown(self, key: str, both: list[Trial]) -> Unknown:
        text = self.job.figures[key].text if key in self.job.figures else "the metal's range of its table"
        if any(trial.refused for trial in both):
            return Unknown(key, text, np.inf, "every notch", np.inf if self.hottest else None, self.hottest)
        swing, notch = max(self.current_swing(trial) for trial in both)
        heat_k = max(abs(self.heat_k(trial)) for trial in both) if self.hottest else None
        return Unknown(key, text, swing, notch, heat_k, self.hottest)

    def current_swing(self, trial: Trial) -> tuple[float, str]:
        """Greatest change of the current of a notch, as a share, and the notch."""
        assert self.base.current is not None and trial.current is not None
        return worst_change(trial.current, self.base.current, [notch.name for notch in self.job.notches])

    def heat_k(self, trial: Trial) -> float:
        """What the trial adds to the hottest section, K."""
        here, base = ((one.hot_c or {}).get(self.hottest, 0.0) for one in (trial, self.base))
        return 0.0 if here == base else here - base

    def settled(self, findings: Iterable[Finding]) -> tuple[Finding, ...]:
        """The findings; what comes out another way at some end is *not shown*, as is an end nothing comes out of."""
        rank = {unknown.key: place for place, unknown in enumerate(self.measure_next)}
        others = [(trial.words, tuple(trial.pins), trial.findings) for trial in (*self.singles, *self.corners)]
        return (*settled(findings, others, rank), *self._refused(rank))

    def _refused(self, rank: Mapping[str, int]) -> Iterator[Finding]:
        for trial in (*self.singles, *self.corners):
            if trial.refused:
                first = min(trial.pins, key=lambda key: rank.get(key, len(rank)))
                yield Finding(f"the start {trial.words}", Verdict.NOT_SHOWN, trial.refused, advice(first))


def tried(job: Job, heated: Iterable[HeatedSection], keys: Iterable[str], attempt: Attempt) -> AtEnds:
    """A job tried at both ends of these figures, one by one and together. Raises InputError where nothing comes out
    with the figures as given."""
    ends: list[Pins] = [{key: end} for key in keys for end in BOTH]
    base, *singles = attempt([{}, *ends])
    if base.refused:
        raise InputError(base.refused)
    pairs = [pair for pair in zip(singles[::2], singles[1::2], strict=True) if any(_moves(base, one) for one in pair)]
    limits_c = {section.name: section.limit_c for section in heated}
    one_by_one = AtEnds(job, limits_c, base, tuple(one for pair in pairs for one in pair))
    corners = list(_corners(one_by_one))
    return replace(one_by_one, corners=tuple(attempt(corners)) if corners else ())


def _moves(base: Trial, trial: Trial) -> bool:
    if trial.refused or base.current is None or trial.current is None:
        return True
    if not np.allclose(trial.current, base.current, rtol=MOVES, atol=0.0):
        return True
    before = base.hot_c or {}
    if any(
        hot_c != before[name] and abs(hot_c - before[name]) > MOVES_K for name, hot_c in (trial.hot_c or {}).items()
    ):
        return True
    return trial.findings != base.findings  # a figure of the brake moves nothing of the start


def _corners(ends: AtEnds) -> Iterator[Pins]:
    """All figures together: hotter ends, ends of higher currents, cooler ends. One figure alone has no corners."""
    moved: dict[str, list[Trial]] = {}
    for trial in ends.singles:
        for key in trial.pins if not trial.refused else ():
            moved.setdefault(key, []).append(trial)
    if len(moved) < 2:
        return
    hotter = {key: max(both, key=ends.heat_k).pins[key] for key, both in moved.items()}
    higher = {key: max(both, key=_highest).pins[key] for key, both in moved.items()}
    cooler = {key: min(both, key=ends.heat_k).pins[key] for key, both in moved.items()}
    yield from (dict(pins) for pins in dict.fromkeys(tuple(one.items()) for one in (hotter, higher, cooler)))


def _highest(trial: Trial) -> float:
    assert trial.current is not None
    return float(trial.current.max())


def refusal(pins: Pins, error: GriddesignError) -> Trial:
    """The trial nothing comes out of."""
    return Trial(pins, refused="; ".join(one.message for one in error.complaints()))


def worst_change(current: FloatArray, base: FloatArray, names: Iterable[str]) -> tuple[float, str]:
    """Greatest change of any notch (rows), as a share of ``base``, and the notch's name."""
    change = np.abs(current / base - 1.0).max(axis=1)
    place = int(np.argmax(change))
    return float(change[place]), list(names)[place]


def keys_of(job: Job, worked: Worked) -> tuple[str, ...]:
    """The job's weak figures, and the metals whose ohms nothing has settled."""
    return (*weak_keys(job), *ohms_of_metal(job, worked))


def moved(job: Job, worked: Worked, pins: Pins) -> tuple[Job, Worked]:
    """The job with figures at their ends, and the grid as it was chosen, with the ohms of its metals at theirs."""
    ohms = ohms_of_metal(job, worked)
    figures = {key: end for key, end in pins.items() if key not in ohms}
    for key in (key for key in pins if key in ohms):
        worked = _scaled(worked, {kind: both[BOTH.index(pins[key])] for kind, both in ohms[key].items()})
    pinned = job.at(**figures) if figures else job
    return pinned, _driven(pinned, worked)


def _driven(job: Job, worked: Worked) -> Worked:
    """The valley current goes with the job where the job gives one."""
    valley_a = job.start.valley_a if job.start else None
    if valley_a is None or not isinstance(worked.wanted, Ladder):
        return worked
    return replace(worked, wanted=replace(worked.wanted, valley_a=valley_a))


def ohms_of_metal(job: Job, worked: Worked) -> dict[str, dict[str, tuple[float, float]]]:
    """Metals whose tabled resistivity is all there is: key to kinds of plate and their ohms low and high, as factors.

    A plate that was measured, or is ordered and accepted by its ohms, is sure; a figure of the job has its own key.
    """
    found: dict[str, dict[str, tuple[float, float]]] = {}
    for plate in job.plates if worked.design else ():
        spread, key = metal_spread(plate), f"metal.{plate.metal.key}.resistivity"
        if plate.strip_width_range_m is None and spread != (1.0, 1.0) and key not in job.figures:
            found.setdefault(key, {})[plate.name] = spread
    return found


def _scaled(worked: Worked, factor: Mapping[str, float]) -> Worked:
    """The grid with the plates of these kinds at other ohms; joints stay."""
    assert worked.design is not None
    sections = []
    for one in worked.design.sections:
        plates_ohm, times = one.series * one.plate_ohm / one.in_parallel, factor.get(one.kind, 1.0)
        cold_ohm = one.cold_ohm + plates_ohm * (times - 1.0)
        sections.append(replace(one, plate_ohm=one.plate_ohm * times, cold_ohm=cold_ohm))
    return replace(worked, design=replace(worked.design, sections=tuple(sections)))


def hottest_c(rows: Rows) -> dict[str, float]:
    """Peak of each section at the highest voltage and the hottest ambient of the rows, degC."""
    worst = max(((row.line_v, row.ambient_c) for row in rows), default=None)
    hottest: dict[str, float] = {}
    for row in rows:
        if (row.line_v, row.ambient_c) == worst:
            hottest[row.section] = max(row.hot_c, hottest.get(row.section, row.hot_c))
    return hottest


def metal_unknowns(
    ends: MetalEnds, sections: Iterable[HeatedSection], hot_c: FloatArray, swings: Iterable[tuple[float, str]]
) -> Iterator[Unknown]:
    """What the metal's own ends do. ``hot_c`` (sections, 1 + 2 x ends): as given, then low and high of each; ``swings``
    of the current for each end. Ends that do nothing are left out."""
    sections = tuple(sections)
    row = int(np.argmin(np.array([one.limit_c for one in sections]) - hot_c[:, 0]))
    for number, ((key, (text, _)), (swing, notch)) in enumerate(zip(ends.items(), swings, strict=True)):
        both, base = hot_c[row, 1 + 2 * number : 3 + 2 * number], hot_c[row, 0]
        heat_k = max(0.0 if one == base else abs(float(one - base)) for one in both)
        if swing > MOVES or heat_k > MOVES_K:
            yield Unknown(key, text, swing, notch, heat_k, sections[row].name)
