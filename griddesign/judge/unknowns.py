"""What is not sure in a job, tried at both ends and ranked by what it does to the notch currents."""

from collections.abc import Iterator, Mapping

from griddesign.choose.from_job import notch_aims, wanted_of
from griddesign.errors import GriddesignError
from griddesign.grid.circuit import ohms
from griddesign.job.records import Job
from griddesign.judge.records import Unknown

# Ranges by nature, not by ignorance: the duty's ambient, a width that may be ordered.
_NO_UNKNOWNS = ("duty.ambient", ".may_vary.")
_ENDS = ("low", "high")


def unknowns(job: Job, section_ohm: Mapping[str, float], hot_ratio: Mapping[str, float]) -> tuple[Unknown, ...]:
    """Every weak figure that moves a notch current, the strongest first.

    Each is set to its two ends, the wanted ohms are found again, and the grid as chosen is held against them: the swing
    is the worst change of ``R'_wanted / R'_got`` of any notch. An end at which no start is possible counts without
    limit.
    """
    weak = tuple(_weak(job))
    base = _errors(job, section_ohm, hot_ratio) if weak else {}
    found = [swing for key in weak if (swing := _swing(job, key, base, section_ohm, hot_ratio)) is not None]
    return tuple(sorted(found, key=lambda unknown: -unknown.swing))


def _weak(job: Job) -> Iterator[str]:
    for key, figure in job.figures.items():
        if figure.low != figure.high and not any(word in f"{key}." for word in _NO_UNKNOWNS):
            yield key


def _swing(
    job: Job, key: str, base: Mapping[str, float], section_ohm: Mapping[str, float], hot_ratio: Mapping[str, float]
) -> Unknown | None:
    worst, notch = 0.0, ""
    for end in _ENDS:
        try:
            errors = _errors(job.at(**{key: end}), section_ohm, hot_ratio)
        except GriddesignError:
            return Unknown(key, job.figures[key].text, float("inf"), "every notch")
        for name, error in errors.items():
            if abs(error - base[name]) > worst:
                worst, notch = abs(error - base[name]), name.partition(":")[2]
    return Unknown(key, job.figures[key].text, worst, notch) if worst > 1e-6 else None


def _errors(job: Job, section_ohm: Mapping[str, float], hot_ratio: Mapping[str, float]) -> dict[str, float]:
    """``R'_wanted / R'_got - 1`` of every notch on the grid as chosen."""
    aims = notch_aims(job, wanted_of(job, hot_ratio))
    return {f"{place}:{aim.name}": aim.error(ohms(aim.circuit, section_ohm)) for place, aim in enumerate(aims)}
