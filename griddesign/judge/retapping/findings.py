"""The findings of new taps on plates at hand, each in three words with the number that decides it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from griddesign.found.records import AsFound, Disagreement, OneOut
from griddesign.heat.records import HeatRow
from griddesign.judge.finding import Finding, Verdict
from griddesign.judge.heat_cases import deciding
from griddesign.judge.retapping.bank import NO_CAR, OHMS_ONLY
from griddesign.judge.retapping.proof import exchange_words, proof_words
from griddesign.judge.retapping.records import NotchAt, Tapping
from griddesign.retaps.records import Answer, NotchTarget, Question, Spare
from griddesign.units import show, show_change, show_cold

_EPS = 1e-9


def judge_found(found: AsFound, units: str = "mm") -> Iterator[Finding]:
    """What is wrong with the readings; told in ``units``, those of the papers."""
    for one in found.disagreements:
        yield Finding(
            f"reading {one.reading}", Verdict.FAILS, _disagrees(one, units), f"Read {one.reading} again, four-wire."
        )
    for lacking in found.one_out:
        yield _one_out(found, lacking)
    for words in found.contradictions:
        yield Finding("a plate marked dead", Verdict.FAILS, words, "Look at the plate, and read it by itself.")
    if found.two_wire:
        yield Finding(
            "readings by two wires",
            Verdict.NOT_SHOWN,
            f"{len(found.two_wire)} below 1 ohm, first {found.two_wire[0]}: leads and clips weigh as much as plates",
            "Read with four wires, or drop a known current and read millivolts.",
        )


def _disagrees(one: Disagreement, units: str) -> str:
    times = f"{one.times:.1f} times its own deviation"
    words = (
        f"{_ohm(one.ohm)} at {show_cold(units)} where the other readings make it {_ohm(one.others_ohm)}: off by "
        f"{_signed_ohm(one.off_ohm)} ({show_change(one.off_ohm / one.others_ohm)}), may differ ±"
        f"{_ohm(one.may_differ_ohm, 2)}, {times}; left out"
    )
    if one.rivals:
        more = f" and {len(one.rivals) - 3} more" if len(one.rivals) > 3 else ""
        words += f". Fits as badly: {'; '.join(one.rivals[:3])}{more}"
        words += f"; this one is named because {one.why}" if one.why else "; more readings that overlap would tell"
    return words


def _one_out(found: AsFound, one: OneOut) -> Finding:
    """One plate not in circuit, or the scatter of the batch."""
    reads = (
        f"{_ohm(one.ohm)} over {one.plates} plates of {_ohm(one.plate_ohm)} ({_ohm(one.all_ohm)} in all) reads as "
        f"{one.plates - one.out} plates"
    )
    known = f"plates known within ±{100 * one.share:.2g} %, ±{100 * one.needed_share:.2g} % needed to tell"
    item = f"reading {one.reading}"
    several = "one plate" if one.out == 1 else f"{one.out} plates"
    if one.out < 0:
        words = f"{reads}: more than are mounted; counted from a wrong joint, or a batch of more ohms ({known})"
        return Finding(item, Verdict.NOT_SHOWN, words, "Count the joints again; read plate by plate.")
    if not one.shown:
        words = f"{reads}: {several} mounted but not in circuit, or as well the scatter of the batch ({known})"
        return Finding(item, Verdict.NOT_SHOWN, words, "Read plate by plate, and look for a strap or a mica washer.")
    which = _candidates(found, one)
    words = f"{reads}: {several} mounted but not in circuit{which} ({known})"
    return Finding(item, Verdict.FAILS, words, "Find the plate, mark its row: not in circuit; run again.")


def _candidates(found: AsFound, one: OneOut) -> str:
    if len(one.candidates) == 1:
        return f", {found.place(one.candidates[0])}"
    if not one.candidates or len(one.candidates) == one.plates:
        return ", any of them"
    return f", one of {len(one.candidates)} from {found.place(one.candidates[0])} on"


def judge_taps(
    targets: Sequence[NotchTarget], after: Tapping | None, no_answer: str, wanted_ohm: Mapping[str, float]
) -> Iterator[Finding]:
    """Every notch on the new taps against its tolerance, at both ends of what the plates may be."""
    if after is None:
        yield Finding("new taps", Verdict.FAILS, no_answer)
        return
    tolerance = {target.name: target.tolerance for target in targets}
    for notch in after.notches:
        yield judge_notch(notch, tolerance[notch.name], wanted_ohm[notch.name])


def judge_notch(notch: NotchAt, tolerance: float, wanted_ohm: float) -> Finding:
    """One notch; where only what the plates may be off by takes it out of tolerance, it is not shown."""
    allowed = tolerance * (1.0 + _EPS)
    got, off = f"{_ohm(notch.cold_ohm)} for {_ohm(wanted_ohm)}", show_change(notch.error)
    why = f"{got}: current {off}, allowed ±{100 * tolerance:.3g} %"
    item = f"notch {notch.name}, ohms"
    if abs(notch.error) > allowed:
        return Finding(item, Verdict.FAILS, why)
    if max(abs(notch.error_low), abs(notch.error_high)) > allowed:
        ends = f"{show_change(notch.error_low)} to {show_change(notch.error_high)} by what the readings may be off"
        return Finding(item, Verdict.NOT_SHOWN, f"{why}; {ends}", "Measure the sections as tapped, four-wire.")
    return Finding(item, Verdict.HOLDS, why)


def judge_answer(question: Question, answer: Answer | None) -> Iterator[Finding]:
    """Whether it is the best there is; currents a section must carry."""
    if answer is None:
        return
    exchanged = exchange_words(answer)
    why = f"worst notch {100 * answer.worst_error:.2f} %{' ' + exchanged if exchanged else ''}; {proof_words(answer)}"
    if answer.proved:
        yield Finding("best taps, proved", Verdict.HOLDS, why)
    else:
        late = "time" in answer.note
        why = why if late else f"{why}; {answer.note}"
        yield Finding("best taps, proved", Verdict.NOT_SHOWN, why, "Allow more time: --time-limit." if late else "")
    if question.needs_a:
        unknown = sum(plate.state == "in circuit" and plate.current_a is None for plate in question.plates.plates)
        unknown += sum(spare.current_a is None for spare in question.rules.spares if _used(answer, spare))
        if unknown:
            words = f"{unknown} plates have no current they may carry for ever in their rows"
            yield Finding("currents the sections must carry", Verdict.NOT_SHOWN, words, "Fill in the column carries.")


def _used(answer: Answer, spare: Spare) -> bool:
    return any(name == spare.name for name, _ in answer.spares)


def judge_run(after: Tapping | None, peak_a: float | None, tolerance: float, units: str = "mm") -> Iterator[Finding]:
    """Peaks and heat of the start on the new taps; told in ``units``, those of the papers. Nothing is judged where the
    job has no car to run: its papers then say NOT CHECKED."""
    if after is None:
        return
    run = after.run
    if run.peak_a and peak_a is not None:
        name, worst_a = max(run.peak_a.items(), key=lambda item: item[1])
        allowed_a = peak_a * (1.0 + tolerance)
        verdict = Verdict.HOLDS if worst_a <= allowed_a * (1.0 + _EPS) else Verdict.FAILS
        why = f"{worst_a:.1f} A per motor on notch {name}; with the notch tolerance {allowed_a:.1f} A allowed"
        yield Finding("peak current on the new taps, as run", verdict, why)
    yield from run.beside
    if not run.heated and run.without == NO_CAR:
        return
    if not run.heated:
        lacking = run.without.removeprefix(f"{OHMS_ONLY}: ")
        yield Finding("heat on the new taps", Verdict.NOT_SHOWN, f"{OHMS_ONLY}: {lacking}", HEAT_NEEDS)
        return
    for row in _hottest_of_each(deciding(run.heat)):
        reached = "runs away" if row.runs_away else show(row.hot_c, "temperature", units=units)
        limit = show(row.limit_c, "temperature", units=units)
        why = f"{reached} at the worst end, limit {limit} ({row.case})"
        fails = row.best_c is None or row.best_c > row.limit_c
        verdict = Verdict.HOLDS if row.margin_k >= 0.0 else Verdict.FAILS if fails else Verdict.NOT_SHOWN
        yield Finding(f"section {row.section}, {row.case}", verdict, why)


def _hottest_of_each(rows: Iterable[HeatRow]) -> Iterable[HeatRow]:
    """The row of least margin of each section in each case: the finding's name is then the same at every end."""
    worst: dict[tuple[str, str], HeatRow] = {}
    for row in rows:
        key = (row.section, row.case)
        worst[key] = min(worst.get(key, row), row, key=lambda one: one.margin_k)
    return worst.values()


HEAT_NEEDS = "Give the job [line] [car] [motor] [start] [duty] [boxes], and a [[plate]] with its shape for every kind."


def standing_words(found: AsFound, before: Tapping | None) -> Iterator[str]:
    """Plates that stand in a box without being in circuit today, and notches that draw no current."""
    if before is None:
        return
    carrying = {number for one in before.sections for number in one.plates}
    idle = [
        number
        for number, plate in enumerate(found.plates.plates, start=1)
        if number not in carrying and plate.state in ("in circuit", "cracked")
    ]
    if idle:
        yield f"Today {len(idle)} sound plates stand outside the taps and carry nothing: {_runs(found, idle)}."
    opened = [notch.name for notch in before.notches if notch.open]
    if opened:
        yield f"Today no current flows on notch {', '.join(opened)}: a dead plate opens the circuit."


def _runs(found: AsFound, numbers: Iterable[int]) -> str:
    """Plates as runs in words."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = (
        found.place(run[0]) if len(run) == 1 else f"{found.place(run[0])} to {found.place(run[-1])}" for run in runs[:4]
    )
    return "; ".join(words) + ("; …" if len(runs) > 4 else "")


def _ohm(value: float, digits: int = 4) -> str:
    return show(value, "resistance", digits=digits) if value != float("inf") else "open"


def _signed_ohm(value: float) -> str:
    return ("+" if value >= 0.0 else "−") + _ohm(abs(value), 2)
