"""What is known of a kind of plate beside the reading at hand: its mates' readings, the job's figure, or neither."""

from collections.abc import Iterable, Mapping, Sequence
from statistics import median

from griddesign.found.records import KindKnown
from griddesign.job.records import Job

BATCH = 0.10
"""How far a plate nobody has read may be from its kind, either way (ours, no source: castings of one batch)."""
ENOUGH_MATES = 3
"""So many plates of a kind read by themselves tell its scatter; fewer do not."""


def kinds_known(job: Job, own_ohm: Mapping[str, Sequence[float]], kinds: Iterable[str]) -> dict[str, KindKnown]:
    """Ohms of every kind that is known at all: from the job with a range, else from plates read by themselves
    (``own_ohm``, by kind, at 20 degC), else from the job's bare figure."""
    found = {}
    for kind in dict.fromkeys(kinds):
        known = _with_range(job, kind) or _from_mates(own_ohm.get(kind, ())) or _bare(job, kind)
        if known is not None:
            found[kind] = known
    return found


def _with_range(job: Job, kind: str) -> KindKnown | None:
    figure = job.figures.get(f"plate.{kind}.measured")
    if figure is None or figure.low == figure.high:
        return None
    return KindKnown(figure.value, (figure.high - figure.low) / (2.0 * figure.value), "the job's range", False)


def _from_mates(ohms: Sequence[float]) -> KindKnown | None:
    if not ohms:
        return None
    middle = median(ohms)
    scatter = max(abs(ohm / middle - 1.0) for ohm in ohms)
    if len(ohms) < ENOUGH_MATES:
        return KindKnown(middle, max(BATCH, scatter), f"{len(ohms)} of its kind read, scatter assumed", True)
    return KindKnown(middle, scatter, f"{len(ohms)} of its kind read by themselves", False)


def _bare(job: Job, kind: str) -> KindKnown | None:
    plate = next((plate for plate in job.plates if plate.name == kind), None)
    if plate is None or plate.measured_ohm is None:
        return None
    return KindKnown(plate.measured_ohm, BATCH, "the job's figure, scatter assumed", True)


def from_spans(spans: Iterable[tuple[float, int]]) -> KindKnown | None:
    """The mean of readings over several plates, each given as (ohm, plates); None without any."""
    pairs = tuple(spans)
    plates = sum(number for _, number in pairs)
    if not plates:
        return None
    return KindKnown(sum(ohm for ohm, _ in pairs) / plates, BATCH, "readings over several plates, shared evenly", True)
