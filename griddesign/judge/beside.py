"""What is judged beside the start itself: the brake on the same grid, and the start with a motor or a pair cut out."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from griddesign.judge.cut_out import CutOut, cut_out_or_why
from griddesign.judge.finding import Finding, Unknown
from griddesign.judge.heat_cases import deciding
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.runup import Starter
from griddesign.traction.runup.records import RunUp

if TYPE_CHECKING:
    from griddesign.judge.braking import BrakingResult


@dataclass(frozen=True)
class Beside:
    """The brake and the start with motors cut out; None of each the job does not have. ``not_worked_out``: why nothing
    is told of motors cut out, where a network is left that cannot be run."""

    braking: "BrakingResult | None" = None
    cut_out: CutOut | None = None
    not_worked_out: tuple[str, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of both, the brake's first."""
        return (*(self.braking.findings if self.braking else ()), *(self.cut_out.findings if self.cut_out else ()))


def beside(ready: Starter, run: RunUp, ran: RunHeat | None) -> Beside:
    """Both for a start run in ``ready.cases`` with its heat."""
    return Beside(_brake(ready, run, ran), *cut_out_or_why(ready))


def _brake(ready: Starter, run: RunUp, ran: RunHeat | None) -> "BrakingResult | None":
    """The brake, where the job has one; else nothing of it is loaded."""
    if ready.job.braking is None:
        return None
    from griddesign.judge.braking import braking_of

    return braking_of(ready, run, deciding(ran.duty_rows) if ran else ())


def measure_beside(
    ready: Starter, run: RunUp, ran: RunHeat | None, braking: "BrakingResult | None", unknowns: tuple[Unknown, ...]
) -> tuple[Unknown, ...]:
    """What to measure next, the brake's own figures with what they do to the brake."""
    if braking is None:
        return unknowns
    from griddesign.judge.brake_unknowns import with_brake

    return with_brake(ready, run, deciding(ran.duty_rows) if ran else (), braking, unknowns)
