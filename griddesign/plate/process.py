"""Whether a shape suits the way it is made: webs, gaps, holes and inside corners against the rules of the shop."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from griddesign.errors import InputError
from griddesign.figures import Status
from griddesign.metals import Metal, shop_table, source
from griddesign.plate.shapes import Zigzag

MadeBy = Literal["cast", "laser", "waterjet", "plasma", "stamped"]
Kind = Literal["wall", "web", "ring", "gap", "hole", "inside corner"]

_SAME = 1e-9
_FOUNDRY = "common foundry practice"
_SLOT = "no slot is narrower than the cut"
_PUNCH = "a gap is punched like a hole, a strip left like an edge"
_OF_SLOTS: dict[str, Kind] = {"min_hole": "gap", "hole_to_edge": "web"}
_CORNER = "a round cutter leaves half its cut in a corner"


@dataclass(frozen=True, slots=True)
class ProcessCheck:
    """One dimension against one rule of the process: ``ok`` where ``found_m >= limit_m``.

    ``must`` is False where the rule is advice: a plate that breaks it can be made, only not so well. ``source`` and
    ``status`` are the rule's.
    """

    item: str
    ok: bool
    found_m: float
    limit_m: float
    source: str
    status: Status
    must: bool = True


@dataclass(frozen=True, slots=True)
class _Rule:
    kind: Kind
    limit_m: float
    source: str
    status: Status
    must: bool = True


def process_checks(shape: Zigzag, made_by: MadeBy) -> tuple[ProcessCheck, ...]:
    """Every dimension of the plate that a rule of this process speaks of, in the order of the plate: strip to eyes.

    Rules for sheet are multiples of its thickness, from the tables of the shop; those for castings are from memory.
    Where no rule was found nothing is checked. Raises InputError for a process that is not known.
    """
    return checks_of(_dimensions(shape), made_by, shape.thickness_m, shape.eye.hole_m)


def checks_of(
    dimensions: Iterable[tuple[str, Kind, float]], made_by: MadeBy, thickness_m: float, hole_m: float
) -> tuple[ProcessCheck, ...]:
    """Dimensions of any plate (item, what it is, m) against the rules that speak of them. ``hole_m``: diameter of the
    holes its rings go by. Raises InputError for a process that is not known."""
    rules = list(_cast_rules(thickness_m) if made_by == "cast" else _sheet_rules(made_by, thickness_m, hole_m))
    return tuple(
        ProcessCheck(
            item, found_m >= rule.limit_m * (1 - _SAME), found_m, rule.limit_m, rule.source, rule.status, rule.must
        )
        for item, kind, found_m in dimensions
        for rule in rules
        if rule.kind == kind
    )


def refuse_unsuited(metal: Metal, made_by: MadeBy) -> None:
    """Raises InputError where a metal is to be cast that is no casting metal, or cut or stamped that comes in no
    sheet."""
    fits = metal.castable if made_by == "cast" else metal.sheet_formable
    if not fits:
        others = "laser, waterjet, plasma or stamped" if made_by == "cast" else "cast"
        way = f"It may be made by {others}." if metal.castable or metal.sheet_formable else "Take another metal."
        raise InputError(f"{metal.name} ({metal.key}) cannot be made by {made_by!r}", hint=way)


def _dimensions(shape: Zigzag) -> Iterator[tuple[str, Kind, float]]:
    yield "thickness", "wall", shape.thickness_m
    yield "strip", "web", shape.strip_width_m
    yield "bar of the return bends", "web", shape.bar_m
    yield "pass gap", "gap", shape.pass_gap_m
    if shape.bend == "square":
        yield "inside corners of the return bends", "inside corner", shape.fillet_m
    yield "gap beside the eyes", "gap", shape.eye_clearance_m
    yield "inside corners at the eyes", "inside corner", shape.eye.fillet_m
    yield "hole of the eyes", "hole", shape.eye.hole_m
    yield "ring of the eyes", "ring", shape.eye.web_m


def _cast_rules(thickness_m: float) -> Iterator[_Rule]:
    """Sand casting, from memory: no wall under 3 mm; tongues of sand as wide as they are high; holes under 6 mm or
    under the thickness are drilled instead; inside corners rounded with a third of the thickness."""
    yield _Rule("wall", 0.003, _FOUNDRY, Status.MEMORY)
    yield _Rule("web", 0.003, _FOUNDRY, Status.MEMORY)
    yield _Rule("ring", 0.003, _FOUNDRY, Status.MEMORY)
    yield _Rule("gap", thickness_m, _FOUNDRY, Status.MEMORY)
    yield _Rule("hole", max(thickness_m, 0.006), _FOUNDRY, Status.MEMORY, must=False)
    yield _Rule("inside corner", thickness_m / 3, _FOUNDRY, Status.MEMORY, must=False)


def _sheet_rules(made_by: MadeBy, thickness_m: float, hole_m: float) -> Iterator[_Rule]:
    rows = [row for row in _rows("hole_web") if row.get("made_by") == made_by]
    if not rows:
        raise InputError(f"no plate is made by {made_by!r}", hint="Known: cast, laser, waterjet, plasma, stamped.")
    for row in rows:
        yield from _rules_of_row(row, made_by, thickness_m, hole_m)
    for kerf in [row for row in _rows("kerf") if row.get("made_by") == made_by][:1]:
        cut_m = kerf["typical_mm"] / 1000
        yield _Rule("gap", cut_m, f"{_SLOT}; {_title(kerf)}", _status(kerf))
        yield _Rule("inside corner", cut_m / 2, f"{_CORNER}; {_title(kerf)}", _status(kerf), must=False)
        if "min_hole_kerfs" in rows[0]:
            yield _Rule("hole", rows[0]["min_hole_kerfs"] * cut_m, _title(rows[0]), _status(rows[0]))


def _rules_of_row(row: Mapping[str, Any], made_by: MadeBy, thickness_m: float, hole_m: float) -> Iterator[_Rule]:
    """The rules of one row of the table. ``_t``: times the thickness; where ``_mm`` stands too, the larger counts.
    The hole's own diameter as distance from an edge, and holes that are only cheaper to punch, are advice."""
    kinds: tuple[tuple[Kind, str], ...] = (
        ("web", "min_web"),
        ("ring", "min_web"),
        ("ring", "hole_to_edge"),
        ("gap", "slot_width"),
        ("hole", "min_hole"),
    )
    for kind, name in kinds:
        if f"{name}_t" in row:
            limit_m = max(row[f"{name}_t"] * thickness_m, row.get(f"{name}_mm", 0.0) / 1000)
            yield _Rule(kind, limit_m, _title(row), _status(row), must="economical" not in row.get("note", ""))
            if made_by == "stamped" and name in _OF_SLOTS:
                yield _Rule(_OF_SLOTS[name], limit_m, f"{_PUNCH}; {_title(row)}", Status.DERIVED)
    if "hole_to_edge_diameters" in row:
        limit_m = row["hole_to_edge_diameters"] * hole_m
        yield _Rule("ring", limit_m, _title(row), _status(row), must=False)


def _rows(table: str) -> Iterator[Mapping[str, Any]]:
    return (row for row in shop_table(table).values() if isinstance(row, Mapping))


def _title(row: Mapping[str, Any]) -> str:
    return source(row["source"]).title


def _status(row: Mapping[str, Any]) -> Status:
    return Status(row["status"])
