"""``griddesign plate JOB --ohms`` and ``--measured``: the plate to order, and the batch after its first-off."""

from typing import Any

from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS, InputError
from griddesign.job.readings import of_kind, read_plates_csv
from griddesign.job.records import Job, PlateWish
from griddesign.judge.replacing import Wanted, order_plate, reissue_batch
from griddesign.papers.replacement_json import batch_json, ordered_json
from griddesign.papers.replacement_lines import batch_lines, ordered_lines
from griddesign.units import read


def wanted_words(words: dict[str, Any]) -> bool:
    """Whether the user asked for an order or a first-off loop."""
    return any(words.values())


def answer_order(job: Job, plate: PlateWish, words: dict[str, Any], as_json: bool) -> int:
    """Order the plate, or re-issue its batch, say it, and return the exit code."""
    wanted = _wanted(words)
    if words["measured"] is not None:
        measured = read_plates_csv(words["measured"])
        kinds = [kind.name for kind in job.plates]
        batch = reissue_batch(job, plate, wanted, of_kind(measured.plates, plate.name, kinds))
        _tell(batch_json(batch) if as_json else None, batch_lines(batch))
        if measured.not_read:
            say([f"columns not read: {', '.join(measured.not_read)}"], to_stderr=True)
        return EXIT_HOLDS if batch.holds else EXIT_FAILS
    order = order_plate(job, plate, wanted)
    _tell(ordered_json(order) if as_json else None, ordered_lines(order))
    return EXIT_HOLDS if order.holds else EXIT_FAILS


def _tell(data: Any, lines: Any) -> None:
    if data is not None:
        answer(data)
    else:
        say(lines)


def _wanted(words: dict[str, Any]) -> Wanted:
    return Wanted(
        ohm=_above_zero("--ohms", words["ohms"], "resistance"),
        metal=words["metal"],
        made_by=words["made_by"],
        free=words["free"],
        on_hand_m=tuple(
            found for text in words["sheet"] if (found := _above_zero("--sheet", text, "length")) is not None
        ),
        current_a=_above_zero("--current", words["current"], "current"),
    )


def _above_zero(option: str, text: str | None, kind: str) -> float | None:
    if text is None:
        return None
    value = read(text, kind).value
    if value <= 0:
        raise InputError(f"{option}: {text!r} cannot be", hint="Give a quantity above zero.")
    return value
