"""Single faults on the terminal: the table, and the faults a driver's words point to."""

from collections.abc import Iterator, Mapping

from griddesign.cli.saying import table
from griddesign.judge.faults.records import FaultTable
from griddesign.judge.faults.symptoms import Fit, fitting, read_symptom

MOST_FITS = 8


def fault_lines(faults: FaultTable) -> Iterator[str]:
    """One line for each single fault."""
    titles = ("fault", "highest peak", "hottest", "its heat", "the driver feels")
    rows = [
        (
            row.what,
            "" if row.highest_peak_a is None else f"{row.highest_peak_a:.0f} A",
            row.hottest or "",
            "" if row.times is None else f"x {row.times:.2f}",
            row.driver,
        )
        for row in faults.rows
    ]
    yield from table(titles, rows)


def symptom_fits(faults: FaultTable, text: str) -> tuple[Fit, ...]:
    """Faults that fit what the driver says, best first. Raises InputError on words that say nothing of a notch."""
    return fitting(faults, read_symptom(text, [notch.name for notch in faults.sound.notches]))


def symptom_lines(text: str, fits: tuple[Fit, ...]) -> Iterator[str]:
    """The faults that fit best, each with what would be felt besides, or is said and would not be."""
    if not fits:
        yield f"No single fault of this grid feels like {text!r}: look for two at once, or outside the grid."
        return
    yield f"Single faults that fit {text!r}, best first:"
    for place, fit in enumerate(fits[:MOST_FITS], start=1):
        yield f"{place}. {fit.row.what}: fits {100 * fit.share:.0f} %. {fit.row.driver}."
        felt = {one.name: one.felt for one in fit.row.notches}
        yield from _beside("not so there", fit.not_so, {})
        yield from _beside("would be felt too", fit.not_said, felt)
    yield "Prove it by the ohms of each section before anything is unbolted: dead, locked and cold."


def _beside(what: str, names: tuple[str, ...], felt: Mapping[str, str]) -> Iterator[str]:
    if names:
        said = ", ".join(f"{name} {felt.get(name, '')}".strip() for name in names)
        yield f"   {what}: notch {said}"
