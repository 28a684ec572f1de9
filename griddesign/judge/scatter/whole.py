"""The scatter of a job, put together: drawn, run, counted and told."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from griddesign.choose.from_job import notch_aims
from griddesign.choose.records import Design
from griddesign.errors import InputError
from griddesign.grid.circuit import names
from griddesign.grid.layout import lay_out
from griddesign.heat.air import FloatArray
from griddesign.judge.bands import box_bands, plate_band, shared_out
from griddesign.judge.runup import Starter
from griddesign.judge.scatter.draws import Dice
from griddesign.judge.scatter.laws import Laws, laws_of
from griddesign.judge.scatter.lots import lots
from griddesign.judge.scatter.records import PERCENT, Chance, Scatter, Spread, Unit
from griddesign.judge.scatter.starts import Drawn, Runs, Step
from griddesign.judge.scatter.statistics import chance_range, shares
from griddesign.traction.mechanics import adhesion_n
from griddesign.units import show

FEWEST, MOST = 100, 1_000_000
ANY_NOTCH, ANY_SECTION = "any notch, ohms", "any section, temperature"


def scatter_of(ready: Starter, starts: int, seed: int, step: Step = lambda _: None) -> Scatter:
    """So many starts of the job, each on a grid of its own: spreads, chances, shares, plates outside their band.

    Every start begins at the temperatures of a settled day at nominal voltage on the grid as chosen, in the hottest
    ambient, and is run with what was drawn for it: one odd start on a usual day, not a day of odd starts. Loss and
    specific heat are as given (or as a heat run told), joints and motors as given. ``step`` is told of every block of
    starts done. Same job, number and seed: same numbers; the first of many starts are those of few.

    Raises InputError without plates or wanted ohms, with fewer than 100 starts or more than a million, or where no
    start gets through.
    """
    if not FEWEST <= starts <= MOST:
        raise InputError(f"{starts} starts are not drawn", hint=f"Ask for {FEWEST} to {MOST}.")
    design = ready.worked.design
    if design is None or ready.job.boxes is None:
        raise InputError("the job has no plates whose ohms could scatter", hint="Add [[plate]] and [boxes].")
    if not ready.worked.wanted.notches:
        raise InputError(
            "the bands of plates and notches come from wanted ohms, and none are sought for this controller",
            hint="griddesign start without --samples runs it.",
        )
    laws, room = laws_of(ready.job, design), shared_out(ready.job, ready.worked.wanted, design.sections)
    bands = {
        kind.name: band
        for kind in design.kinds
        if (band := plate_band(kind.name, kind.cold_ohm, design.sections, room)) is not None
    }
    runs, settled = Runs.of(ready, dice_of(ready, design, laws, seed), bands)
    drawn = runs.all(starts, step)
    through = ~drawn.stuck
    if not through.any():
        raise InputError("no start drawn gets up to the last notch", hint="Look at griddesign start without --samples.")
    return Scatter(
        starts=starts,
        seed=seed,
        stuck=int(drawn.stuck.sum()),
        causes=laws.told,
        spreads=tuple(_spreads(ready, laws, drawn, through)),
        chances=tuple(_chances(ready, drawn, through)),
        lots=tuple(lots(design, bands, drawn.outside)),
        boxes=box_bands(lay_out(design.sections, ready.job.boxes), room),
        remarks=tuple(_remarks(ready, settled, drawn)),
    )


def dice_of(ready: Starter, design: Design, laws: Laws, seed: int, **seeds: int) -> Dice:
    """The dice of a job; ``seeds`` gives causes a seed of their own."""
    by_clock = ready.job.start is not None and ready.job.start.notch_up == "by time"
    return Dice(design.sections, laws, len(ready.job.notches) if by_clock else 1, seed, seeds)


def quantities(ready: Starter, drawn: Drawn) -> Iterator[tuple[str, Unit, FloatArray]]:
    """What is told of every start: name, unit and values (N,)."""
    yield "peak current per motor", "A", drawn.peak_a.max(axis=0)
    for notch, peak_a in zip(ready.job.notches, drawn.peak_a, strict=True):
        yield f"notch {notch.name}, peak current per motor", "A", peak_a
    yield "peak current from line", "A", drawn.line_a
    for section, hot_c in zip(ready.cold_ohm, drawn.hot_c, strict=True):
        yield f"section {section}, hottest", "degC", hot_c
    for aim, ohm in zip(notch_aims(ready.job, ready.worked.wanted), drawn.notch_ohm, strict=True):
        if names(aim.circuit):
            yield f"notch {aim.name}, cold ohms", "ohm", ohm


def _spreads(ready: Starter, laws: Laws, drawn: Drawn, through: NDArray[np.bool_]) -> Iterator[Spread]:
    rows = list(quantities(ready, drawn))
    values = np.stack([row[through] for _, _, row in rows])
    told = {cause.name for cause in laws.told}
    found = shares({name: sign[:, through] for name, sign in drawn.signs.items() if name in told}, values)
    at = np.percentile(values, PERCENT, axis=1).T
    for place, (name, unit, _) in enumerate(rows):
        parts = () if found is None else tuple((cause, float(part[place])) for cause, part in found[0].items())
        together = None if found is None else float(found[1][place])
        yield Spread(name, unit, tuple(at[place].tolist()), parts, together)


def _chances(ready: Starter, drawn: Drawn, through: NDArray[np.bool_]) -> Iterator[Chance]:
    """Every limit of the job; a start that got stuck breaks its own and is left out of the others."""
    job = ready.job
    assert job.start is not None and job.car is not None and job.line is not None
    yield _chance("current falls to the valley on every notch", None, None, drawn.stuck)
    yield _chance("within the motor curve", None, None, drawn.beyond[through])
    allowed_a = job.start.peak_a * (1.0 + job.limits.notch_tolerance)
    yield _chance("peak current per motor", allowed_a, "A", np.asarray((drawn.peak_a > allowed_a).any(axis=0))[through])
    if job.line.breaker_a is not None:
        yield _chance("breaker", job.line.breaker_a, "A", drawn.line_a[through] > job.line.breaker_a)
    grip_n = adhesion_n(job.car)
    if grip_n is not None:
        yield _chance("adhesion", grip_n, "N", drawn.pull_n[through] > grip_n)
    yield from _hot(ready, drawn.hot_c[:, through])
    yield from _off(ready, drawn.notch_ohm)


def _hot(ready: Starter, hot_c: FloatArray) -> Iterator[Chance]:
    limits = np.array([section.limit_c for section in ready.heated])
    over = hot_c > limits[:, None]
    for section, row in zip(ready.heated, over, strict=True):
        yield _chance(f"section {section.name}, temperature", section.limit_c, "degC", row)
    yield _chance(ANY_SECTION, None, None, np.asarray(over.any(axis=0)))


def _off(ready: Starter, notch_ohm: FloatArray) -> Iterator[Chance]:
    """What the current feels against the notch tolerance, every grid drawn, stuck or not."""
    tolerance, over = ready.job.limits.notch_tolerance, []
    for aim, ohm in zip(notch_aims(ready.job, ready.worked.wanted), notch_ohm, strict=True):
        if names(aim.circuit):
            over.append(np.abs(aim.total_ohm / (aim.other_ohm + aim.factor * ohm) - 1.0) > tolerance)
            yield _chance(f"notch {aim.name}, ohms", None, None, over[-1])
    if over:
        yield _chance(ANY_NOTCH, None, None, np.any(over, axis=0))


def _chance(item: str, limit: float | None, unit: Unit | None, broken: NDArray[np.bool_]) -> Chance:
    count = int(broken.sum())
    return Chance(item, limit, unit, count, broken.size, *chance_range(count, broken.size))


def _remarks(ready: Starter, settled: bool, drawn: Drawn) -> Iterator[str]:
    ambient = show(ready.job.duty.ambient_high_c, "temperature", units=ready.job.paper.units)
    if settled:
        yield (
            f"Each start begins on the settled day of the grid as chosen (nominal voltage, {ambient}): one odd start "
            "on a usual day."
        )
    else:
        yield f"Each start begins with the grid at {ambient}: the job names no duty that settles."
    yield "Loss and specific heat, joints and motors are not drawn: they stand as given."
    if drawn.stuck.any():
        yield f"{drawn.stuck.sum()} starts got stuck on a notch; percentiles and the other chances are of the rest."
    if drawn.beyond.any():
        yield (
            f"{drawn.beyond.sum()} starts passed the end of the motor curve; there the flux was kept at its last "
            "value, and their peaks are told rather too high."
        )
