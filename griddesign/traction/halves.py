"""Whether a change of grouping parts every motor string in two halves."""

from griddesign.traction.records import Grouping, Notch


def unfit(before: Notch, after: Notch, kind: str) -> str:
    """Why a transition that parts every string in two halves does not lead from one notch to the other, "" where it
    does. A network counts by the chains its motors make with all grids taken as joined."""
    one, other = _grouping(before), _grouping(after)
    lone = next((notch for notch, own in ((before, one), (after, other)) if own is None), None)
    if lone is not None or one is None or other is None:
        name = (lone or before).name
        return (
            f"{kind} parts every string in two halves, and notch {name} has no such strings: chains of motors of one "
            "length from line to ground, with full fields"
        )
    if one.series % 2 or other != Grouping(one.series // 2, 2 * one.parallel):
        return (
            f"{kind} parts every string in two halves; from {one.series} in series by {one.parallel} that does not "
            f"give {other.series} in series by {other.parallel}"
        )
    return ""


def _grouping(notch: Notch) -> Grouping | None:
    if notch.network is None:
        return notch.grouping
    from griddesign.traction.network.strings import grouping_of

    return grouping_of(notch)
