"""Between two groupings of the motors: what stays in circuit, by the kind of transition."""

from collections.abc import Sequence

from griddesign.errors import CircuitError
from griddesign.grid.circuit import names
from griddesign.traction.halves import unfit
from griddesign.traction.problem import String, strings_of
from griddesign.traction.records import Notch, Transition
from griddesign.traction.runup.records import TRANSITION
from griddesign.traction.runup.wiring import Drive, Wired, assembled


def regrouped(before: Notch, after: Notch) -> bool:
    """Whether the motors are grouped anew; of a network, whether they hang together otherwise between line and ground
    with all grids and resistors left out of sight."""
    if before.network is None and after.network is None:
        return before.grouping != after.grouping
    from griddesign.traction.runup.networked import arrangement_of

    return arrangement_of(before) != arrangement_of(after)


def transition_name(before: Notch, after: Notch) -> str:
    """How the row of a transition is called."""
    return f"{TRANSITION}{before.name}-{after.name}"


def between(before: Notch, after: Notch, how: Transition, sections: Sequence[str], drive: Drive) -> Wired | None:
    """What carries current in the transition; None where the power is off.

    With one motor shorted the first half of every string that ``before`` has runs on through ``how.circuits[0]``. A
    bridge has two halves; with a motor cut out there is nothing to bridge and the power is taken to be off, as it is
    where the half that runs on is cut out. Fields are those of ``before``.

    Raises CircuitError where the groupings are not halved, or the circuits do not fit.
    """
    if how.kind == "power off":
        return None
    _check(before, after, how)
    halves = _halves(before)
    if how.kind == "one motor shorted":
        kept = tuple(string for string, _ in halves if string)
        if not kept:
            return None
        return assembled(
            transition_name(before, after),
            drive.branches(kept, before, together=True),
            "common",
            how.circuits,
            sections,
        )
    if before.out:
        return None
    return _bridge(before, after, how, sections, drive)


def _bridge(before: Notch, after: Notch, how: Transition, sections: Sequence[str], drive: Drive) -> Wired:
    halves = _halves(before)
    groups = [drive.branches(tuple(pair[half] for pair in halves), before, together=True) for half in (0, 1)]
    if any(len(group) > 1 for group in groups):
        raise CircuitError(
            f"notch {after.name}: a bridge of several strings with unlike motors side by side is not worked out",
            hint="Take the motors of each half alike, or another kind of transition.",
        )
    name = transition_name(before, after)
    return assembled(name, tuple(group[0] for group in groups), "bridge", how.circuits, sections)


def _halves(notch: Notch) -> list[tuple[String, String]]:
    """First and second half of every string, without the motors cut out."""
    strings = strings_of(notch)
    if notch.network is not None:
        from griddesign.traction.network.strings import strings_in

        strings = strings_in(notch.network) or ()
    middle = len(strings[0]) // 2
    return [(_kept(string[:middle], notch), _kept(string[middle:], notch)) for string in strings]


def _kept(string: String, notch: Notch) -> String:
    return tuple(number for number in string if number not in notch.out)


def _check(before: Notch, after: Notch, how: Transition) -> None:
    why = unfit(before, after, how.kind)
    if why:
        hint = 'Write kind = "power off" for this change, or give its steps as notches of the chart.'
        raise CircuitError(f"notch {after.name}: a transition with {why}", hint=hint)
    wanted = 1 if how.kind == "one motor shorted" else 2
    if len(how.circuits) != wanted:
        raise CircuitError(
            f"notch {after.name}: a transition with {how.kind} needs {wanted} circuit{'s' * (wanted > 1)}, "
            f"{len(how.circuits)} given",
            hint='Write circuit = ["C"] for one motor shorted, strings = [["A"], ["B"]] for a bridge.',
        )
    if wanted == 2:
        _check_bridge(after, how)


def _check_bridge(after: Notch, how: Transition) -> None:
    first, second = (set(names(run)) for run in how.circuits)
    if not first or not second:
        raise CircuitError(
            f"notch {after.name}: a bridge without a grid beside a motor shorts it",
            hint='Give each half its own sections: strings = [["A"], ["B"]].',
        )
    if first & second:
        raise CircuitError(
            f"notch {after.name}: section {min(first & second)} cannot lie in both arms of a bridge",
            hint="Give each half its own sections.",
        )
