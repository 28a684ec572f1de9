"""``griddesign plate JOB``: one plate of a job, its ohms, mass and size."""

from collections.abc import Iterator
from math import isinf
from pathlib import Path
from typing import Any

from griddesign.cli.plate_order import answer_order, wanted_words
from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS, InputError
from griddesign.job.reading import read_job
from griddesign.judge.records import PlateReport
from griddesign.judge.replacing import sample_checks
from griddesign.judge.work import plate_report
from griddesign.papers.as_json import plate_json
from griddesign.papers.replacement_json import metal_check_json
from griddesign.papers.replacement_lines import sample_lines
from griddesign.plate.spread import Spread
from griddesign.units import show


def answer_job(job: Path, name: str | None, order: dict[str, Any], as_json: bool) -> int:
    """Say the plate of a job as drawn there, or order it, and return the exit code; nothing is written."""
    read = read_job(job)
    named = [plate for plate in read.plates if name in (None, plate.name)]
    if len(named) != 1:
        known = ", ".join(plate.name for plate in read.plates) or "none"
        raise InputError(f"{job} holds {len(named)} plates of that name", hint=f"Say which: --name. Known: {known}.")
    if wanted_words(order):
        return answer_order(read, named[0], order, as_json)
    report, checks = plate_report(named[0], None, {}), sample_checks(named[0])
    if as_json:
        answer({**plate_json(report), "metal_checks": [metal_check_json(check) for check in checks]})
    else:
        say([*_lines(report), *sample_lines(named[0], checks)])
    return EXIT_HOLDS if all(check.holds for check in checks) else EXIT_FAILS


def _lines(plate: PlateReport) -> Iterator[str]:
    figures = plate.figures
    yield f"plate {plate.wish.name}: {plate.wish.metal.name} ({plate.wish.metal.key}), {plate.wish.made_by}"
    yield f"  cold ohms (20 °C)   {show(figures.cold_ohm, 'resistance', digits=5)}"
    yield f"    calculation       {_span(figures.low_ohm, figures.high_ohm, 6)}"
    yield f"    metal's own range {_span(figures.metal_low_ohm, figures.metal_high_ohm, 3)}"
    if plate.made is not None:
        yield f"    by its making     {_ends(figures.cold_ohm, plate.made.spread)}"
    for t in (100.0, 200.0, 300.0, 400.0):
        hot_ohm = figures.cold_ohm * float(plate.wish.metal.ratio(t))
        yield f"  at {show(t, 'temperature'):<16} {show(hot_ohm, 'resistance', digits=4)}"
    yield f"  squares             {figures.squares:.4f}"
    yield f"  strip, eye to eye   {show(figures.strip_m, 'length', digits=5)}"
    yield f"  mass                {show(figures.mass_kg, 'mass', digits=4)}"
    width, height = (show(side_m, "length", digits=4) for side_m in (figures.width_m, figures.height_m))
    yield f"  over the bends      {width} x {height}"
    yield f"  smallest web, gap   {show(figures.smallest_web_m, 'length')}, {show(figures.pass_gap_m, 'length')}"
    for check in plate.checks:
        if not check.ok:
            word = "against the rule" if check.must else "against the advice"
            limit = show(check.limit_m, "length")
            yield f"  {word} for {plate.wish.made_by}: {check.item} {show(check.found_m, 'length')}, at least {limit}"


def _ends(middle_ohm: float, spread: Spread) -> str:
    if isinf(spread.high):
        return f"from {show((1 + spread.low) * middle_ohm, 'resistance')}, without end"
    return _span((1 + spread.low) * middle_ohm, (1 + spread.high) * middle_ohm, 3)


def _span(low: float, high: float, digits: int) -> str:
    return f"{show(low, 'resistance', digits=digits)} to {show(high, 'resistance', digits=digits)}"
