"""The heat of the duty as the designer asks for it: joules of a start, settled temperatures, margin by plate ohms."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from griddesign.choose.kinds import Floats, Kind
from griddesign.grid.records import BoxPlan
from griddesign.heat.cycle import StartHeat
from griddesign.heat.duty import settled_peaks_c
from griddesign.heat.lumps import AS_GIVEN, HIGH_ALPHA
from griddesign.heat.records import HeatedSection, Stack
from griddesign.job.records import Duty
from griddesign.traction.records import MeanStart

_NODES = 9
_SETTLED_K = 0.02
"""What slow plates come back to a cycle later has about this grain, from the steps of the march: below it a search for
the settled cycle only wanders (measured)."""
NO_MARGIN_K = -5000.0
"""Stands for a duty that never settles inside the metal's table."""


@dataclass(frozen=True, eq=False)
class MarginTable:
    """Heat margin of every section by kind, plates side by side and plate ohms, at the settled duty.

    Computed at 9 plate ohms over each kind's range and read by straight lines between: within 0.1 K (tested), where
    the loss model is known to 20 per cent.
    """

    node_ohm: Mapping[str, Floats]
    margin_k: Mapping[tuple[str, str, int], Floats]

    def __call__(self, section: str, kind: str, in_parallel: int, ohm: float) -> float | None:
        """Margin, K; never rising with ohms."""
        return float(np.interp(ohm, self.node_ohm[kind], self.margin_k[section, kind, in_parallel]))


def margin_table(
    kinds: Sequence[Kind],
    section_ohm: Mapping[str, float],
    start: MeanStart,
    plan: BoxPlan,
    duty: Duty,
    limit_c: Callable[[Kind], float],
    in_parallel: Sequence[int],
) -> MarginTable:
    """Margins at the hottest ambient for the start given (its line voltage, its joules at cold ohms).

    A section of R ohms made of plates of r ohms, q side by side, has ``R q^2/r`` plates; each takes that share of the
    section's joules. All are marched at once, at the worst end of the weak figures: with the current given, more ohms
    when hot, less loss and less specific heat never make a plate cooler.
    """
    assert duty.start_every_s is not None
    heat = {name: (joules, on_s) for name, joules, on_s in section_heat(start)}
    sections: list[HeatedSection] = []
    starts: list[StartHeat] = []
    keys: list[tuple[str, str, int]] = []
    nodes = {kind.name: _nodes(kind) for kind in kinds}
    for kind in kinds:
        for number, ohm in enumerate(nodes[kind.name]):
            body = kind.body(float(ohm))
            stack = Stack(plan.plates_per_box, plan.plate_gap_m)
            for name in section_ohm:
                for side_by_side in in_parallel:
                    label = f"{name}|{kind.name}|{side_by_side}|{number}"
                    joules, on_s = heat[name]
                    share = ohm / (max(section_ohm[name], ohm / side_by_side) * side_by_side**2)
                    sections.append(HeatedSection(label, body, 1, 1, stack, limit_c(kind)))
                    starts.append(StartHeat(label, joules * share, on_s))
                    keys.append((name, kind.name, side_by_side))
    hot_c = settled_peaks_c(
        sections, starts, duty.ambient_high_c, every_s=duty.start_every_s, end=HIGH_ALPHA, settled_k=_SETTLED_K
    )
    margins: dict[tuple[str, str, int], list[float]] = {}
    for key, section, peak_c in zip(keys, sections, hot_c.tolist(), strict=True):
        margins.setdefault(key, []).append(max(section.limit_c - peak_c, NO_MARGIN_K))
    return MarginTable(nodes, {key: np.minimum.accumulate(values) for key, values in margins.items()})


def _nodes(kind: Kind) -> Floats:
    candidate = kind.candidate
    if candidate.low_ohm == candidate.high_ohm:
        return np.array([candidate.low_ohm])
    return np.geomspace(candidate.low_ohm, candidate.high_ohm, _NODES)


def section_heat(start: MeanStart) -> tuple[tuple[str, float, float], ...]:
    """(section, joules of one start at cold ohms, seconds it carries current), summed over the notches."""
    on_s = {name: 0.0 for name, _ in start.section_j}
    for notch in start.notches:
        for name, joules in notch.section_j:
            on_s[name] += notch.seconds if joules > 0.0 else 0.0
    return tuple((name, joules, on_s[name]) for name, joules in start.section_j)


def start_heats(start: MeanStart) -> tuple[StartHeat, ...]:
    """The same as records of the heat room."""
    return tuple(StartHeat(name, joules, on_s) for name, joules, on_s in section_heat(start))


def hot_ratios(sections: Sequence[HeatedSection], start: MeanStart, duty: Duty) -> dict[str, float]:
    """Hot over cold ohms of each section at the settled duty, figures as given, hottest ambient."""
    assert duty.start_every_s is not None
    hot_c = settled_peaks_c(sections, start_heats(start), duty.ambient_high_c, every_s=duty.start_every_s, end=AS_GIVEN)
    return {
        section.name: float(section.body.metal.ratio(min(peak_c, section.body.metal.top_c)))
        for section, peak_c in zip(sections, hot_c.tolist(), strict=True)
    }
