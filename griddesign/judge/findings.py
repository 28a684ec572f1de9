"""The findings of a design: each point judged in three words, with the number that decides it."""

from collections.abc import Iterable, Iterator, Sequence

from griddesign.heat.lumps import limit_beyond_table
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.job.records import Job, PaperUnits
from griddesign.judge.heat_cases import deciding, hottest
from griddesign.judge.measuring import advice
from griddesign.judge.records import Finding, NotchDone, PlateReport, Unknown, Verdict
from griddesign.units import show, show_change

_EPS = 1e-9
_TOO_HOT_C = 2000.0


def judge_notches(notches: Sequence[NotchDone], tolerance: float) -> Iterator[Finding]:
    """Each notch's ohms against its tolerance."""
    for notch in notches:
        verdict = Verdict.HOLDS if abs(notch.error) <= tolerance * (1.0 + _EPS) else Verdict.FAILS
        got, wanted = (show(value, "resistance", digits=4) for value in (notch.cold_ohm, notch.wanted_ohm))
        why = f"{got} for {wanted}: current {show_change(notch.error)}, allowed ±{100 * tolerance:.3g} %"
        yield Finding(f"notch {notch.name}, ohms", verdict, why)


def judge_peaks(notches: Sequence[NotchDone], peak_a: float, tolerance: float) -> Iterator[Finding]:
    """The worst peak of the grid as chosen; ohms within their tolerance may lift it by as much."""
    peaks = [(notch.peak_a, notch.name) for notch in notches if notch.peak_a is not None]
    if not peaks:
        return
    worst_a, name = max(peaks)
    allowed_a = peak_a * (1.0 + tolerance)
    verdict = Verdict.HOLDS if worst_a <= allowed_a * (1.0 + _EPS) else Verdict.FAILS
    why = f"{worst_a:.1f} A per motor on notch {name}; asked {peak_a:.4g} A, with the notch tolerance {allowed_a:.1f} A"
    yield Finding("peak current on the grid as chosen", verdict, why)


def judge_heat(
    worst: Sequence[HeatRow], as_given: Sequence[HeatRow], limit_source: str | None, units: PaperUnits = "mm"
) -> Iterator[Finding]:
    """The settled duty (without one, a single start), and a restart where one is named, section by section.

    Each case is a finding of its own, so that none hides another at an end of a weak figure where that is the hotter
    one. Where only the weak ends pass the limit, it is not shown.
    """
    given, rows = deciding(tuple(as_given)), deciding(tuple(worst))
    for case in dict.fromkeys(row.case for row in rows):
        as_told = hottest(tuple(row for row in given if row.case == case))
        for name, row in hottest(tuple(row for row in rows if row.case == case)).items():
            yield _heat(name, row, as_told[name], units)
    if limit_source is not None:
        yield Finding(
            "temperature limit of the plates",
            Verdict.NOT_SHOWN,
            f"no limit is given; the metal's own tabled figure was used ({limit_source})",
            'Give [limits] plate = { value = "…", source = "…" }.',
        )


def _heat(name: str, row: HeatRow, given: HeatRow, units: PaperUnits) -> Finding:
    reached = "runs away" if row.runs_away or row.hot_c > _TOO_HOT_C else show(row.hot_c, "temperature", units=units)
    where = f"{show(row.line_v, 'voltage')}, ambient {show(row.ambient_c, 'temperature', units=units)}, worst end"
    why = f"{reached}, limit {show(row.limit_c, 'temperature', units=units)} ({where})"
    item = f"section {name}, {row.case}"
    if row.margin_k >= 0.0:
        return Finding(item, Verdict.HOLDS, why)
    if given.margin_k < 0.0:
        return Finding(item, Verdict.FAILS, why)
    settle = "Measure a plate at two temperatures (its coefficient), and the bank's temperature on a worked day."
    return Finding(
        item,
        Verdict.NOT_SHOWN,
        f"{why}; with the figures as given {show(given.hot_c, 'temperature', units=units)}",
        settle,
    )


def judge_limit(sections: Iterable[HeatedSection], units: PaperUnits = "mm") -> Iterator[Finding]:
    """Limits above the end of a metal's own table: everything near them rests on a slope carried on."""
    beyond = {section.body.metal.key: section for section in sections if limit_beyond_table(section)}
    for key, section in beyond.items():
        limit, top = (show(t_c, "temperature", units=units) for t_c in (section.limit_c, section.body.metal.top_c))
        yield Finding(
            f"table of {key}",
            Verdict.NOT_SHOWN,
            f"the limit of {limit} lies above {top}, where its table of ohms against temperature ends",
            f"Find or measure the ohms of {key} up to {limit}, or lower the limit.",
        )


def judge_plates(plates: Iterable[PlateReport], tolerance: float, units: PaperUnits = "mm") -> Iterator[Finding]:
    """Each kind against its process, and whether its ohms are known well enough for the notches."""
    for plate in plates:
        broken = [check for check in plate.checks if check.must and not check.ok]
        for check in broken:
            found, asked = (show(value_m, "length", units=units) for value_m in (check.found_m, check.limit_m))
            why = f"{found}, the process asks {asked} ({check.source})"
            yield Finding(f"plate {plate.wish.name}, {check.item}", Verdict.FAILS, why)
        if not broken:
            yield Finding(f"plate {plate.wish.name}, how it is made", Verdict.HOLDS, _made(plate))
        if plate.count and not _ohms_are_ordered(plate):
            yield from _judge_metal(plate, tolerance)


def _made(plate: PlateReport) -> str:
    advice = [check.item for check in plate.checks if not check.ok]
    against = f"; against the advice of the trade: {', '.join(advice)}" if advice else ""
    return f"{len(plate.checks)} dimensions held against the rules for {plate.wish.made_by}{against}"


def _ohms_are_ordered(plate: PlateReport) -> bool:
    """Whether the plate is ordered and accepted by its ohms, or was measured."""
    return plate.wish.strip_width_range_m is not None or plate.wish.measured_ohm is not None


def _judge_metal(plate: PlateReport, tolerance: float) -> Iterator[Finding]:
    figures = plate.figures
    low, high = figures.metal_low_ohm / figures.cold_ohm - 1.0, figures.metal_high_ohm / figures.cold_ohm - 1.0
    if max(-low, high) <= tolerance:
        return
    yield Finding(
        f"plate {plate.wish.name}, ohms of the metal",
        Verdict.NOT_SHOWN,
        f"the metal's own range moves the plate by {show_change(low, 0)} to {show_change(high, 0)}, the notches allow "
        f"±{100 * tolerance:.3g} %",
        f'Measure plate {plate.wish.name} (four-wire, cold) and give measured = "…", or let its strip width vary.',
    )


def judge_unknowns(unknowns: Iterable[Unknown], tolerance: float, worst_error: float) -> Iterator[Finding]:
    """Figures that are not sure: those whose ends could push a notch out of its tolerance are not shown."""
    for unknown in unknowns:
        safe = unknown.swing + worst_error <= tolerance
        yield Finding(
            f"not sure: {unknown.key}",
            Verdict.HOLDS if safe else Verdict.NOT_SHOWN,
            f"{unknown.text}: its ends move the current of notch {unknown.notch} by {100 * unknown.swing:.1f} %",
            "" if safe else advice(unknown.key),
        )


def judge_starter(job: Job) -> Iterator[Finding]:
    """A job that came from a starter and still holds its figures."""
    if job.starter_values:
        yield Finding(
            "values left from the starter",
            Verdict.NOT_SHOWN,
            f"{len(job.starter_values)} still read as the starter's: {', '.join(job.starter_values)}",
            'Put your own figures in; where one is the same, add its source: { value = "…", source = "…" }.',
        )


def tabled_limit(job: Job) -> str | None:
    """In words the limits of the plates where the job gives none and the metals' own were used."""
    if job.limits.plate_c is not None:
        return None
    limits = {plate.metal.key: plate.metal.limit_c for plate in job.plates}
    units = job.paper.units
    tabled = ((key, show(limit.value, "temperature", units=units), limit.status) for key, limit in limits.items())
    return ", ".join(f"{key}: {limit}, {status}" for key, limit, status in tabled)
