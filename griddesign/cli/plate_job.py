"""``griddesign plate JOB``: one plate of a job, its ohms, mass and size."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from griddesign.cli.nest_lines import nest_lines
from griddesign.cli.plate_order import answer_order, asked_words, say_where, wanted_words, write_papers
from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS, InputError
from griddesign.job.making import kerf_asked, plate_with_kerf
from griddesign.job.nest import with_nest
from griddesign.job.reading import read_job
from griddesign.job.records import Job, PlateWish
from griddesign.judge.hot_spot import hot_spot_of
from griddesign.judge.nesting import with_nests
from griddesign.judge.plate_result import plate_result
from griddesign.judge.records import PlateReport
from griddesign.judge.sampled import sample_checks
from griddesign.judge.work import plate_report
from griddesign.papers.as_json import plate_json
from griddesign.papers.outlined_json import spot_json
from griddesign.papers.outlined_lines import spot_words
from griddesign.papers.replacement_json import metal_check_json
from griddesign.papers.replacement_lines import sample_lines, sureness_lines
from griddesign.plate.outlined import HotSpot
from griddesign.units import show


def answer_job(job: Path, name: str | None, words: Mapping[str, Any], as_json: bool) -> int:
    """Say the plate of a job as drawn there, or order it, and return the exit code; --out writes its papers."""
    read = with_nest(read_job(job), words["nest"])
    plate = _named(read, name)
    if wanted_words(words):
        return answer_order(read, plate, words, as_json)
    if words["kerf"] is not None:
        plate = plate_with_kerf(plate, kerf_asked(words["kerf"]))
    (report,), checks = with_nests(read, [plate_report(plate, None, {})]), sample_checks(plate)
    folder, spot = None if words["out"] is None else _write(read, plate, words), hot_spot_of(report)
    if as_json:
        told = {**plate_json(report), **spot_json(spot, spot.at_m)}
        answer({**told, "metal_checks": [metal_check_json(check) for check in checks]})
    else:
        say([*_lines(report), _spot_line(read, spot), *sample_lines(plate, checks), *nest_lines([report])])
    say_where(folder, as_json)
    return EXIT_HOLDS if all(check.holds for check in checks) else EXIT_FAILS


def _named(job: Job, name: str | None) -> PlateWish:
    """The plate of that name, or the only one. Raises InputError where that is none or several."""
    known = ", ".join(plate.name for plate in job.plates) or "none"
    named = [plate for plate in job.plates if name in (None, plate.name)]
    if len(named) == 1:
        return named[0]
    if name is not None:
        raise InputError(f"{job.path} holds no plate named {name!r}", hint=f"Known: {known}.")
    raise InputError(f"{job.path} holds {len(named)} plates", hint=f"Say which: --name. Known: {known}.")


def _write(job: Job, plate: PlateWish, words: Mapping[str, Any]) -> Path:
    from griddesign.papers.replacement_files import plate_files

    result = plate_result(job, plate, asked_words(words))
    return write_papers(result, plate_files(result), words)


def _spot_line(job: Job, spot: HotSpot) -> str:
    """Peak of the current density and where, from the lower left corner of the passes."""
    units = job.paper.units
    x, y = (show(value_m, "offset", digits=4, units=units) for value_m in spot.at_m)
    return f"  hot spot            {spot_words(spot, f'x {x}, y {y} from the lower left of the passes', units)}"


def _lines(plate: PlateReport) -> Iterator[str]:
    figures = plate.figures
    yield f"plate {plate.wish.name}: {plate.wish.metal.name} ({plate.wish.metal.key}), {plate.wish.made_by}"
    yield f"  cold ohms (20 °C)   {show(figures.cold_ohm, 'resistance', digits=5)}"
    yield from sureness_lines(plate)
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
