"""The heat of a start as run, whole: one start, the duty, the restart too soon, and the holds from there."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.neighbours import alone_c
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.judge.heat_cases import deciding, holds
from griddesign.judge.measuring import metal_cases
from griddesign.judge.ran import Beside, Ran
from griddesign.judge.runup import StartCase, Starter
from griddesign.judge.service_day import one_start, restart, service_day


@dataclass(frozen=True)
class RunHeat:
    """``duties`` as run: one start, then where the job names them the settled day and the restart. ``held``: the rows
    of every notch held. ``ready`` is what was run."""

    ready: Starter
    duties: tuple[Ran, ...]
    held: tuple[HeatRow, ...]

    @property
    def job(self) -> Job:
        """The job that was run."""
        return self.ready.job

    @cached_property
    def duty_rows(self) -> tuple[HeatRow, ...]:
        """Every start and duty at the worst end of the weak figures."""
        return tuple(row for ran in self.duties for row in ran.worst())

    @cached_property
    def given_rows(self) -> tuple[HeatRow, ...]:
        """The same with the figures as given."""
        return tuple(row for ran in self.duties for row in ran.at(AS_GIVEN))

    @property
    def rows(self) -> tuple[HeatRow, ...]:
        """Every row of the heat sheet."""
        return (*self.duty_rows, *self.held)

    @cached_property
    def peak_c(self) -> Mapping[str, float]:
        """Hottest moment of each section in the duty its limit is held against, degC: worst end, voltage, ambient."""
        hottest: dict[str, float] = {}
        for row in deciding(self.duty_rows):
            hottest[row.section] = max(row.hot_c, hottest.get(row.section, row.hot_c))
        return hottest

    @property
    def mean_c(self) -> Mapping[str, float] | None:
        """Mean temperature of each section over the settled duty with the figures as given, degC, in the worst of the
        cases; None where no duty settles, since one start has no mean."""
        day = next((ran for ran in self.duties if ran.round_s), None)
        if day is None:
            return None
        given = [place for place, case in enumerate(day.cases) if case.end == AS_GIVEN]
        cases = [(AS_GIVEN, day.cases[place].ambient_c) for place in given]
        hottest = alone_c(self.ready.heated, day.mean_w[:, given], cases)[0].max(axis=1)
        return {section.name: float(t_c) for section, t_c in zip(self.ready.heated, hottest, strict=True)}

    @property
    def beside(self) -> Beside | None:
        """The settled duty at each end of what the metals leave open; see ``metal_cases``. None where it was not run
        along."""
        return next((ran.beside for ran in self.duties if ran.round_s), None)

    @property
    def remarks(self) -> tuple[str, ...]:
        """Ends of the weak figures at which a current passes the end of the motor curve."""
        astray = {ran.cases[place].end.name: ran.name for ran in self.duties for place in ran.strayed}
        return tuple(
            f"≈ At one end ({end}) a current passes the end of the motor curve in the heat of {name}: there the flux "
            "was kept at its last value, which only raises current and heat. Measure the curve further."
            for end, name in astray.items()
        )

    def start_heat(self, row: HeatRow) -> tuple[float, float]:
        """Joules and seconds of the start of ``row``'s duty that heats its section most, figures as given."""
        ran = next(ran for ran in self.duties if ran.name == row.case)
        place = next(place for place, section in enumerate(self.ready.heated) if section.name == row.section)
        case = ran.cases.index(StartCase(row.line_v, row.ambient_c, AS_GIVEN))
        hottest = max(ran.pulses, key=lambda pulse: float(pulse.joules[place, case]))
        return float(hottest.joules[place, case]), float(hottest.on_s[place, case])


def run_heat(ready: Starter) -> RunHeat | None:
    """The heat of the job's start as run; None where it has no plates. Raises as ``Starter.run``, and InputError where
    a start takes longer than the duty allows."""
    once, day = one_start(ready), service_day(ready, beside=metal_cases(ready))
    if once is None:
        return None
    again = restart(ready, day or once)
    duties = tuple(ran for ran in (once, day, again) if ran is not None)
    worst = tuple(row for ran in duties for row in ran.worst())
    return RunHeat(ready, duties, holds(ready.job, ready.heated, worst))
