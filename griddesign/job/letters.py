"""The letters of the measuring sheet, each with the key of the job file that its reading goes to.

The sheet is drawn and the starters are marked from this one list, so that paper and file cannot fall apart.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from griddesign.job.document import Key, key_lines

Where = Literal["plate", "box", "car", "motor"]


@dataclass(frozen=True, slots=True)
class Letter:
    """One reading: its letter, what is measured, the dotted ``key`` it goes to ("" where it only checks the others)."""

    letter: str
    where: Where
    words: str
    key: str = ""
    note: str = ""


LETTERS: tuple[Letter, ...] = (
    Letter("A", "plate", "height over the return bends, without the eyes", "plate.shape.height"),
    Letter("B", "plate", "width over all passes", "", "checks C, D and E: C strips and C − 1 gaps"),
    Letter("C", "plate", "passes: straight runs of strip, counted", "plate.shape.passes"),
    Letter("D", "plate", "strip, at mid height, three places", "plate.shape.strip_width", "caliper"),
    Letter("E", "plate", "gap between two passes, at mid height", "plate.shape.pass_gap", "drill shanks or feelers"),
    Letter("F", "plate", "thickness at the middle of the strip", "plate.shape.thickness"),
    Letter("G", "plate", "thickness at the strip's edge", "plate.shape.edge_thickness", "as F where it does not taper"),
    Letter("H", "plate", "from the plate's edge to the centre of the hole", "plate.shape.eye.reach"),
    Letter("J", "plate", "hole", "plate.shape.eye.hole"),
    Letter("K", "plate", "ring around the hole", "plate.shape.eye.diameter"),
    Letter("L", "plate", "hole's centre inward from the middle of the end pass", "plate.shape.eye.offset"),
    Letter("M", "plate", "centre to centre of the eyes, the straight way", "", "checks A, H and L"),
    Letter("N", "plate", "thickness of the eye where washers clamp", "hardware.eye_thickness"),
    Letter("P", "plate", "depth of metal in a return bend", "plate.shape.bend_depth", "as D where it is the strip"),
    Letter("Q", "plate", "radius in the inner corners of a bend", "plate.shape.fillet", "radius gauge"),
    Letter("R", "plate", "mass of one clean plate", "", "checks thickness and metal"),
    Letter("S", "plate", "ohms of one sound plate, eye to eye, and the metal's temperature", "plate.measured",
           "four-wire; carry it to 20 °C, 68 °F"),
    Letter("T", "box", "boxes", "boxes.boxes"),
    Letter("U", "box", "plates in a box", "boxes.plates_per_box"),
    Letter("V", "box", "air between two plates", "boxes.plate_gap"),
    Letter("W", "box", "clear length between the end frames", "hardware.frames_apart", "checks U, V, F"),
    Letter("X", "box", "tie rod, without its tube", "hardware.rod_diameter"),
    Letter("Y", "box", "sides that leads can reach: 1 or 2", "boxes.tap_sides"),
    Letter("a", "car", "line, nominal", "line.nominal"),
    Letter("b", "car", "line, highest ever read", "line.highest"),
    Letter("c", "car", "breaker, opens at", "line.breaker"),
    Letter("d", "car", "car as it runs, empty; and the load it carries", "car.mass"),
    Letter("e", "car", "wheel, over the tread", "car.wheel_diameter"),
    Letter("f", "car", "gear ratio: teeth of wheel over teeth of pinion", "car.gear_ratio"),
    Letter("g", "motor", "motors", "motor.count"),
    Letter("h", "motor", "power on the plate", "motor.nameplate.power"),
    Letter("k", "motor", "voltage on the plate", "motor.nameplate.voltage"),
    Letter("m", "motor", "current on the plate", "motor.nameplate.current"),
    Letter("n", "motor", "speed on the plate", "motor.nameplate.speed"),
    Letter("p", "motor", "ohms of field and armature, and their temperature", "motor.resistance"),
)  # fmt: skip
"""I and O are left out: they are read as one and nought."""


def letters_of(where: Where) -> tuple[Letter, ...]:
    """The letters of one part of the sheet, in order."""
    return tuple(one for one in LETTERS if one.where == where)


def lettered(text: str) -> str:
    """A starter with the letter of the measuring sheet as a comment behind every key that has one."""
    by_key = {one.key: one.letter for one in LETTERS if one.key}
    lines = text.split("\n")
    for number, letter in _places(text, by_key).items():
        lines[number - 1] = _with_comment(lines[number - 1], f"({letter})")
    return "\n".join(lines)


def _places(text: str, by_key: Mapping[str, str]) -> dict[int, str]:
    """Line -> letters of the keys on it; of several tables alike, the first alone."""
    found: dict[int, str] = {}
    seen: set[str] = set()
    for key, line in key_lines(text):
        name = dotted(key)
        if name in by_key and name not in seen:
            seen.add(name)
            found[line] = f"{found[line]}, {by_key[name]}" if line in found else by_key[name]
    return found


def dotted(key: Key) -> str:
    """A key path without the numbers of its tables: ``plate.shape.height``."""
    return ".".join(part for part in key if isinstance(part, str))


_COMMENT = re.compile(r"""^((?:[^"'#]|"[^"]*"|'[^']*')*?)(\s*)#\s*(.*)$""")


def _with_comment(line: str, mark: str) -> str:
    found = _COMMENT.match(line)
    if found is None:
        return f"{line.ljust(29)} # {mark}"
    return f"{found[1]}{found[2] or ' '}# {mark} {found[3]}"
