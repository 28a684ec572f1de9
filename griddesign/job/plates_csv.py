"""Plates at hand as a CSV file tells them: ``retap JOB PLATES.csv``, and the blank form to take to the car.

One row for each plate, counted from the dot end of its box: box, position, kind; ohm, or ampere and millivolt; the
metal's temperature; method; what is wrong with it. A row with ``from`` and ``to`` in place of a position is one reading
over several plates: joints of its box (``5``, ``5|6``), or taps by name (``A/B``). An empty temperature is the one
above. Plates joined two-and-two are read as they stand, side by side, unless ``joined`` says ``1 apart``.
"""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from griddesign.job.csv_table import Columns

Method = Literal["four-wire", "volt-drop", "two-wire"]
Condition = Literal["sound", "not in circuit", "cracked", "dead"]
BrokenAt = Literal["", "return bend", "strip", "eye"]

COLUMNS: Columns = {
    "box": ("", {"box": "", "box no": ""}),
    "position": ("", {"position": "", "pos": "", "plate": "", "plate no": ""}),
    "kind": ("", {"kind": "", "plate kind": "", "kind of plate": ""}),
    "ohm": (
        "resistance",
        {
            "ohm": "ohm", "ohms": "ohm", "measured ohm": "ohm", "measured ohms": "ohm", "resistance": "",
            "milliohm": "mohm", "milliohms": "mohm", "mohm": "mohm", "r": "", "measured": "", "reading": "",
        },
    ),
    "ampere": ("current", {"ampere": "A", "amperes": "A", "amps": "A", "current": ""}),
    "millivolt": ("voltage", {"millivolt": "mV", "millivolts": "mV", "mv": "mV", "voltage": "", "forward": ""}),
    "millivolt reversed": (
        "voltage", {"millivolt reversed": "mV", "millivolts reversed": "mV", "mv reversed": "mV", "reversed": ""},
    ),
    "method": ("", {"method": ""}),
    "accuracy": ("", {"accuracy": ""}),
    "temperature": (
        "temperature",
        {
            "temperature": "", "temp": "", "metal temperature": "", "temperature of the metal": "",
            "temperature c": "degC", "temp c": "degC", "metal c": "degC", "t c": "degC", "degc": "degC", "°c": "degC",
        },
    ),
    "not in circuit": (
        "",
        {"not in circuit": "", "mounted not in circuit": "", "mounted but not in circuit": "", "out of circuit": ""},
    ),
    "in circuit": ("", {"in circuit": ""}),
    "cracked": ("", {"cracked": "", "doubtful": "", "cracked or doubtful": "", "cracked/doubtful": ""}),
    "dead": ("", {"dead": "", "burnt through": "", "open": ""}),
    "condition": ("", {"condition": "", "state": "", "status": ""}),
    "joined": ("", {"joined": "", "joined two-and-two": "", "joined two and two": "", "pair": "", "in parallel": ""}),
    "broken at": ("", {"broken at": "", "broken": ""}),
    "carries": ("current", {"carries": "", "rating": "", "rated current": ""}),
    "from": ("", {"from": "", "from joint": "", "from tap": ""}),
    "to": ("", {"to": "", "to joint": "", "to tap": ""}),
    "remarks": ("", {"remarks": "", "remark": "", "notes": "", "note": ""}),
    "item": ("", {"item": ""}),
}  # fmt: skip
NOT_OHMS = frozenset({"insulation"})
"""Items of an inspector's form that are no reading of ohms (see ``inspection_csv``)."""
BLANK_COLUMNS = (
    "box", "position", "kind", "ohm", "method", "temperature (degC)", "accuracy", "not in circuit",
    "cracked or doubtful", "joined", "broken at", "from", "to", "remarks",
)  # fmt: skip
NEEDED = "Columns: box; position; kind; ohm, or ampere and millivolt; temperature; and where they matter: " + (
    "method; not in circuit; cracked; dead; joined; broken at; from; to; accuracy; remarks."
)
YES = frozenset({"x", "yes", "y", "true", "1", "ja", "j", "oui", "si", "✓"})
NO = frozenset({"", "no", "n", "false", "0", "-", "nein", "non"})
OPEN = frozenset({"open", "inf", "infinite", "infinity", "∞", "ol", "o.l", "o.l.", "open circuit", "dead", "oo"})
CONDITIONS: Mapping[str, Condition] = {
    "": "sound", "sound": "sound", "good": "sound", "ok": "sound", "in circuit": "sound",
    "not in circuit": "not in circuit", "out of circuit": "not in circuit", "idle": "not in circuit",
    "mounted but not in circuit": "not in circuit", "cracked": "cracked", "doubtful": "cracked", "dead": "dead",
    "open": "dead", "burnt through": "dead", "burnt": "dead", "broken": "dead", "burned through": "dead",
}  # fmt: skip
BROKEN: Mapping[str, BrokenAt] = {
    "": "", "bend": "return bend", "return bend": "return bend", "strip": "strip", "pass": "strip", "eye": "eye",
}  # fmt: skip
METHODS: Mapping[str, Method] = {
    "four-wire": "four-wire", "four wire": "four-wire", "4-wire": "four-wire", "4 wire": "four-wire",
    "volt-drop": "volt-drop", "volt drop": "volt-drop", "voltdrop": "volt-drop", "two-wire": "two-wire",
    "two wire": "two-wire", "2-wire": "two-wire", "2 wire": "two-wire",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlateRow:
    """One plate as its row tells. ``joined``: number of the pair it belongs to, 0 alone; ``apart``: it was read with
    the pair taken apart. ``carries_a``: what it may carry for ever, where somebody knows."""

    line: int
    box: int
    position: int
    kind: str
    condition: Condition
    joined: int
    apart: bool
    broken_at: BrokenAt
    carries_a: float | None
    remarks: str


@dataclass(frozen=True, slots=True)
class OhmReading:
    """Ohms read over plates ``first`` to ``last`` of the whole grid, metal at ``t_c``. ``accuracy`` as the file gives
    it: a share ``accuracy_share`` or ohms ``accuracy_ohm``, both None where it gives none. ``method_given`` False where
    the method was left to us."""

    line: int
    first: int
    last: int
    ohm: float
    t_c: float
    method: Method
    method_given: bool
    accuracy_share: float | None
    accuracy_ohm: float | None
    over: str


@dataclass(frozen=True, slots=True)
class PlatesCsv:
    """What the file holds, plates in order from the dot end of the first box."""

    path: Path
    plates: tuple[PlateRow, ...]
    readings: tuple[OhmReading, ...]
    remarks: tuple[str, ...]


def blank_csv(plates_in_boxes: Iterable[int] = (20,), kind: str = "", degree: str = "degC") -> str:
    """The form to fill in: a header and a row for every plate of boxes of so many plates, CR LF; temperatures in
    ``degree``, as the shop's thermometer shows them."""
    sink = io.StringIO()
    writer = csv.writer(sink)
    writer.writerow(title.replace("degC", degree) for title in BLANK_COLUMNS)
    empty = [""] * (len(BLANK_COLUMNS) - 3)
    for box, plates in enumerate(plates_in_boxes, start=1):
        writer.writerows([box, position, kind, *empty] for position in range(1, plates + 1))
    return sink.getvalue()
