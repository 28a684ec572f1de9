"""The cases a stop is run in, and the rows of the heat sheet taken from it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import AS_GIVEN, ENDS, End
from griddesign.heat.records import HeatRow
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.runup import StartCase, Starter
from griddesign.traction.braking.records import BrakeRun

NO_LINE_V = 0.0
"""Line volts of a row in which the line has no part."""


@dataclass(frozen=True, slots=True)
class Begin:
    """What a stop begins from: name of the case, and temperatures of the sections by ambient (none: the ambient)."""

    case: str
    section_c: Mapping[float, Mapping[str, float]]

    def at(self, ambient_c: float, section: str) -> float:
        """Temperature of a section in this ambient, degC; that of the ambient where nothing else is known."""
        return self.section_c.get(ambient_c, {}).get(section, ambient_c)


@dataclass(frozen=True, eq=False)
class BrakeCases:
    """Beginnings x ambients x ends, and each once more without loss: ``columns`` are so many, ends inmost but for the
    two halves with and without loss. ``begin_c`` and ``lost`` (sections, columns), the latter where no day settles;
    ``plates`` None where the job has none."""

    begins: tuple[Begin, ...]
    ambients: tuple[float, ...]
    ends: tuple[End, ...]
    columns: tuple[StartCase, ...]
    begin_c: FloatArray
    lost: NDArray[np.bool_]
    plates: PlateTables | None

    @classmethod
    def of(cls, ready: Starter, begins: Sequence[Begin]) -> Self:
        """Every beginning in cold and hot ambient at every end of the weak figures."""
        duty, names = ready.job.duty, tuple(ready.cold_ohm)
        ambients = tuple(dict.fromkeys((duty.ambient_low_c, duty.ambient_high_c)))
        ends = ENDS if ready.heated else (AS_GIVEN,)
        each = tuple(product(begins, ambients, ends))
        with_loss = tuple(StartCase(NO_LINE_V, ambient_c, end) for _, ambient_c, end in each)
        without = tuple(StartCase(NO_LINE_V, case.ambient_c, case.end.adiabatic()) for case in with_loss)
        left_c = [[begin.at(ambient_c, name) for begin, ambient_c, _ in each] for name in names]
        begin_c, columns = np.tile(np.array(left_c), 2), (*with_loss, *without)
        plates = (
            PlateTables.of(ready.heated, [(case.end, case.ambient_c) for case in columns]) if ready.heated else None
        )
        reached_c = begin_c if plates is None else np.minimum(begin_c, plates.top_c)
        return cls(tuple(begins), ambients, ends, columns, reached_c, ~np.isfinite(begin_c), plates)

    def tables(self, columns: int) -> PlateTables | None:
        """The plates of the first so many columns alone."""
        if self.plates is None:
            return None
        return replace(self.plates, first=self.plates.first[:, :columns], top_c=self.plates.top_c[:, :columns])

    @property
    def with_loss(self) -> int:
        """How many columns have the loss in."""
        return len(self.columns) // 2

    def blocks(self) -> Iterator[tuple[Begin, float, slice]]:
        """Every beginning and ambient with its columns, one for every end."""
        for number, (begin, ambient_c) in enumerate(product(self.begins, self.ambients)):
            yield begin, ambient_c, slice(number * len(self.ends), (number + 1) * len(self.ends))


def brake_rows(ready: Starter, cases: BrakeCases, run: BrakeRun) -> tuple[HeatRow, ...]:
    """A row for every beginning, ambient and section, at the end with the hottest moment."""
    hot_c = np.where(cases.lost, np.inf, run.hottest_c)
    return tuple(_rows(ready, cases, hot_c))


def _rows(ready: Starter, cases: BrakeCases, hot_c: FloatArray) -> Iterator[HeatRow]:
    for begin, ambient_c, block in cases.blocks():
        for place in range(len(ready.heated)):
            bound_c = hot_c[place, cases.with_loss :][block]
            yield row_of(ready, place, (begin.case, ambient_c), cases.ends, hot_c[place, block], bound_c)


def row_of(
    ready: Starter,
    place: int,
    case: tuple[str, float],
    ends: Sequence[End],
    hot_c: FloatArray,
    bound_c: FloatArray,
    hold_s: FloatArray | None = None,
) -> HeatRow:
    """The row of a section from what it reaches at every end (ends,); ``case`` is its name and the ambient.

    ``hold_s`` (ends,) are the seconds until its limit where the case is held for ever, inf where that never comes.
    """
    section, worst = ready.heated[place], int(np.argmax(hot_c))
    reached_c = float(hot_c[worst])
    until_s = None if hold_s is None else float(hold_s.min())
    return HeatRow(
        case=case[0],
        notch="",
        section=section.name,
        line_v=NO_LINE_V,
        ambient_c=case[1],
        hot_c=reached_c,
        bound_c=max(reached_c, float(bound_c[worst])),
        limit_c=section.limit_c,
        margin_k=section.limit_c - reached_c,
        hold_s=None if until_s is None or np.isinf(until_s) else until_s,
        hold_bound_s=None,
        runs_away=not np.isfinite(reached_c),
        worst_end=ends[worst].name,
        best_c=float(hot_c[ends.index(AS_GIVEN)]),
    )
