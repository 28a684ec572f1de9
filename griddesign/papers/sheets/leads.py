"""Marks of taps and links on the drawings of boxes, and where their leads go by the user's own labels."""

from griddesign.grid.stack.clamps import link_label
from griddesign.judge.stacking import StackReport

COUNT_FROM = (
    "Count plates from the end frame with the paint dot, seen from the terminal side. "
    "Counting from the wrong end is how boxes get wired end for end."
)
NO_LIST = "your label: __________"


def mark_of(report: StackReport) -> dict[str, str]:
    """Short marks for paper: T1, T2 … for taps from the dot end of box 1, L1, L2 … for links."""
    taps = {tap.name: f"T{number}" for number, tap in enumerate(report.taps, start=1)}
    links = {link_label(link): f"L{number}" for number, link in enumerate(report.links, start=1)}
    return {**taps, **links, **{name: f"J{number}" for number, name in enumerate(report.jumpers, start=1)}}


def lead_words(report: StackReport, label: str, box: int) -> str:
    """Where a lead of ``box`` goes: the controller's terminals, the other box, or a blank to write on."""
    for link in report.links:
        if label == link_label(link):
            return f"box {link.to_box if box == link.from_box else link.from_box}, the same mark"
    if label in report.jumpers:
        return "the same mark"
    names = report.terminals.get(label, ())
    if names:
        return f"terminal{'s' if len(names) > 1 else ''} {', '.join(names)}"
    return "nothing, by the lead list" if report.terminals else NO_LIST
