"""From a job and a CSV of plates to everything ``griddesign retap`` tells."""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from math import inf
from pathlib import Path

from griddesign import __version__
from griddesign.choose.from_job import MOST_ROUNDS, SAME_RATIO, Worked, wanted_of
from griddesign.errors import InputError
from griddesign.found.as_found import as_found
from griddesign.found.records import AsFound
from griddesign.found.tapped import TappedSection, present_taps, section, section_ohms, spans_between, tapped
from griddesign.job.plates_reading import read_places, read_plates_at_hand
from griddesign.job.records import Job
from griddesign.job.retap import RetapGiven
from griddesign.judge.contacts import chart_remarks, judge_chart
from griddesign.judge.faults.found import faults_on_taps
from griddesign.judge.finding import Finding
from griddesign.judge.findings import judge_starter
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.limits import not_checked
from griddesign.judge.retapping import findings as judged
from griddesign.judge.retapping.bank import hot_ratios_on, run_on
from griddesign.judge.retapping.cure import cures
from griddesign.judge.retapping.ends import TapsAtEnds
from griddesign.judge.retapping.records import Cure, Option, RetapResult, Tapping
from griddesign.judge.retapping.targets import notches_at, question_of, spares_of
from griddesign.judge.retapping.tonight import Night, Search, not_offered, options, rank
from griddesign.judge.start_findings import run_not_checked
from griddesign.progress import at
from griddesign.retaps.board import KEEPS
from griddesign.retaps.records import Answer, PlatesAtHand, Question
from griddesign.telling import stage, tell

TIME_LIMIT_S = 3.0
NO_EXCHANGE = (
    "the best exchanges found shift heat, and with it the ohms wanted, until the notches lie further off: none is made"
)
NOT_SETTLED = "Wanted ohms and taps did not settle on each other: the hot ohms of the last round stand."


@stage("plates reconciled, taps sought")
def retap_of(job: Job, plates_csv: Path, search: Search | None = None) -> RetapResult:
    """New taps for the plates of a file. ``search``: what finds them, else ``retaps.best``.

    Raises JobError where the file cannot be read, InputError where the job lacks notches or its taps are nowhere.
    """
    if not job.notches:
        raise InputError("the job has no [[notch]]", hint="Write a starter: griddesign new FILE --for retap.")
    found = as_found(job, read_plates_at_hand(plates_csv, _tap_joints(job, plates_csv)))
    return _with_hot_ohms(job, plates_csv, found, search or searching(TIME_LIMIT_S)).result()


def _with_hot_ohms(job: Job, plates_csv: Path, found: AsFound, search: Search) -> "_Retap":
    """The taps alone, settled; then, where plates may be exchanged, with exchanges from there on.

    Exchanges move taps, taps the heat of a section, heat the ohms wanted: what settles in the end may lie further off
    than the taps alone do. Then those stand.
    """
    given = job.retap
    if given is None or not (given.swap or given.use_spares):
        return _settled(job, plates_csv, found, search, {})
    plain = _settled(job, plates_csv, found, lambda question: search(without_exchanges(question)), {})
    whole = _settled(job, plates_csv, found, search, plain.worked.hot_ratio)
    if _standing(whole) <= _standing(plain):
        return whole
    plain.keep_without_exchanges()
    return plain


def without_exchanges(question: Question) -> Question:
    """The same question of taps alone."""
    return replace(question, rules=replace(question.rules, may_swap=False, spares=()))


def _standing(one: "_Retap") -> tuple[bool, float]:
    """What makes one better than another: every notch within its tolerance, then what the search made least."""
    answer, _ = one.answer
    if answer is None:
        return True, inf
    within = zip(answer.errors, one.question.targets, strict=True)
    return any(abs(error) > target.tolerance + KEEPS for error, target in within), answer.reached


def _settled(job: Job, plates_csv: Path, found: AsFound, search: Search, allowed: Mapping[str, float]) -> "_Retap":
    """Wanted ohms that allow for how hot a dropped section is on the very taps they lead to.

    From the ratios ``allowed``, or those of today's taps, round after round half-way towards those of the taps found
    last, until no section comes out hotter or cooler by 1 per cent of its ohms. Where they do not settle that is said;
    the start as run on the taps in the end judges them in any case.
    """
    fresh = not allowed
    for number in range(MOST_ROUNDS):
        at(f"wanted ohms and best taps, round {number + 1}")
        worked = Worked(wanted_of(job, allowed), None, None, allowed)
        one = _Retap(job, plates_csv, found, worked, question_of(job, worked.wanted, found), search)
        ratios = one.hot_ratios_today() if fresh and number == 0 else {}
        ratios = ratios or one.hot_ratios()
        if all(abs(ratio - allowed.get(name, 1.0)) <= SAME_RATIO for name, ratio in ratios.items()):
            return one
        _tell_round(number + 1, ratios)
        allowed = {name: (ratio + allowed.get(name, ratio)) / 2.0 for name, ratio in ratios.items()}
    one.worked = replace(one.worked, settled=False)
    return one


def _tell_round(number: int, ratios: Mapping[str, float]) -> None:
    tell(lambda: f"round {number}: sections come to {_by_name(ratios)} times cold, not as allowed for")


def _by_name(ratios: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {ratio:.4g}" for name, ratio in ratios.items())


def searching(time_limit_s: float) -> Search:
    """The exact search with so many seconds for its proof."""

    def search(question: Question) -> Answer:
        from griddesign.retaps.best import best_taps

        return best_taps(question, time_limit_s=time_limit_s)

    return search


def _tap_joints(job: Job, plates_csv: Path) -> dict[str, int]:
    """Joints of the taps that a reading may name: those counted through the grid, and those in a box.

    The latter need the rows themselves, which are read once without them.
    """
    if job.retap is None or not job.retap.taps:
        return {}
    through = {name: joint.plate for name, joint in job.retap.taps.items() if joint.box is None}
    if len(through) == len(job.retap.taps):
        return {name: plate for name, plate in through.items() if plate is not None}
    return present_taps(job.retap, read_places(plates_csv))


class _Retap:
    """One retap being worked out."""

    def __init__(
        self, job: Job, path: Path, found: AsFound, worked: Worked, question: Question, search: Search
    ) -> None:
        self.job, self.path, self.found, self.worked = job, path, found, worked
        self.question, self.search = question, search
        self.tapped: dict[tuple[Hashable, ...], Tapping] = {}

    def result(self) -> RetapResult:
        """All of it."""
        job, question = self.job, self.question
        at("the start on today's taps, then on the new ones")
        before = self._today()
        answer, no_answer = self.answer
        after = None if answer is None else self._after(answer)
        cure, cured = self._cures(after)
        night = self._night()
        wanted_ohm = {notch.name: notch.wanted_ohm for notch in self.worked.wanted.notches}
        heated, ends = after is not None and after.run.heated, self.at_ends.of(after)
        found = tuple(self._findings(after, no_answer, wanted_ohm))
        return RetapResult(
            job=job,
            version=__version__,
            fingerprint=fingerprint((*job.files, self.path), job.asked),
            found=self.found,
            worked=self.worked,
            question=question,
            wanted_ohm=wanted_ohm,
            before=before,
            answer=answer,
            after=after,
            no_answer=no_answer,
            options=self._options(night) if night else (),
            cures=cure,
            cured=cured,
            findings=ends.settled(found) if ends else found,
            remarks=tuple(self._remarks(before, night)),
            not_checked=(*(run_not_checked(job) if after and after.run.peak_a else ()), *not_checked(job, heated)),
            measure_next=ends.measure_next if ends else (),
            faults=faults_on_taps(job, self.worked, after),
        )

    @cached_property
    def at_ends(self) -> TapsAtEnds:
        """Where sets of taps are tried at both ends of what is not sure."""
        return TapsAtEnds(self.job, self.worked)

    def _findings(self, after: Tapping | None, no_answer: str, wanted_ohm: Mapping[str, float]) -> Iterator[Finding]:
        """Everything judged, with the figures as given."""
        job, question = self.job, self.question
        peak_a, units = job.start.peak_a if job.start else None, job.paper.units
        yield from judged.judge_found(self.found, units)
        yield from judged.judge_taps(question.targets, after, no_answer, wanted_ohm)
        yield from judged.judge_answer(question, self.answer[0])
        yield from judged.judge_run(after, peak_a, job.limits.notch_tolerance, units)
        yield from judge_chart(job)
        yield from judge_starter(job)

    def _options(self, night: Night) -> tuple[Option, ...]:
        """What can be done tonight, each way held at both ends of what is not sure."""
        standing, *ways = options(night) or (None,)
        if standing is None:
            return ()
        return (standing, *sorted(map(self.at_ends.option, ways), key=rank))

    def _remarks(self, before: Tapping | None, night: Night | None) -> Iterator[str]:
        yield from self.found.remarks
        yield from chart_remarks(self.job)
        yield from judged.standing_words(self.found, before)
        yield from self._left_out(night)
        if not self.worked.settled:
            yield NOT_SETTLED

    def _today(self) -> Tapping | None:
        """The controller on today's taps; None where the job gives none."""
        present = self.question.rules.present
        if not present:
            return None
        spans = spans_between(self.question.section_order, present)
        sections = tuple(section(self.found.plates, name, begin, end) for name, begin, end in spans)
        return self.tapping(self.found.plates, tuple(present.items()), sections)

    def hot_ratios(self) -> dict[str, float]:
        """Hot over cold ohms of each section on the best taps; empty where nothing is known of the heat."""
        answer, _ = self.answer
        if answer is None:
            return {}
        plates = rearranged(self.question, answer)
        return hot_ratios_on(self.job, self.worked, plates, tapped(plates, answer.spans))

    def hot_ratios_today(self) -> dict[str, float]:
        """The same on today's taps, dead plates bridged; empty where the job gives none."""
        present = self.question.rules.present
        if not present:
            return {}
        plates = self.found.plates
        dead = frozenset(number for number, one in enumerate(plates.plates, start=1) if one.state == "dead")
        spans = spans_between(self.question.section_order, present)
        return hot_ratios_on(
            self.job, self.worked, plates, [section(plates, name, begin, end, dead) for name, begin, end in spans]
        )

    @cached_property
    def answer(self) -> tuple[Answer | None, str]:
        """The best taps, or why there are none."""
        try:
            return self.search(self.question), ""
        except InputError as error:
            return None, f"{error.message} {error.hint}".strip()

    def keep_without_exchanges(self) -> None:
        """Take the taps alone for the answer, and say why."""
        answer, why = self.answer
        if answer is not None:
            self.answer = replace(answer, bound=0.0, proved=False, note=NO_EXCHANGE), why

    def _after(self, answer: Answer) -> Tapping:
        plates = rearranged(self.question, answer)
        return self.tapping(plates, answer.taps, tapped(plates, answer.spans))

    def tapping(
        self, plates: PlatesAtHand, taps: Sequence[tuple[str, int]], sections: Sequence[TappedSection]
    ) -> Tapping:
        """Notches and start on these sections; worked out once, since one way of tonight may be the best taps."""
        key = (plates, *taps, *sections)
        if key not in self.tapped:
            rows = notches_at(self.question.targets, sections)
            run = run_on(self.job, self.worked, plates, sections)
            self.tapped[key] = Tapping(tuple(taps), tuple(sections), rows, run, plates)
        return self.tapped[key]

    def _cures(self, after: Tapping | None) -> tuple[tuple[Cure, ...], bool]:
        tolerance = self.job.limits.notch_tolerance
        if after is None or after.worst <= tolerance * (1.0 + 1e-9):
            return (), False
        return cures(self.question.targets, section_ohms(after.sections), self.found.plates)

    def _night(self) -> Night | None:
        if not self.question.rules.present:
            return None
        given = self.job.retap or RetapGiven()
        highest_a = self.job.start.peak_a if self.job.start else None
        units = self.job.paper.units
        spares = spares_of(given)
        return Night(self.found, self.question, spares, given.patch_ohm, highest_a, self.search, self.tapping, units)

    def _left_out(self, night: Night | None) -> tuple[str, ...]:
        if night is not None:
            return not_offered(night)
        if any(plate.state == "dead" for plate in self.found.plates.plates):
            return ("Nothing is said of tonight: the job does not give today's taps ([retap] taps).",)
        return ()


def rearranged(question: Question, answer: Answer) -> PlatesAtHand:
    """The plates as the answer has them stand: swapped, and with spares in the place of others."""
    plates = list(question.plates.plates)
    for one, other in answer.swaps:
        first, second = plates[one - 1], plates[other - 1]
        plates[one - 1] = replace(second, box=first.box, position=first.position, joined=first.joined)
        plates[other - 1] = replace(first, box=second.box, position=second.position, joined=second.joined)
    spares = {spare.name: spare for spare in question.rules.spares}
    for name, number in answer.spares:
        spare, old = spares[name], plates[number - 1]
        plates[number - 1] = replace(
            old, kind=spare.kind, ohm=spare.ohm, half_width_ohm=spare.half_width_ohm, state="in circuit",
            current_a=spare.current_a,
        )  # fmt: skip
    return PlatesAtHand(tuple(plates), question.plates.joint_ohm)
