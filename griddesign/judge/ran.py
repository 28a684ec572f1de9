"""One duty as run in every case at every end of the weak figures, and the rows of the heat sheet taken from it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import AS_GIVEN, BAND, ENDS, End
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.job.records import Job
from griddesign.judge.runup import StartCase, Starter
from griddesign.traction.problem import Stage
from griddesign.traction.runup.records import RunUp


@dataclass(frozen=True, slots=True, eq=False)
class Pulse:
    """The heat of one start: begin (cases,) s into the round, seconds each section carried current and its joules,
    both (sections, cases)."""

    begin_s: FloatArray
    on_s: FloatArray
    joules: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """Further cases run beside those of a duty: hottest of each section, degC (sections, cases), and peaks, A
    (notches, cases)."""

    hot_c: FloatArray
    peak_a: FloatArray


@dataclass(frozen=True, eq=False)
class Ran:
    """A duty as run. Arrays are (sections, cases); cases are every voltage and ambient at every end, ends inmost.

    ``round_s`` is the time after which all comes again, 0 for a single start. ``hot_c`` is each section for itself,
    ``neighbour_k`` what hotter sections beside it add; ``left_c`` the hottest any start has left it; ``by_hand_c`` the
    closed form, nan where there is none; ``strayed`` are the cases in which a current passed the end of the motor
    curve. ``beside`` is what came of further cases, None where there were none or they did not run well.
    """

    ready: Starter
    name: str
    cases: tuple[StartCase, ...]
    round_s: float
    hot_c: FloatArray
    bound_c: FloatArray
    left_c: FloatArray
    pulses: tuple[Pulse, ...]
    neighbour_k: FloatArray = field(default_factory=lambda: np.zeros((1, 1)))
    by_hand_c: FloatArray = field(default_factory=lambda: np.full((1, 1), np.nan))
    strayed: tuple[int, ...] = ()
    beside: Beside | None = None

    @cached_property
    def ends(self) -> tuple[End, ...]:
        """The ends run, in their order."""
        return tuple(dict.fromkeys(case.end for case in self.cases))

    @cached_property
    def beside_c(self) -> FloatArray:
        """The hottest moment, neighbours and all, degC."""
        return np.asarray(self.hot_c + self.neighbour_k)

    @property
    def mean_w(self) -> FloatArray:
        """Mean heat of one plate of each section over a round, W."""
        return mean_plate_w(self.ready.heated, self.pulses, self.round_s)

    def worst(self) -> tuple[HeatRow, ...]:
        """A row for every voltage, ambient and section, at the end with the hottest peak. The ends of the loss model's
        band compete only where no others were run."""
        rivals = [place for place, end in enumerate(self.ends) if end in ENDS] or list(range(len(self.ends)))
        peaks = self.beside_c.reshape(len(self.ready.heated), -1, len(self.ends))[:, :, rivals]
        return tuple(self._rows(np.array(rivals)[np.argmax(peaks, axis=2)]))

    def at(self, end: End) -> tuple[HeatRow, ...]:
        """The same rows at one of the ends that were run."""
        size = len(self.ready.heated), len(self.cases) // len(self.ends)
        return tuple(self._rows(np.full(size, self.ends.index(end))))

    def _rows(self, end: NDArray[np.intp]) -> Iterator[HeatRow]:
        for first in range(0, len(self.cases), len(self.ends)):
            for place in range(len(self.ready.heated)):
                yield self._row(place, first, first + int(end[place, first // len(self.ends)]))

    def _row(self, place: int, first: int, number: int) -> HeatRow:
        section, case = self.ready.heated[place], self.cases[number]
        hot_c = float(self.beside_c[place, number])
        low_c, best_c, high_c = self._band(place, first)
        by_hand_c = self._at(np.broadcast_to(self.by_hand_c, self.hot_c.shape), place, first, AS_GIVEN)
        return HeatRow(
            case=self.name,
            notch="",
            section=section.name,
            line_v=case.line_v,
            ambient_c=case.ambient_c,
            hot_c=hot_c,
            bound_c=max(float((self.bound_c + self.neighbour_k)[place, number]), hot_c),
            limit_c=section.limit_c,
            margin_k=section.limit_c - hot_c,
            hold_s=None,
            hold_bound_s=None,
            runs_away=not np.isfinite(hot_c),
            worst_end=case.end.name,
            low_c=low_c,
            best_c=best_c,
            high_c=high_c,
            by_hand_c=None if by_hand_c is None or np.isnan(by_hand_c) else by_hand_c,
            neighbour_k=float(self.neighbour_k[place, number]) if np.isfinite(hot_c) else 0.0,
        )

    def _band(self, place: int, first: int) -> tuple[float | None, float | None, float | None]:
        """Coolest, best estimate and hottest of the loss model's band. Hotter ohms elsewhere take current from a
        section: one that hardly warms may be coolest where the loss is least."""
        band = [self._at(self.beside_c, place, first, end) for end in BAND]
        known = [t_c for t_c in band if t_c is not None]
        return (min(known), band[1], max(known)) if len(known) == len(BAND) else (None, band[1], None)

    def _at(self, values: FloatArray, place: int, first: int, end: End) -> float | None:
        return float(values[place, first + self.ends.index(end)]) if end in self.ends else None


def at_ends(cases: Sequence[StartCase], ends: Sequence[End]) -> tuple[StartCase, ...]:
    """Every case at every end, ends inmost."""
    return tuple(StartCase(case.line_v, case.ambient_c, end) for case in cases for end in ends)


def mean_plate_w(heated: Sequence[HeatedSection], pulses: Sequence[Pulse], round_s: float) -> FloatArray:
    """Mean heat of one plate of each section over a round, W (sections, cases)."""
    plates = np.array([[float(section.series * section.in_parallel)] for section in heated])
    return np.asarray(np.sum([pulse.joules for pulse in pulses], axis=0) / plates / round_s)


def live_seconds(job: Job, found: RunUp) -> FloatArray:
    """How long each section carried current in a run, s (sections, cases)."""
    seconds = np.zeros_like(found.section_j)
    for notch, log in zip(job.notches, found.notches, strict=True):
        live = Stage.of(notch).sections if notch.network is None else notch.network.sections
        seconds[[place for place, name in enumerate(found.sections) if name in live]] += log.leave_s - log.arrive_s
    return seconds
