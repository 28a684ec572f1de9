"""``griddesign plate JOB --ohms`` and ``--measured``: the plate to order, and the batch after its first-off."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS, InputError, QuantityError
from griddesign.job.making import kerf_asked
from griddesign.job.readings import of_kind, read_plates_csv
from griddesign.job.records import Job, PlateWish
from griddesign.judge.plate_result import batch_result, ordered_result
from griddesign.judge.records import Result
from griddesign.judge.replacing import Wanted, order_plate, reissue_batch
from griddesign.papers.replacement_json import batch_json, ordered_json
from griddesign.papers.replacement_lines import batch_lines, ordered_lines
from griddesign.plate.measured import joined
from griddesign.units import read

_ORDERING = ("ohms", "metal", "made_by", "free", "sheet", "current", "measured")


def wanted_words(words: Mapping[str, Any]) -> bool:
    """Whether the user asked for an order or a first-off loop."""
    return any(words[name] for name in _ORDERING)


def asked_words(words: Mapping[str, Any]) -> Iterator[str]:
    """All the command asked for that the papers rest on, in one order; what a file holds counts by its content."""
    for name in sorted(words):
        if name not in ("out", "force", "measured") and words[name]:
            yield f"{name}={words[name]}"


def answer_order(job: Job, plate: PlateWish, words: Mapping[str, Any], as_json: bool) -> int:
    """Order the plate, or re-issue its batch, say it, write its papers where a folder was named; the exit code."""
    answered = _reissue if words["measured"] is not None else _order
    return answered(job, plate, words, as_json)


def _order(job: Job, plate: PlateWish, words: Mapping[str, Any], as_json: bool) -> int:
    order = order_plate(job, plate, _wanted(words))
    folder = None
    if words["out"] is not None:
        from griddesign.papers.replacement_files import ordered_files

        result = ordered_result(job, order, asked_words(words))
        folder = write_papers(result, ordered_files(result, order), words)
    _tell(ordered_json(order) if as_json else None, ordered_lines(order))
    say_where(folder, as_json)
    return EXIT_HOLDS if order.holds else EXIT_FAILS


def _reissue(job: Job, plate: PlateWish, words: Mapping[str, Any], as_json: bool) -> int:
    wanted, measured = _wanted(words), read_plates_csv(words["measured"])
    kinds = [kind.name for kind in job.plates]
    batch = reissue_batch(job, plate, wanted, joined(of_kind(measured.plates, plate.name, kinds)))
    folder = None
    if words["out"] is not None:
        from griddesign.papers.replacement_files import batch_files

        result = batch_result(job, batch, words["measured"], asked_words(words))
        folder = write_papers(result, batch_files(result, batch), words)
    _tell(batch_json(batch) if as_json else None, batch_lines(batch))
    if measured.not_read:
        say([f"columns not read: {', '.join(measured.not_read)}"], to_stderr=True)
    say_where(folder, as_json)
    return EXIT_HOLDS if batch.holds else EXIT_FAILS


def write_papers(result: Result, files: Mapping[str, bytes], words: Mapping[str, Any]) -> Path:
    """Issue the papers of one plate: ``DIR/<job>_<plate>_<metal>_<how>/<revision>``, ``_order`` behind one ordered."""
    from griddesign.papers.issue import issue

    wish = result.plates[0].wish
    ordered = ("order",) if words["ohms"] or words["metal"] else ()
    part = (wish.name, wish.metal.key, wish.made_by, *ordered)
    return issue(result, files, words["out"], force=words["force"], part=part)


def say_where(folder: Path | None, as_json: bool) -> None:
    """Where the papers are, if any were written."""
    if folder is not None:
        say([f"Papers in {folder}"], to_stderr=as_json)


def _tell(data: Any, lines: Any) -> None:
    if data is not None:
        answer(data)
    else:
        say(lines)


def _wanted(words: Mapping[str, Any]) -> Wanted:
    return Wanted(
        ohm=_one("--ohms", words["ohms"], "resistance"),
        metal=words["metal"],
        made_by=words["made_by"],
        free=words["free"],
        on_hand_m=tuple(found for text in words["sheet"] if (found := _one("--sheet", text, "length")) is not None),
        current_a=_one("--current", words["current"], "current"),
        kerf=None if words["kerf"] is None else kerf_asked(words["kerf"]),
    )


def _one(option: str, text: str | None, kind: str) -> float | None:
    """One quantity above zero: an order names one figure, not a range."""
    if text is None:
        return None
    try:
        found = read(text, kind)
    except QuantityError as error:
        raise QuantityError(f"{option}: {error.message}", hint=error.hint) from error
    if found.low != found.high:
        raise InputError(f"{option}: {text!r} is a range", hint="Name the one figure that is wanted.")
    if found.value <= 0:
        raise InputError(f"{option}: {text!r} cannot be", hint="Give a quantity above zero.")
    return found.value
