"""The day of ``[duty]``: its parts, each so many starts on a gradient, and the shortest pause before a start."""

from griddesign.job.part import Part
from griddesign.job.records import DutyPart

MOST_STARTS = 60


def read_day(part: Part) -> tuple[DutyPart, ...]:
    """The ``[[duty.part]]`` tables in their order; empty where there are none."""
    found = tuple(read for each in part.tables("part") if (read := _read_part(each)) is not None)
    starts = sum(one.starts for one in found)
    if starts > MOST_STARTS:
        part.complain(
            "part",
            f"{starts} starts in one round of the day, at most {MOST_STARTS} are run",
            "Give one round trip: it is repeated until the temperatures settle.",
        )
    return found


def _read_part(part: Part) -> DutyPart | None:
    name = part.name("up the hill")
    starts = part.whole_number("starts", most=MOST_STARTS)
    every_s = part.quantity("start_every", "time", example="90 s")
    gradient = part.quantity("gradient", "gradient", required=False, above=None)
    layover_s = part.quantity("layover", "time", required=False, above=None, least=0.0)
    part.close()
    if starts is None or every_s is None:
        return None
    return DutyPart(name, starts, every_s, gradient, layover_s or 0.0)


def busiest_s(parts: tuple[DutyPart, ...]) -> float | None:
    """Seconds between starts in the busiest part, which the choice of plates goes by; None without parts."""
    return min((part.start_every_s for part in parts), default=None)
