"""Changes of grouping in a job file: ``transition`` of ``[start]``, or of the notch it leads to."""

from itertools import pairwise
from typing import get_args

from griddesign.grid.circuit import names
from griddesign.grid.records import Run
from griddesign.job.part import Part
from griddesign.job.wires import read_common, read_strings
from griddesign.traction.halves import unfit
from griddesign.traction.records import Notch, Start, Transition, TransitionKind

KINDS: tuple[TransitionKind, ...] = get_args(TransitionKind)
_OWN = 'Give this notch its own: transition = { kind = "power off", seconds = "…" }.'
_WRITE = {
    "one motor shorted": 'Write the circuit that carries the motor left running: circuit = ["C", "D"].',
    "bridge": 'Write the grid of each half: strings = [["A"], ["B"]].',
}


def read_transition(part: Part) -> Transition | None:
    """The ``transition`` table of a part, where there is one."""
    inner = part.table("transition")
    if inner is None:
        return None
    kind = inner.choice("kind", KINDS, "power off")
    seconds = inner.quantity("seconds", "time", example="0.6 s", above=None, least=0.0)
    common, strings = read_common(inner), read_strings(inner)
    inner.close()
    circuits = _circuits(inner, kind, common, strings)
    return None if kind is None or seconds is None or circuits is None else Transition(kind, seconds, circuits)


def _circuits(
    inner: Part, kind: TransitionKind | None, common: Run | None, strings: tuple[Run, ...] | None
) -> tuple[Run, ...] | None:
    """The circuits the kind asks for; None after a complaint."""
    if kind == "power off":
        for name, given in (("circuit", common), ("strings", strings)):
            if given is not None:
                inner.complain(name, "nothing carries current with the power off", "Drop it, or name another kind.")
        return ()
    wanted = ("circuit", "strings") if kind == "one motor shorted" else ("strings", "circuit")
    if inner.has(wanted[1]):
        inner.complain(wanted[1], f"is not what {kind} takes", _WRITE[str(kind)])
        return None
    if not inner.has(wanted[0]):
        inner.complain(wanted[0], "is missing", _WRITE[str(kind)])
        return None
    if kind == "one motor shorted":
        return None if common is None else (common,)
    if strings is not None and (len(strings) != 2 or not all(run.parts for run in strings)):
        inner.complain("strings", f"{len(strings)} circuits, or an empty one", _WRITE["bridge"])
        return None
    return strings


def check_transitions(whole: Part, start: Start | None, notches: tuple[Notch, ...], order: tuple[str, ...]) -> None:
    """Complain about transitions that halve nothing, name strange sections, or lead to no other grouping."""
    for index, (before, after) in enumerate(pairwise(notches), start=1):
        key, label = ("notch", index), f"notch.{after.name}.transition"
        if not _regrouped(before, after):
            if after.transition is not None:
                whole.notebook.complain(key, label, "the motors are grouped as on the notch before", "Drop it.")
            continue
        how, own = after.transition or (start.transition if start else None), after.transition is not None
        if how is not None:
            _check_one(whole, (key, label) if own else (("start", "transition"), "start.transition"), how, order)
            _check_halves(whole, key, before, after, how)
    if notches and notches[0].transition is not None:
        name = f"notch.{notches[0].name}.transition"
        whole.notebook.complain(("notch", 0), name, "there is no notch before the first", "Drop it.")


def _regrouped(before: Notch, after: Notch) -> bool:
    """Whether the motors are grouped anew."""
    if before.network is None and after.network is None:
        return before.grouping != after.grouping
    from griddesign.traction.runup.changing import regrouped

    return regrouped(before, after)


def _check_one(whole: Part, place: tuple[tuple[str | int, ...], str], how: Transition, order: tuple[str, ...]) -> None:
    strange = [name for run in how.circuits for name in names(run) if name not in order]
    known = {complaint.message for complaint in whole.notebook.complaints}
    for name in dict.fromkeys(strange):
        message = f"section {name} of the transition is not known"
        if message not in known:
            whole.notebook.complain(*place, message, f"Known: {', '.join(order) or 'none'}.")


def _check_halves(whole: Part, key: tuple[str | int, ...], before: Notch, after: Notch, how: Transition) -> None:
    why = "" if how.kind == "power off" else unfit(before, after, how.kind)
    if why:
        whole.notebook.complain(key, f"notch.{after.name}", why, _OWN)
