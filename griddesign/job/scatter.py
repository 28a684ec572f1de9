"""What scatters from grid to grid and from start to start, as the user knows it: the ``[scatter]`` table.

[scatter]
batch = "3 %"                      # ohms of a whole batch: one standard deviation, normal, cut at three
plate = "1 %"                      # ohms from plate to plate inside a batch: the same
plates_per_batch = 40              # without it all plates of a kind come from one batch
sizes = "tolerances"               # draw strip width and thickness within their tolerances as well; or "none"
line = "500 V to 600 V"            # anything between is as likely
load = "0 t to 4 t"                # on top of the car's mass, anything between is as likely
driver = "10 %"                    # valley current, or the seconds on a notch: one standard deviation
"""

from dataclasses import dataclass
from functools import partial
from typing import Literal, get_args

from griddesign.figures import Figure
from griddesign.job.part import Part, read_figure

Sizes = Literal["tolerances", "none"]
SIZES: tuple[Sizes, ...] = get_args(Sizes)
WIDEST_DEVIATION = 0.3
"""Three standard deviations of it must leave something of the ohms, or of the current."""


@dataclass(frozen=True, slots=True)
class ScatterGiven:
    """The ``[scatter]`` table; None where nothing was said and an assumption of ours, marked so, steps in.

    ``batch``, ``plate`` and ``driver`` are standard deviations as fractions; ``line_v`` and ``load_kg`` (low, high).
    """

    batch: float | None = None
    plate: float | None = None
    plates_per_batch: int | None = None
    sizes: Sizes | None = None
    line_v: tuple[float, float] | None = None
    load_kg: tuple[float, float] | None = None
    driver: float | None = None


def read_scatter(part: Part) -> ScatterGiven:
    """The table as given. Its figures are no unknowns of the job: they are drawn from, not tried at both ends."""
    given = ScatterGiven(
        batch=_deviation(part, "batch"),
        plate=_deviation(part, "plate"),
        plates_per_batch=part.whole_number("plates_per_batch") if part.has("plates_per_batch") else None,
        sizes=part.choice("sizes", SIZES) if part.has("sizes") else None,
        line_v=_between(part, "line", "voltage", above_zero=True),
        load_kg=_between(part, "load", "mass"),
        driver=_deviation(part, "driver"),
    )
    for name in ("plates_per_batch", "sizes"):
        part.mark(name)
    part.close()
    return given


def _deviation(part: Part, name: str) -> float | None:
    figure = _figure(part, name, "fraction", "3 %")
    if figure is None:
        return None
    if figure.low != figure.high:
        part.complain(name, f"{figure.text} is a range", 'Give one standard deviation, for instance "3 %".')
        return None
    if figure.value > WIDEST_DEVIATION:
        most = f"At most {100 * WIDEST_DEVIATION:g} %: it is one standard deviation, and up to three are drawn."
        part.complain(name, f"{figure.text} cannot be", most)
        return None
    return figure.value


def _between(part: Part, name: str, kind: str, *, above_zero: bool = False) -> tuple[float, float] | None:
    figure = _figure(part, name, kind, "500 V to 600 V" if kind == "voltage" else "0 t to 4 t")
    if figure is None:
        return None
    if above_zero and figure.low <= 0.0:
        part.complain(name, f"{figure.text} cannot be", "It must be above zero.")
        return None
    return figure.low, figure.high


def _figure(part: Part, name: str, kind: str, example: str) -> Figure | None:
    part.mark(name)
    value = part.data.get(name)
    if value is None:
        return None
    if not isinstance(value, str):
        part.complain(name, f"{value!r} is not a text", f'Write {name} = "{example}".')
        return None
    return part.attempt(name, partial(read_figure, value, kind))
