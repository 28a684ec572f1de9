"""Every start drawn, run: a thousand at a time, hot ohms fed back, from the settled day of the grid as chosen."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from griddesign.choose.from_job import notch_aims
from griddesign.grid.records import Run
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import AS_GIVEN, End
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.runup import StartCase, Starter
from griddesign.judge.scatter.draws import BLOCK, Block, Dice
from griddesign.judge.service_day import once_round, settled_begin_c, stretches_of
from griddesign.traction.runup.records import Cases, RunUp

ALPHA_ENDS = (replace(AS_GIVEN, name="low", alpha20="low"), replace(AS_GIVEN, name="high", alpha20="high"))
Step = Callable[[int], object]


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What every start came to, arrays (rows, N) or (N,).

    Peaks per motor by notch, A; the line's peak, A; the strongest pull, N; hottest plates by section, degC; cold ohms
    of the notches' circuits; which starts were stuck on a notch, which passed the end of the motor curve. ``signs`` by
    cause; ``outside`` by kind: how many plates of each set lie outside their band.
    """

    peak_a: FloatArray
    line_a: FloatArray
    pull_n: FloatArray
    hot_c: FloatArray
    notch_ohm: FloatArray
    stuck: NDArray[np.bool_]
    beyond: NDArray[np.bool_]
    signs: dict[str, FloatArray]
    outside: dict[str, NDArray[np.intp]]


@dataclass(frozen=True, eq=False)
class Runs:
    """The grid ready for its draws. ``begin_c`` (sections, 2) at either end of the temperature coefficient."""

    ready: Starter
    dice: Dice
    begin_c: FloatArray
    circuits: tuple[Run, ...]
    template: Cases
    tables: PlateTables
    bands: dict[str, tuple[float, float]]

    @classmethod
    def of(cls, ready: Starter, dice: Dice, bands: dict[str, tuple[float, float]]) -> tuple["Runs", bool]:
        """The runs, and whether they begin at the settled day (else at the hottest ambient)."""
        ends = ALPHA_ENDS if dice.laws.two_alphas else (AS_GIVEN, AS_GIVEN)
        begin_c, settled = _begin_c(ready, ends)
        template = ready.arrays([StartCase(1.0, 0.0)] * BLOCK)
        ambient_c = ready.job.duty.ambient_high_c
        tables = PlateTables.of(ready.heated, [(end, ambient_c) for end in ends])
        circuits = tuple(aim.circuit for aim in notch_aims(ready.job, ready.worked.wanted))
        return cls(ready, dice, begin_c, circuits, template, tables, bands), settled

    def all(self, starts: int, step: Step) -> Drawn:
        """That many starts; ``step`` is told after each block how many more are done.

        Whole blocks are drawn and run and the last one is cut, so every start comes out the same however many are asked
        for.
        """
        parts = []
        for number in range(-(-starts // BLOCK)):
            count = min(BLOCK, starts - number * BLOCK)
            parts.append(_cut(self._one(self.dice.block(number)), count))
            step(count)
        return _joined(parts)

    def _one(self, block: Block) -> Drawn:
        cases = self._cases(block)
        which = block.high_alpha.astype(np.intp)
        tables = replace(self.tables, first=self.tables.first[:, which], top_c=self.tables.top_c[:, which])
        return self._told(block, cases, self.ready.run_arrays(cases, tables))

    def _cases(self, block: Block) -> Cases:
        plain = self.template
        by_valley = plain.dwell_s is None and plain.peak_a is None
        return replace(
            plain,
            line_v=block.line_v,
            section_ohm=block.section_ohm,
            start_c=self.begin_c[:, block.high_alpha.astype(np.intp)],
            mass_kg=block.mass_kg,
            valley_a=plain.valley_a * (block.driver[0] if by_valley else 1.0),
            dwell_s=None if plain.dwell_s is None else plain.dwell_s * block.driver,
            peak_a=None if plain.peak_a is None else plain.peak_a * block.driver[0],
        )

    def _told(self, block: Block, cases: Cases, found: RunUp) -> Drawn:
        logs, cold_ohm = found.notches, dict(zip(self.ready.cold_ohm, cases.section_ohm + cases.joint_ohm, strict=True))
        outside = {
            kind: ((ohm < self.bands[kind][0]) | (ohm > self.bands[kind][1])).sum(axis=0)
            for kind, ohm in block.plate_ohm.items()
            if kind in self.bands
        }
        return Drawn(
            peak_a=np.stack([log.peak_a for log in logs]),
            line_a=np.max([log.line_peak_a for log in found.rows], axis=0),
            pull_n=np.max([log.effort_n for log in found.rows], axis=0),
            hot_c=found.hottest_c,
            notch_ohm=np.stack([_ohms(circuit, cold_ohm) for circuit in self.circuits]),
            stuck=found.stuck >= 0,
            beyond=np.any([log.beyond_curve for log in found.rows], axis=0),
            signs=dict(block.signs),
            outside=outside,
        )


def _ohms(run: Run, section_ohm: Mapping[str, FloatArray]) -> FloatArray:
    """Ohms of a circuit end to end (M,); no section is without ohms, so no branch shorts another."""
    total = np.zeros(BLOCK)
    for part in run.parts:
        if isinstance(part, str):
            total = total + section_ohm[part]
        else:
            total = total + 1.0 / sum(1.0 / _ohms(branch, section_ohm) for branch in part.runs)
    return total


def _begin_c(ready: Starter, ends: tuple[End, ...]) -> tuple[FloatArray, bool]:
    """Temperatures at which the starts begin, and whether those are settled.

    The hottest at which any start of a day at nominal voltage begins on the grid as chosen, in the hottest ambient;
    without a duty, or where it never settles, that ambient.
    """
    line, ambient_c = ready.job.line, ready.job.duty.ambient_high_c
    assert line is not None
    cold_c, stretches = np.full((len(ready.heated), len(ends)), ambient_c), stretches_of(ready)
    if not stretches:
        return cold_c, False
    cases = [StartCase(line.nominal_v, ambient_c, end) for end in ends]
    round_c = settled_begin_c(ready, cases, stretches)
    if not np.isfinite(round_c).all():
        return cold_c, False
    tables = PlateTables.of(ready.heated, [(end, ambient_c) for end in ends])
    return np.max(once_round(stretches, cases, round_c, tables).begins_c, axis=0), True


def _cut(drawn: Drawn, count: int) -> Drawn:
    return drawn if count == BLOCK else _with(drawn, lambda array: array[..., :count])


def _with(drawn: Drawn, change: Callable[[FloatArray], FloatArray]) -> Drawn:
    changed: dict[str, Any] = {}
    for name in Drawn.__dataclass_fields__:
        value = getattr(drawn, name)
        changed[name] = {key: change(one) for key, one in value.items()} if isinstance(value, dict) else change(value)
    return Drawn(**changed)


def _joined(parts: list[Drawn]) -> Drawn:
    joined: dict[str, Any] = {}
    for name in Drawn.__dataclass_fields__:
        values = [getattr(part, name) for part in parts]
        if isinstance(values[0], dict):
            joined[name] = {key: np.concatenate([one[key] for one in values], axis=-1) for key in values[0]}
        else:
            joined[name] = np.concatenate(values, axis=-1)
    return Drawn(**joined)
