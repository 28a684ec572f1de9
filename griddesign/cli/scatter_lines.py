"""``griddesign start --samples``: drawing with a progress bar, and what is said of the scatter."""

import sys
from collections.abc import Iterator
from typing import TextIO

import click

from griddesign.cli.saying import quiet, table
from griddesign.judge.runup import Starter
from griddesign.judge.scatter.records import PERCENT, Chance, Scatter, Spread
from griddesign.judge.scatter.whole import FEWEST, MOST, scatter_of
from griddesign.progress import at
from griddesign.units import show

KIND = {"A": "current", "degC": "temperature", "ohm": "resistance", "N": "force"}
LEAST_TOLD = 0.005

samples_option = click.option(
    "--samples",
    type=click.IntRange(FEWEST, MOST),
    help="Draw so many starts, each on a grid of its own, and tell spread, chances and causes.",
)
seed_option = click.option(
    "--seed", type=click.IntRange(0, 2**63 - 1), default=1, show_default=True, help="Same seed, same numbers."
)


def drawn(ready: Starter, samples: int, seed: int, stream: TextIO | None = None) -> Scatter:
    """The scatter, with a progress bar on stderr where that is a terminal and anything is to be said; else each block
    of starts is a step for whoever watches."""
    stream = sys.stderr if stream is None else stream
    if quiet() or not stream.isatty():
        return scatter_of(ready, samples, seed, _Counted(samples).step)
    with click.progressbar(length=samples, label="starts drawn", file=stream) as bar:
        return scatter_of(ready, samples, seed, bar.update)


class _Counted:
    """Starts drawn so far."""

    def __init__(self, samples: int) -> None:
        self.samples, self.done = samples, 0

    def step(self, count: int) -> None:
        """So many more are done."""
        self.done += count
        at(f"{self.done} of {self.samples} starts drawn")


def scatter_lines(scatter: Scatter) -> Iterator[str]:
    """What is said of the scatter."""
    yield f"Scatter: {scatter.starts} starts, each on a grid of its own; seed {scatter.seed}: same seed, same numbers."
    for cause in scatter.causes:
        yield f"  {'≈ assumed: ' if cause.assumed else ''}{cause.name}: {cause.law}"
    yield ""
    yield from _spreads(scatter)
    yield ""
    yield from _chances(scatter)
    yield ""
    yield from (lot.advice for lot in scatter.lots)
    for box in scatter.boxes:
        low, high = (show(ohm, "resistance", digits=4) for ohm in (box.accept_low_ohm, box.accept_high_ohm))
        yield f"Box {box.box} is accepted, cold and end to end, from {low} to {high}."
    yield from (f"  remark: {remark}" for remark in scatter.remarks)


def _spreads(scatter: Scatter) -> Iterator[str]:
    rows = [(one.name, *(show(value, KIND[one.unit], digits=4) for value in one.at)) for one in scatter.spreads]
    lines = table(("percentiles", *(f"{percent:g} %" for percent in PERCENT)), rows)
    causes = ("variance from", *map(_shares, scatter.spreads))
    yield from (f"{line}  {cause}" for line, cause in zip(lines, causes, strict=True))


def _shares(spread: Spread) -> str:
    """The causes that matter, the strongest first; the rest is what they do only together."""
    if spread.together is None:
        return "too few starts to tell"
    strongest = sorted(spread.shares, key=lambda pair: -pair[1])
    parts = [f"{name} {100 * share:.0f} %" for name, share in strongest if share >= LEAST_TOLD]
    if spread.together >= LEAST_TOLD:
        parts.append(f"together {100 * spread.together:.0f} %")
    return ", ".join(parts)


def _chances(scatter: Scatter) -> Iterator[str]:
    rows = [
        (
            one.item,
            "" if one.limit is None or one.unit is None else show(one.limit, KIND[one.unit], digits=4),
            f"{one.broken} of {one.starts}",
            _chance(one),
        )
        for one in scatter.chances
    ]
    yield from table(("limit", "", "broken", "chance (95 % sure)"), rows)


def _chance(one: Chance) -> str:
    """The chance with its range; what was never seen is less than so much, not nothing."""
    if one.broken == 0:
        return f"under {100 * one.high:.2g} %"
    return f"{100 * one.chance:.2g} % ({100 * one.low:.2g} to {100 * one.high:.2g} %)"
