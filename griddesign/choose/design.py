"""From the question to the design: what holds, the aims in order, and the record that goes to paper."""

from collections.abc import Callable
from math import inf
from time import monotonic

import numpy as np

from griddesign.choose.aims import ORDERS, Standing, find, kinds_used, pursue, quick_find, smallest_margin_k
from griddesign.choose.frontier import boxes_used, pack
from griddesign.choose.leaf import Leaf
from griddesign.choose.margins import Margins
from griddesign.choose.network import fixed_error
from griddesign.choose.problem import Choice
from griddesign.choose.records import ChosenKind, Design, NotchGot
from griddesign.choose.space import Space
from griddesign.errors import InputError, OutOfTime
from griddesign.grid.build import build_section, ohms_by_section
from griddesign.grid.circuit import ohms
from griddesign.grid.layout import lay_out, plates_together
from griddesign.grid.records import SectionBuild
from griddesign.grid.taps import taps

_WIDEST_ERROR = 1e6
_EXTRA_SECONDS = 2.0


def choose(choice: Choice) -> Design:
    """The design that is best by the aims in order, with a proof for each aim.

    Constraints first: every heat margin at least zero, every notch within the tolerance, all plates in the boxes. If
    they cannot all be met the design keeps the notches and comes as near to the heat limits as can be; failing that, it
    keeps the heat limits and has the smallest notch error; failing that, the smallest error of all. ``Design.fails``
    then says what fails. Within the time limit the result is exact, plate ohms being continuous; after it, the best
    found with the proven gap in its proofs. Raises InputError where nothing fits into the boxes at all.
    """
    space = Space(choice, monotonic() + choice.time_limit_s)
    _check_room(choice)
    standing = _first_design(space)
    pursue(standing, _order(choice, standing))
    return _record(choice, standing)


def _check_room(choice: Choice) -> None:
    """Raises InputError where even the fewest plates need more boxes than there are."""
    plan, fewest = choice.plan, min(choice.in_parallel)
    room = np.zeros(1, dtype=np.int64)
    steps = np.full(1, choice.step_unit, dtype=np.int64)
    for _ in choice.section_order:
        room = pack(room, steps, fewest, plates_together(fewest, plan.tap_sides), plan.plates_per_box)
    needed = int(boxes_used(room, plan.plates_per_box)[0])
    if needed > plan.boxes:
        plates = choice.step_unit * fewest
        raise InputError(
            f"{len(choice.section_order)} sections of at least {plates} plates do not fit into {plan.boxes} boxes "
            f"of {plan.plates_per_box}",
            hint="Allow more boxes or larger ones, or leads on both sides.",
        )


def _standing(space: Space, error: float, heat_class: float | None) -> Standing:
    kinds = tuple(range(len(space.choice.kinds)))
    margins = Margins(space.choice, space.options)
    return Standing(space, margins, error, heat_class, space.choice.plan.boxes, (kinds,))


def _first_design(space: Space) -> Standing:
    """A first design with the rules it keeps, giving way in the order that ``choose`` states."""
    tolerance = space.choice.tolerance
    tries = ((tolerance, 0.0, tolerance), (tolerance, None, tolerance), (tolerance, 0.0, _WIDEST_ERROR))
    for error, heat_class, widest in (*tries, (tolerance, None, _WIDEST_ERROR)):
        standing = _standing(space, error, heat_class)
        try:
            standing.best = _widen(standing, widest)
        except OutOfTime:
            return _hasty_design(space)
        if standing.best is not None:
            return standing
    raise InputError("no grid could be made of these plates", hint="Check the plate ohms against the ohms wanted.")


def _widen(standing: Standing, widest: float, search: Callable[[Standing], Leaf | None] = find) -> Leaf | None:
    """The first design as the tolerance doubles up to ``widest``."""
    while True:
        leaf = search(standing)
        if leaf is not None or standing.error >= widest:
            return leaf
        standing.error *= 2.0


def _hasty_design(space: Space) -> Standing:
    """Some design although the time is up, by narrow searches with the tolerance doubling."""
    space.deadline = monotonic() + _EXTRA_SECONDS
    standing = _standing(space, space.choice.tolerance, None)
    try:
        standing.best = _widen(standing, _WIDEST_ERROR, quick_find)
    except OutOfTime:
        standing.best = None
    if standing.best is None:
        raise InputError("the time limit passed before any design was found", hint="Allow more time.")
    space.deadline = monotonic()
    return standing


def _order(choice: Choice, standing: Standing) -> tuple[str, ...]:
    """The aims in order; what is already failing is mended first."""
    order = ORDERS[choice.prefer]
    first = []
    if standing.error > choice.tolerance:
        first.append("error")
    if standing.heat_class is None and standing.margins.known():
        first.append("margin")
    return (*first, *(aim for aim in order if aim not in first))


def _record(choice: Choice, standing: Standing) -> Design:
    leaf = standing.found()
    sections = _sections(standing.space, leaf)
    layout = lay_out(sections, choice.plan)
    return Design(
        sections,
        _kinds(choice, standing.space, leaf),
        taps(layout, choice.breaks),
        _notches(choice, sections),
        layout.boxes,
        tuple(standing.proofs),
        _fails(choice, standing, leaf),
    )


def _sections(space: Space, leaf: Leaf) -> tuple[SectionBuild, ...]:
    built = []
    for name, option, steps in zip(space.order, leaf.option, leaf.steps, strict=True):
        way = space.options[option]
        kind = space.choice.kinds[way.kind].name
        plate_ohm = leaf.plate_ohm[way.kind]
        built.append(build_section(name, kind, steps, way.in_parallel, plate_ohm=plate_ohm, joint_ohm=space.joint_ohm))
    return tuple(built)


def _kinds(choice: Choice, space: Space, leaf: Leaf) -> tuple[ChosenKind, ...]:
    used = [(choice.kinds[kind].name, leaf.plate_ohm[kind]) for kind in kinds_used(space, leaf)]
    return tuple(ChosenKind(name, choice.shape_for(name, ohm), ohm) for name, ohm in used)


def _notches(choice: Choice, sections: tuple[SectionBuild, ...]) -> tuple[NotchGot, ...]:
    section_ohm = ohms_by_section(sections)
    got = [(notch, ohms(notch.circuit, section_ohm)) for notch in choice.notches]
    return tuple(NotchGot(notch.name, notch.wanted_ohm, cold, notch.error(cold)) for notch, cold in got)


def _fails(choice: Choice, standing: Standing, leaf: Leaf) -> tuple[str, ...]:
    fails = []
    margin_k = smallest_margin_k(standing.space, standing.margins, leaf)
    if margin_k < 0.0:
        fails.append(f"heat: the smallest margin is {margin_k:.0f} K")
    worst = max(leaf.error, fixed_error(choice))
    if worst > choice.tolerance * (1.0 + 1e-9):
        shown = "without limit" if worst == inf else f"{100.0 * worst:.2f} %"
        fails.append(f"notches: the worst error is {shown}, the tolerance {100.0 * choice.tolerance:g} %")
    return tuple(fails)
