"""The start of a design as it is run, for the papers: its heat and what is judged of it.

The choice itself goes by mean currents, which is the safe side and quick enough for thousands of tries. What is printed
comes from the integrated run. Where that cannot be run, the mean start stands in its place and a finding says why.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from griddesign.choose.from_job import Worked, heated_sections
from griddesign.choose.kinds import Kind
from griddesign.errors import CurveError, GriddesignError, NoStartError
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.job.records import Job
from griddesign.judge.beside import Beside, beside
from griddesign.judge.cut_out import networks_in_words
from griddesign.judge.finding import Finding, Verdict
from griddesign.judge.heat_cases import duty_rows, holds
from griddesign.judge.run_heat import RunHeat, run_heat
from griddesign.judge.runup import Starter
from griddesign.judge.start_findings import judge_run, judge_run_peaks
from griddesign.telling import stage
from griddesign.traction.records import MeanStart


@dataclass(frozen=True)
class AsRun:
    """Every row of the heat sheet, the rows of start and duty with the figures as given, and the findings of the run.

    ``ran`` is None without a car or plates, or where the start could not be run, and so is what is ``beside`` it;
    ``heated`` empty without either.
    """

    rows: tuple[HeatRow, ...] = ()
    given: tuple[HeatRow, ...] = ()
    heated: tuple[HeatedSection, ...] = ()
    findings: tuple[Finding, ...] = ()
    ran: RunHeat | None = None
    beside: Beside | None = None

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is to be said beside."""
        return self.ran.remarks if self.ran else ()


@stage("the start as it is run, and its heat")
def as_run(job: Job, worked: Worked | None, starts: tuple[MeanStart, ...]) -> AsRun:
    """The start of the design as run; ``starts`` are its mean starts, empty where there is none to run.

    Raises InputError where a start takes longer than the duty allows.
    """
    if worked is None or worked.design is None or not starts:
        return AsRun()
    ready = Starter(job, worked)
    try:
        ran = run_heat(ready)
        aside = beside(ready, ready.told, ran)
        found = (*judge_network_peak(ready), *judge_run(ready, ready.told), *aside.findings)
    except (NoStartError, CurveError) as error:
        return _at_means(job, worked, starts, error)
    return AsRun(ran.rows, ran.given_rows, ready.heated, found, ran, aside) if ran else AsRun()


def judge_network_peak(ready: Starter) -> Iterator[Finding]:
    """The peak of the start as run where a notch is a network: the peak rule for the grid as chosen leaves it out."""
    if networks_in_words(ready.job.notches):
        yield judge_run_peaks(ready, ready.told)


def _at_means(job: Job, worked: Worked, starts: tuple[MeanStart, ...], error: GriddesignError) -> AsRun:
    assert worked.design is not None
    heated = heated_sections(job, worked.design, {plate.name: Kind(plate) for plate in job.plates})
    worst, given = duty_rows(job, heated, starts)
    why = f"{error.message}; the heat below comes from mean currents instead"
    networks = networks_in_words(job.notches)
    why += f"; {networks}, and what is turned into heat there is not in it" if networks else ""
    verdict = Verdict.FAILS if isinstance(error, NoStartError) else Verdict.NOT_SHOWN
    found = (Finding("the start as run", verdict, why, error.hint),)
    return AsRun((*worst, *holds(job, heated, worst)), given, heated, found)
