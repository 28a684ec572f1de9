"""A notch that is a network with motors cut out, or with sections bridged whole."""

from collections.abc import Iterable
from dataclasses import replace

from griddesign.errors import CircuitError, NoStartError
from griddesign.grid.contacts.changed import Left, changed, without_motors
from griddesign.grid.contacts.general import NoNetworkError, brakes
from griddesign.traction.records import Notch

NOTHING_PULLS = "no motor is left in circuit"


def left_of(notch: Notch) -> Left:
    """What ``notch.out`` leaves of its network; none where no motor is left in circuit. Raises NoStartError where that
    closes the armature of a motor that stays on itself, or turns such a motor round."""
    assert notch.network is not None
    left, _ = _cut(notch)
    if left.brakes:
        raise NoStartError(f"notch {notch.name}: {brakes(left.brakes)}", hint="Cut out another motor.")
    return left if left.network is not None and left.network.motors else replace(left, network=None)


def cut_words(notches: Iterable[Notch], out: tuple[int, ...]) -> str:
    """What became of the motors cut out (from 0) on the networks, as in: in the networks motor 2 bridged on notch 3;
    motor 2 open on notch 5."""
    became: dict[str, list[str]] = {}
    for notch in notches:
        if notch.network is not None:
            one = replace(notch, out=out)
            words = ", ".join(_cut(one)[1]) or "not in circuit anyway"
            became.setdefault(words if left_of(one).network else f"{NOTHING_PULLS}, passed over", []).append(notch.name)
    told = (f"{words} on notch{'es' * (len(names) > 1)} {', '.join(names)}" for words, names in became.items())
    return f"in the networks {'; '.join(told)}"


def bridged(notch: Notch, sections: Iterable[str]) -> Notch:
    """The notch with these sections joined at their ends. Raises CircuitError where no motor is left in circuit, or
    line and ground are joined, or an armature is closed on itself."""
    assert notch.network is not None
    left = changed(notch.network, bridged=frozenset(sections))
    if left.network is None or left.brakes or not left.network.motors:
        what = "joins line and ground" if left.joined else "leaves no motor in circuit"
        what = f"closes an armature: {brakes(left.brakes)}" if left.brakes else what
        raise CircuitError(
            f"on notch {notch.name} bridging section {', '.join(sections)} whole {what}",
            hint="Leave a plate of it in circuit.",
        )
    return replace(notch, network=left.network)


def _cut(notch: Notch) -> tuple[Left, tuple[str, ...]]:
    assert notch.network is not None
    try:
        return without_motors(notch.network, frozenset(number + 1 for number in notch.out))
    except NoNetworkError as error:
        raise NoStartError(f"notch {notch.name}: {error}", hint="Cut out another motor.") from error
