"""A plate has burnt through and the car is wanted: what can be done tonight, ranked, the car left standing first.

Each way is a change to plates or taps; its notches, peaks, heat and holds are then worked out as for any taps. Ways
that hold come first, then those nobody can show safe, then those that fail; within each the least error of any notch.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, permutations
from math import inf

from griddesign.errors import GriddesignError
from griddesign.found.records import AsFound
from griddesign.found.tapped import TappedSection, section, spans_between
from griddesign.judge.finding import Verdict
from griddesign.judge.heat_cases import deciding
from griddesign.judge.retapping.bank import OHMS_ONLY
from griddesign.judge.retapping.records import Option, Tapping
from griddesign.judge.retapping.targets import SpareOfJob, notches_at
from griddesign.progress import at
from griddesign.retaps.records import Answer, PlateAtHand, PlatesAtHand, Question
from griddesign.units import show, show_change, show_cold

Search = Callable[[Question], Answer]
Tap = Callable[[PlatesAtHand, Sequence[tuple[str, int]], Sequence[TappedSection]], Tapping]

PATCH_OHM = 0.5e-3
"""What a bolted patch is taken to add, two clamped faces more (ours, no source)."""
PATCH_DOUBT_OHM = 0.5e-3
MOST_SPARES_TRIED = 2_000
STANDING = "Leave the car standing"
_EPS = 1e-9


@dataclass(frozen=True)
class Night:
    """What there is to work with: the plates found, today's taps, spares, what a patch adds (None: our figure), and
    the units of the papers."""

    found: AsFound
    question: Question
    spares: tuple[SpareOfJob, ...]
    patch_ohm: float | None
    highest_peak_a: float | None
    search: Search
    tap: Tap
    units: str = "mm"

    @property
    def dead(self) -> tuple[int, ...]:
        """Numbers of the dead plates that stand between today's taps."""
        spans = spans_between(self.question.section_order, self.question.rules.present)
        return tuple(
            number
            for number, plate in enumerate(self.found.plates.plates, start=1)
            if plate.state == "dead" and any(begin < number <= end for _, begin, end in spans)
        )


def options(night: Night) -> tuple[Option, ...]:
    """Every way there is; none where no dead plate stands in a section."""
    if not night.dead:
        return ()
    builders = (_jump, _jump_and_move, _spares, _spare_boxes, _patch)
    ways: list[Option] = []
    for number, build in enumerate(builders, start=1):
        at(f"ways of tonight, {number} of {len(builders)}: {_WORDS[number - 1]}")
        ways += build(night)
    return (_standing(night), *sorted(ways, key=rank))


_WORDS = ("a jumper", "a jumper and a tap moved", "a spare plate", "a spare box", "a patch")
_ORDER = {Verdict.HOLDS: 0, Verdict.NOT_SHOWN: 1, Verdict.FAILS: 2}


def rank(way: Option) -> tuple[int, float]:
    """What comes first: ways that hold, then by the greatest error of any notch."""
    return _ORDER[way.verdict], way.tapping.worst if way.tapping else inf


def _places(night: Night, numbers: Sequence[int]) -> str:
    return " and ".join(night.found.place(number) for number in numbers)


def _standing(night: Night) -> Option:
    """Nothing is done. What the notches would do is what they do now."""
    now = night.tap(
        night.found.plates, tuple(night.question.rules.present.items()), _sections(night, night.found.plates)
    )
    opened = [notch.name for notch in now.notches if notch.open]
    left = f"as it stands no current flows on notch {', '.join(opened)}" if opened else "a plate beside it carries all"
    steps = ("Do nothing tonight; order or cast the plate, and mend the box in daylight.",)
    return Option(STANDING, steps, now, Verdict.HOLDS, f"nothing can burn; {left}")


def _sections(
    night: Night, plates: PlatesAtHand, taps: Mapping[str, int] | None = None, jumped: Sequence[int] = ()
) -> tuple[TappedSection, ...]:
    spans = spans_between(night.question.section_order, taps or night.question.rules.present)
    return tuple(
        section(plates, name, begin, end, frozenset(number for number in jumped if begin < number <= end))
        for name, begin, end in spans
    )


def _judged(
    night: Night,
    name: str,
    steps: Sequence[str],
    tapping: Tapping,
    notes: Sequence[str] = (),
    fitted: Sequence[int] = (),
) -> Option:
    """The way with its verdict: notches within tolerance, peaks within the asked, heat within its limits."""
    tolerance = {target.name: target.tolerance for target in night.question.targets}
    off = [notch for notch in tapping.notches if abs(notch.error) > tolerance[notch.name] * (1.0 + _EPS)]
    failing = [f"notch {one.name} current {_percent(one.error)}" for one in off]
    failing += list(_too_high(night, tapping, max(tolerance.values(), default=0.0)))
    unsure = [
        f"notch {one.name} {_percent(one.error_low)} to {_percent(one.error_high)} by what the readings may be off"
        for one in tapping.notches
        if max(abs(one.error_low), abs(one.error_high)) > tolerance[one.name] * (1.0 + _EPS)
    ]
    unsure += [words for words, fails in _too_hot(tapping) if not fails]
    failing += [words for words, fails in _too_hot(tapping) if fails]
    beside = tapping.run.beside
    failing += [f"{one.item}: {one.why}" for one in beside if one.verdict is Verdict.FAILS]
    unsure += [f"{one.item}: {one.why}" for one in beside if one.verdict is Verdict.NOT_SHOWN]
    lacking = tapping.run.without
    if failing:
        verdict, why = Verdict.FAILS, "; ".join(failing)
    elif unsure:
        verdict, why = Verdict.NOT_SHOWN, "; ".join(unsure)
    elif not tapping.run.heated:
        verdict, why = Verdict.NOT_SHOWN, lacking if lacking.startswith(OHMS_ONLY) else f"{OHMS_ONLY}: {lacking}"
    else:
        verdict, why = Verdict.HOLDS, "notches, peaks and heat within their limits"
    if failing and not tapping.run.heated:
        why += f"; {OHMS_ONLY}"
    moved = tuple(
        (tap, night.question.rules.present[tap], joint)
        for tap, joint in tapping.taps
        if night.question.rules.present.get(tap, joint) != joint
    )
    return Option(name, tuple(steps), tapping, verdict, why, tuple(notes), moved, tuple(fitted))


def _percent(share: float) -> str:
    return "none" if share == -1.0 else show_change(share)


def _too_high(night: Night, tapping: Tapping, tolerance: float) -> Iterator[str]:
    allowed_a = None if night.highest_peak_a is None else night.highest_peak_a * (1.0 + tolerance)
    for name, peak_a in tapping.run.peak_a.items():
        if allowed_a is not None and peak_a > allowed_a * (1.0 + _EPS):
            yield f"notch {name} peaks at {peak_a:.0f} A per motor, {allowed_a:.0f} A allowed"


def _too_hot(tapping: Tapping) -> Iterator[tuple[str, bool]]:
    """The hottest part over its limit, and whether it is so with the figures as given too."""
    hot = [row for row in deciding(tapping.run.heat) if row.margin_k < 0.0]
    if hot:
        worst = min(hot, key=lambda row: row.margin_k)
        reached = "runs away" if worst.runs_away else f"{worst.hot_c:.0f} degC"
        fails = worst.best_c is None or worst.best_c > worst.limit_c
        yield f"{worst.section}: {reached} at the worst end, limit {worst.limit_c:.0f} degC ({worst.case})", fails


# --- the ways --------------------------------------------------------------------------------------------------------


def _jump(night: Night) -> Iterator[Option]:
    plates, taps = night.found.plates, tuple(night.question.rules.present.items())
    sections = _sections(night, plates, jumped=night.dead)
    name = f"Jump {_places(night, night.dead)}"
    yield _judged(night, name, (_jumper(night),), night.tap(plates, taps, sections), (JUMPER_NOTE,))


JUMPER_NOTE = (
    "The jumper carries the whole current of the section: bare, of a lead's section at least, nothing flammable near."
)


def _jumper(night: Night) -> str:
    return f"Bolt a jumper from joint to joint over {_places(night, night.dead)}: it then carries nothing."


def _jump_and_move(night: Night) -> Iterator[Option]:
    """The best that one tap moved can do beside the jumper; none where the job lets no tap move."""
    asked = night.question.rules
    if asked.most_moves == 0:
        return
    rules = replace(asked, most_moves=1, may_jump=True, may_swap=False, spares=())
    try:
        answer = night.search(replace(night.question, rules=rules))
    except GriddesignError:
        return
    if not answer.moved:
        return
    sections = tuple(
        section(night.found.plates, one.section, one.from_joint, one.to_joint, frozenset(one.jumped))
        for one in answer.spans
    )
    tapping = night.tap(night.found.plates, answer.taps, sections)
    bridged = [number for one in sections for number in one.jumped]
    steps = [_jumper(night)] if bridged else []
    moved = [(name, night.question.rules.present.get(name), joint) for name, joint in answer.taps]
    steps += [
        f"Move tap {name} from after plate {was} to after plate {joint} (counted through the grid)."
        for name, was, joint in moved
        if was is not None and was != joint
    ]
    name = f"{'Jump ' + _places(night, bridged) + ' and move' if bridged else 'Move'} tap {answer.moved[0]}"
    yield _judged(night, name, steps, tapping, (JUMPER_NOTE,) if bridged else ())


def _spares(night: Night) -> Iterator[Option]:
    """A spare in the place of every dead plate: of all ways to do so the one with the least error."""
    dead, spares = night.dead, tuple(spare for spare in night.spares if spare.plates == 1)
    if len(spares) < len(dead):
        return
    tried = islice(permutations(spares, len(dead)), MOST_SPARES_TRIED)
    chosen = min(tried, key=lambda one: _worst_cold(night, _with_spares(night, one)))
    plates = _with_spares(night, chosen)
    taps = tuple(night.question.rules.present.items())
    steps = [
        f"Take out {night.found.place(number)} and fit spare {spare.name}, {show(spare.ohm, 'resistance')} at "
        f"{show_cold(night.units)}."
        for number, spare in zip(dead, chosen, strict=True)
    ]
    kinds = {number: night.found.plates.plates[number - 1].kind for number in dead}
    notes = [
        f"Spare {spare.name} is of kind {spare.kind}, the plate was {kinds[number]}: check eyes, height and thickness."
        for number, spare in zip(dead, chosen, strict=True)
        if spare.kind != kinds[number]
    ]
    name = f"Fit spare {' and '.join(spare.name for spare in chosen)} at {_places(night, dead)}"
    yield _judged(night, name, steps, night.tap(plates, taps, _sections(night, plates)), notes, dead)


def _worst_cold(night: Night, plates: PlatesAtHand) -> float:
    """Greatest error of any notch on today's taps."""
    rows = notches_at(night.question.targets, _sections(night, plates))
    return max((abs(row.error) for row in rows), default=0.0)


def _with_spares(night: Night, chosen: Sequence[SpareOfJob]) -> PlatesAtHand:
    changed = {
        number: replace(
            night.found.plates.plates[number - 1],
            kind=spare.kind,
            ohm=spare.ohm,
            half_width_ohm=spare.half_width_ohm,
            state="in circuit",
            current_a=spare.current_a,
        )
        for number, spare in zip(night.dead, chosen, strict=True)
    }
    return _changed(night.found.plates, changed)


def _changed(plates: PlatesAtHand, changed: Mapping[int, PlateAtHand]) -> PlatesAtHand:
    numbered = enumerate(plates.plates, start=1)
    return PlatesAtHand(tuple(changed.get(number, plate) for number, plate in numbered), plates.joint_ohm)


def _spare_boxes(night: Night) -> Iterator[Option]:
    """A spare box of as many plates in the place of the one box with the dead plates."""
    boxes = {night.found.plates.plates[number - 1].box for number in night.dead}
    if len(boxes) != 1:
        return
    box = boxes.pop()
    numbers = [number for number, plate in enumerate(night.found.plates.plates, start=1) if plate.box == box]
    for spare in night.spares:
        if spare.plates == len(numbers):
            changed = {
                number: replace(
                    night.found.plates.plates[number - 1], kind=spare.kind, ohm=spare.ohm,
                    half_width_ohm=spare.half_width_ohm, state="in circuit", current_a=spare.current_a,
                    joined=0,
                )
                for number in numbers
            }  # fmt: skip
            plates = _changed(night.found.plates, changed)
            taps = tuple(night.question.rules.present.items())
            steps = (f"Take out box {box} and hang spare box {spare.name} the same way round; move its leads across.",)
            notes = ("Its plates are taken as alike and one by one; measure it before it goes in.",)
            name = f"Hang spare box {spare.name} in the place of box {box}"
            yield _judged(night, name, steps, night.tap(plates, taps, _sections(night, plates)), notes, numbers)


def _patch(night: Night) -> Iterator[Option]:
    """A patch bolted across the break, only where every dead plate broke at a return bend."""
    rows = [night.found.rows[number - 1] for number in night.dead]
    if any(row.broken_at != "return bend" for row in rows):
        return
    added = PATCH_OHM if night.patch_ohm is None else night.patch_ohm
    changed = {}
    for number in night.dead:
        plate = night.found.plates.plates[number - 1]
        known = night.found.kinds[plate.kind]
        doubt = known.share * known.ohm + PATCH_DOUBT_OHM
        changed[number] = replace(plate, ohm=known.ohm + added, half_width_ohm=doubt, state="in circuit")
    plates = _changed(night.found.plates, changed)
    taps = tuple(night.question.rules.present.items())
    said = "assumed" if night.patch_ohm is None else "given"
    notes = (
        f"{'≈ ' if said == 'assumed' else ''}The patch adds {1e3 * added:.2g} mΩ ({said}); the plate is taken as its "
        "kind. The heat of the patch itself is not worked out: look at it after the first starts, grid isolated.",
        "The rods stay closed: a patch moves nothing in the stack.",
    )
    name = f"Patch across the broken return bend, {_places(night, night.dead)}"
    steps = (
        f"Bolt a plate of iron or steel as thick as the strip across the broken return bend of "
        f"{_places(night, night.dead)}, bright metal on both sides; measure it cold.",
    )
    yield _judged(night, name, steps, night.tap(plates, taps, _sections(night, plates)), notes)


def not_offered(night: Night) -> tuple[str, ...]:
    """Ways that are left out, and why."""
    if not night.dead:
        return ()
    said = []
    if any(night.found.rows[number - 1].broken_at != "return bend" for number in night.dead):
        said.append("No patch is offered: it goes across a return bend only, and no row says that it broke there.")
    single = sum(spare.plates == 1 for spare in night.spares)
    if single < len(night.dead):
        said.append(f"No spare plate is offered: [[retap.spare]] lists {single}, {len(night.dead)} needed.")
    return tuple(said)
