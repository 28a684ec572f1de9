"""What several sheets share: the stamp of the set, cautions, and figures as words."""

from griddesign.judge.records import Result
from griddesign.papers.blocks import Cautions, Stamp
from griddesign.papers.issued import Issued
from griddesign.units import show, show_change, show_fraction

DANGER = (
    "LETHAL VOLTAGE. Isolate, lock and tag, release stored energy, and verify dead before you touch the grid.",
    "HOT METAL. A grid stays hot for half an hour and more after use. Let it cool before you work on it.",
    "ASBESTOS. Boards, millboard and washers of old boxes may hold it: treat them as asbestos until analysed; "
    "no drilling, brushing or blowing out before that.",
    "FIRE. Timber chars and can catch fire above a hot grid. Keep the shields and the distances of the car.",
    "Local codes and the judgement of a licensed person come before anything on this sheet.",
)
EXAMPLE = "EXAMPLE FIGURES, NOT FOR MANUFACTURE"
DRAFT = "DRAFT"
PROVISIONAL = "PROVISIONAL, SET TAPS AFTER MEASURING"


def stamp(result: Issued) -> Stamp:
    """What stands on every page of the set."""
    job = result.job
    across = tuple(word for word, true in ((EXAMPLE, job.example), (DRAFT, job.revision == "draft")) if true)
    return Stamp(job.title, job.revision, result.fingerprint, job.paper.sheet, across, job.paper.owner)


def cautions(*numbers: int) -> Cautions:
    """The cautions of these places in ``DANGER``; all of them where none is named."""
    return Cautions(tuple(DANGER[number] for number in numbers) if numbers else DANGER)


def firm(text: str) -> str:
    """Number and unit kept on one line."""
    return text.replace(" ", "\u00a0")


def ohm(value: float | None, digits: int = 4) -> str:
    """Ohms as paper prints them."""
    return "" if value is None else firm(show(value, "resistance", digits=digits))


def ampere(value: float | None) -> str:
    """Amperes as paper prints them."""
    return "" if value is None else firm(show(value, "current", digits=3))


def percent(share: float | None, digits: int = 1) -> str:
    """A signed share in per cent: ``+2.1 %``."""
    return "" if share is None else firm(show_change(share, digits))


def length(result: Issued, value_m: float) -> str:
    """A length in the units of the job's papers."""
    return firm(show(value_m, "length", digits=4, units=result.job.paper.units))


def by_tape(result: Issued, value_m: float) -> str:
    """A length that a shop takes off with a tape: on inch papers with the nearest 1/32 beside the decimals, unless
    that is a whole number of inches."""
    exact, nearest = length(result, value_m), show_fraction(value_m).removesuffix(" in")
    return exact if result.job.paper.units == "mm" or "/" not in nearest else f"{exact} {firm(f'({nearest})')}"


def mass(result: Result, value_kg: float) -> str:
    """A mass in the units of the job's papers."""
    return firm(show(value_kg, "mass", digits=3, units=result.job.paper.units))


def joint_words(joint: tuple[int, int], plates_in_box: int) -> str:
    """A joint as the bench counts it: ``joint 7|8``, ``dot end, before plate 1``, ``far end, after plate 20``."""
    if joint[0] == 0:
        return "dot end, before plate 1"
    if joint[0] >= plates_in_box:
        return f"far end, after plate {joint[0]}"
    return f"joint {joint[0]}|{joint[1]}"
