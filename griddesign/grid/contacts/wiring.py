"""Names of things a lead can go to, and the elements between them."""

import difflib
import re
from itertools import pairwise

from griddesign.errors import CircuitError
from griddesign.grid.contacts.records import GROUND, LINE, Chart, Element

NOTHING = "nothing"
_MOTOR = re.compile(r"motor ([0-9]{1,3})(?: (armature|field))? (in|out|1|2)")


def tap_nodes(sections: tuple[str, ...]) -> dict[str, str]:
    """Every name a tap may go by -> the one name of its node, the chain taken as unparted."""
    if not sections:
        return {}
    found = {f"start of {sections[0]}": f"start of {sections[0]}", f"end of {sections[-1]}": f"end of {sections[-1]}"}
    for before, after in pairwise(sections):
        found |= {name: name for name in (f"{before}/{after}", f"end of {before}", f"start of {after}")}
    return found


def node_of(words: str, sections: tuple[str, ...], motors: int, resistors: tuple[str, ...] = ()) -> str:
    """The node a lead goes to, from its words: ``line``, ``ground``, a tap, ``motor 1 in``, ``motor 1 armature 1``,
    ``motor 1 field 2``, ``resistor S 1``. Raises CircuitError for anything else."""
    name = " ".join(words.split())
    if name in (LINE, GROUND) or name in tap_nodes(sections):
        return name
    found = _MOTOR.fullmatch(name)
    if found and 1 <= int(found[1]) <= motors and (found[2] is None) == (found[3] in ("in", "out")):
        return name
    if name in {f"resistor {resistor} {end}" for resistor in resistors for end in (1, 2)}:
        return name
    raise CircuitError(f"{words!r} is nothing a lead can go to", hint=_would_do(name, sections, motors, resistors))


def _would_do(name: str, sections: tuple[str, ...], motors: int, resistors: tuple[str, ...]) -> str:
    motor_ends = [
        f"motor {number} {end}"
        for number in range(1, motors + 1)
        for end in ("in", "out", "armature 1", "armature 2", "field 1", "field 2")
    ]
    ends = [f"resistor {resistor} {end}" for resistor in resistors for end in (1, 2)]
    known = [LINE, GROUND, *tap_nodes(sections), *motor_ends, *ends]
    near = difflib.get_close_matches(name, known, n=2)
    if near:
        return f"Did you mean {' or '.join(near)}?"
    taps = ", ".join(tap_nodes(sections)) or "none ([grid] sections names the sections)"
    return f"Write line, ground, motor 1 in, motor 1 armature 1, motor 1 field 2 and so on, or a tap: {taps}."


def parted_after(sections: tuple[str, ...], nodes: set[str]) -> tuple[str, ...]:
    """Sections after which the chain is parted: those whose end and whose neighbour's start have leads of their own.

    Raises CircuitError where only one of the two has one, or the joint itself has one too.
    """
    parted = []
    for before, after in pairwise(sections):
        own = [name for name in (f"end of {before}", f"start of {after}") if name in nodes]
        if own and (len(own) == 1 or f"{before}/{after}" in nodes):
            raise CircuitError(
                f"a lead goes to {own[0]}: the chain is parted there, or is it not",
                hint=f"Write {before}/{after} where the sections touch; else give leads to both end of {before} and "
                f"start of {after}, and none to {before}/{after}.",
            )
        parted += [before] if own else []
    return tuple(parted)


def elements_of(chart: Chart) -> tuple[Element, ...]:
    """Every element there is, sections first in box order. A motor with leads to armature or field is two elements."""
    return (*_sections(chart), *_resistors(chart), *_motors(chart))


def _sections(chart: Chart) -> list[Element]:
    found, begin = [], f"start of {chart.sections[0]}" if chart.sections else ""
    for place, name in enumerate(chart.sections):
        after = chart.sections[place + 1] if place + 1 < len(chart.sections) else ""
        through = after and name not in chart.parted
        end = f"{name}/{after}" if through else f"end of {name}"
        found.append(Element(name, "section", begin, end))
        begin = end if through else f"start of {after}"
    return found


def _resistors(chart: Chart) -> list[Element]:
    return [
        Element(f"resistor {name}", "resistor", f"resistor {name} 1", f"resistor {name} 2") for name in chart.resistors
    ]


def _motors(chart: Chart) -> list[Element]:
    nodes = {node for group in chart.leads.values() for node in group}
    found: list[Element] = []
    for number in range(1, chart.motors + 1):
        name = f"motor {number}"
        if any(node.startswith((f"{name} armature", f"{name} field")) for node in nodes):
            found.append(Element(f"{name} armature", "armature", f"{name} armature 1", f"{name} armature 2", number))
            found.append(Element(f"{name} field", "field", f"{name} field 1", f"{name} field 2", number))
        else:
            found.append(Element(name, "motor", f"{name} in", f"{name} out", number))
    return found


def both_ways(chart: Chart) -> tuple[int, ...]:
    """Motors with leads to the whole and to its parts, where only one can be meant."""
    nodes = {node for group in chart.leads.values() for node in group}
    return tuple(
        number
        for number in range(1, chart.motors + 1)
        if {f"motor {number} in", f"motor {number} out"} & nodes
        and any(node.startswith((f"motor {number} armature", f"motor {number} field")) for node in nodes)
    )
