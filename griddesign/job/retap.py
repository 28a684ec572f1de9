"""What a job says of an old grid: present taps, where new ones may sit, spares, what is done for a night: ``[retap]``.

[retap]
taps = { "start of A" = 0, "A/B" = 20, "B/C" = "box 2, joint 4|5", "end of C" = 54 }   # after which plate, now
sides = "terminal side"            # or "far side", "both"; else as [boxes] tap_sides
forbidden = [12, "box 2, joint 3|4"]
box_ends_only = true
fixed = ["A/B"]                    # the cable is short: this tap stays
most_moves = 2
jump = true                        # dead plates may be bridged inside a section
leave_out = "at the ends"          # "nowhere", "at the ends", "anywhere": where sound plates may stay unused
swap = true                        # plates may change places
use_spares = true                  # spare plates may take the place of others
most_swaps = 4                     # at most so many pairs change places; most_spares = 2
exchange_gain = "0.1 %"            # what each such exchange must take off the worst notch
metal = "grey_iron_class30"        # of kinds that no [[plate]] draws
section_currents = { A = "60 A" }  # what a section must be able to carry for ever
patch_resistance = "0.5 mohm"      # what a patch adds
valid_until = "…"                  # of a temporary sheet
plates_in_boxes = [20, 20, 14]     # the blank form's rows
[[retap.spare]]
name = "S1"
kind = "P"
ohm = "0.0668 ohm"                 # of one plate; plates = 18: a whole box of them
carries = "60 A"                   # what it may carry for ever, where section_currents asks for it
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal, get_args

from griddesign import metals
from griddesign.job.part import Part
from griddesign.metals import Metal
from griddesign.retaps.ground import tap_names

MOST_PLATES = 2_000
LeaveOut = Literal["nowhere", "at the ends", "anywhere"]
LEAVE_OUT: tuple[LeaveOut, ...] = get_args(LeaveOut)
SIDES = ("terminal side", "far side", "both")
_PLACE = re.compile(
    r"box\s*([0-9]{1,3})\s*,\s*(?:joint\s*)?([0-9]{1,4})(?:\s*\|\s*([0-9]{1,4}))?"
    r"|box\s*([0-9]{1,3})\s*,\s*(dot|far) end"
)


@dataclass(frozen=True, slots=True)
class JointGiven:
    """A joint as the job writes it: after ``plate`` plates of box ``box``; of the whole grid where ``box`` is None. A
    ``plate`` of None is the far end of the box."""

    plate: int | None
    box: int | None = None


@dataclass(frozen=True, slots=True)
class SpareGiven:
    """A plate on the shelf, ohms at 20 degC with their range; or a box of ``plates`` such plates."""

    name: str
    kind: str
    ohm: float
    low_ohm: float
    high_ohm: float
    plates: int = 1
    current_a: float | None = None


@dataclass(frozen=True, slots=True)
class RetapGiven:
    """The ``[retap]`` table. ``sides`` empty: as the boxes have it. ``section_currents``: A, by section."""

    taps: Mapping[str, JointGiven] = field(default_factory=dict)
    sides: str = ""
    forbidden: tuple[JointGiven, ...] = ()
    box_ends_only: bool = False
    fixed: tuple[str, ...] = ()
    most_moves: int | None = None
    jump: bool = True
    leave_out: LeaveOut = "at the ends"
    swap: bool = False
    metal: Metal | None = None
    section_currents: Mapping[str, float] = field(default_factory=dict)
    patch_ohm: float | None = None
    valid_until: str = ""
    plates_in_boxes: tuple[int, ...] = ()
    spares: tuple[SpareGiven, ...] = ()
    use_spares: bool = False
    most_swaps: int | None = None
    most_spares: int | None = None
    exchange_gain: float | None = None


def read_retap(part: Part, section_order: tuple[str, ...]) -> RetapGiven:
    """The ``[retap]`` table."""
    taps = _taps(part, section_order)
    given = RetapGiven(
        taps=taps,
        sides=part.choice("sides", ("", *SIDES), "") or "",
        forbidden=_joints(part, "forbidden"),
        box_ends_only=part.flag("box_ends_only"),
        fixed=_fixed(part, taps),
        most_moves=_most(part, "most_moves"),
        jump=part.flag("jump") if part.has("jump") else True,
        leave_out=part.choice("leave_out", LEAVE_OUT, "at the ends") or "at the ends",
        swap=part.flag("swap"),
        metal=_metal(part),
        section_currents=_currents(part, section_order),
        patch_ohm=part.quantity("patch_resistance", "resistance", required=False, above=None, least=0.0),
        valid_until=part.text("valid_until"),
        plates_in_boxes=_plates_in_boxes(part),
        spares=tuple(spare for one in part.tables("spare") if (spare := _spare(one)) is not None),
        use_spares=part.flag("use_spares"),
        most_swaps=_most(part, "most_swaps"),
        most_spares=_most(part, "most_spares"),
        exchange_gain=part.quantity("exchange_gain", "fraction", required=False, above=None, least=0.0, most=1.0),
    )
    part.mark("jump")
    _refuse_idle(part, given)
    part.close()
    return given


def _refuse_idle(part: Part, given: RetapGiven) -> None:
    """Limits on what is not allowed at all."""
    idle = {
        "most_swaps": "" if given.swap else "swap = true",
        "most_spares": "" if given.use_spares else "use_spares = true",
        "exchange_gain": "" if given.swap or given.use_spares else "swap = true or use_spares = true",
    }
    for key, wanted in idle.items():
        if wanted and part.has(key):
            part.complain(key, f"says nothing without {wanted}", f"Write {wanted} too, or leave {key} out.")


def _most(part: Part, key: str) -> int | None:
    return part.whole_number(key, least=0, most=100) if part.has(key) else None


def _metal(part: Part) -> Metal | None:
    key = part.text("metal")
    return part.attempt("metal", lambda: metals.metal(key)) if key else None


def _taps(part: Part, section_order: tuple[str, ...]) -> dict[str, JointGiven]:
    inner = part.table("taps")
    if inner is None:
        return {}
    allowed = tap_names(section_order) if section_order else ()
    found: dict[str, JointGiven] = {}
    for name in inner.data:
        inner.mark(name)
        joint = _joint(inner, name, inner.data[name])
        if name not in allowed:
            inner.complain(name, "is no tap", f"Taps here: {', '.join(allowed)}.")
        elif joint is not None:
            found[name] = joint
    _refuse_half(inner, section_order, found)
    return found


def _refuse_half(part: Part, section_order: tuple[str, ...], found: Mapping[str, JointGiven]) -> None:
    """Each end, and each place between two sections, has its tap or its two taps."""
    places: list[tuple[str, ...]] = [(f"start of {section_order[0]}",)] if section_order else []
    for before, after in pairwise(section_order):
        both = f"end of {before}", f"start of {after}"
        places.append((f"{before}/{after}",) if f"{before}/{after}" in found else both)
    places += [(f"end of {section_order[-1]}",)] if section_order else []
    missing = [name for names in places for name in names if name not in found]
    if missing and not part.notebook.complaints:
        part.complain("", f"no joint for {missing[0]}", "Give every tap, or leave the taps out.")


def _joint(part: Part, name: str, value: Any) -> JointGiven | None:
    if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_PLATES:
        return JointGiven(value)
    found = _PLACE.fullmatch(value.strip().lower()) if isinstance(value, str) else None
    if found is not None and found[2]:
        if found[3] is None or int(found[3]) == int(found[2]) + 1:
            return JointGiven(int(found[2]), int(found[1]))
    elif found is not None:
        return JointGiven(0 if found[5] == "dot" else None, int(found[4]))
    part.complain(name, f"{value!r} is no joint", 'Write how many plates stand before it: 27, or "box 2, joint 7|8".')
    return None


def _joints(part: Part, name: str) -> tuple[JointGiven, ...]:
    part.mark(name)
    value = part.data.get(name, [])
    if not isinstance(value, list):
        part.complain(name, "is not a list of joints", f'Write {name} = [12, "box 2, joint 7|8"].')
        return ()
    return tuple(joint for item in value if (joint := _joint(part, name, item)) is not None)


def _fixed(part: Part, taps: Mapping[str, JointGiven]) -> tuple[str, ...]:
    part.mark("fixed")
    value = part.data.get("fixed", [])
    unknown = [name for name in value if name not in taps] if isinstance(value, list) else [value]
    if unknown:
        part.complain("fixed", f"{unknown[0]!r} is no tap of [retap] taps", f"Taps given: {', '.join(taps) or 'none'}.")
        return ()
    return tuple(value)


def _currents(part: Part, section_order: tuple[str, ...]) -> dict[str, float]:
    inner = part.table("section_currents")
    if inner is None:
        return {}
    found = {}
    for name in inner.data:
        current = inner.quantity(name, "current", example="60 A")
        if name not in section_order:
            inner.complain(name, "is no section", f"Sections: {', '.join(section_order)}.")
        elif current is not None:
            found[name] = current
    return found


def _plates_in_boxes(part: Part) -> tuple[int, ...]:
    part.mark("plates_in_boxes")
    value = part.data.get("plates_in_boxes", [])
    fits = isinstance(value, list) and all(type(one) is int and 1 <= one <= MOST_PLATES for one in value)
    if not fits or sum(value) > MOST_PLATES:
        part.complain("plates_in_boxes", "is not a list of counts", "Write plates_in_boxes = [20, 20].")
        return ()
    return tuple(value)


def _spare(part: Part) -> SpareGiven | None:
    name, kind = part.name("S1"), part.text("kind", required=True, example="P")
    figure = part.figure("ohm", "resistance", required=True, example="0.0668 ohm", above=0.0)
    plates = part.whole_number("plates", 1, most=MOST_PLATES)
    current_a = part.quantity("carries", "current", required=False, example="60 A")
    part.close()
    if not name or not kind or figure is None or plates is None:
        return None
    return SpareGiven(name, kind, figure.value, figure.low, figure.high, plates, current_a)
