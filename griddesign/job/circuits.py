"""The notches of a job file: circuits, motor groupings, fields, sections in their order."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from griddesign.grid.circuit import names
from griddesign.grid.records import Run
from griddesign.job.part import Part, fault_of_name
from griddesign.job.transitions import read_transition
from griddesign.job.wires import read_common, read_strings
from griddesign.traction.records import Grouping, Notch

if TYPE_CHECKING:
    from griddesign.job.contacts import ChartOfJob

LEAST_FIELD = 0.2
MOST_SECTIONS = 60
LEAST_WANTED_OHM = 1e-6


def read_notches(whole: Part, motors: int | None, chart: "ChartOfJob | None" = None) -> tuple[Notch, ...]:
    """Every ``[[notch]]`` of the file; ``chart`` makes the circuits of those that give joined terminals instead."""
    parts = enumerate(whole.tables("notch"))
    notches = tuple(
        notch
        for place, part in parts
        if (notch := read_charted(part, place, chart) if part.has("joined") else _read_notch(part, motors)) is not None
    )
    _refuse_twins(whole, [notch.name for notch in notches])
    return notches


def read_charted(part: Part, place: int, chart: "ChartOfJob | None") -> Notch | None:
    """A notch whose circuit the contact chart makes; None after a complaint."""
    from griddesign.job.contacts import made_notch

    name, made = part.name("1"), made_notch(part, place, chart)
    wanted = part.quantity("wanted", "resistance", required=False, above=None, least=0.0)
    transition = read_transition(part)
    part.close()
    if made is None or not name:
        return None
    _check_wanted(part, wanted, made.common, *(made.strings or ()))
    return Notch(
        name,
        made.grouping,
        made.common,
        made.strings or (),
        wanted,
        field=made.field,
        motor_ohm=made.motor_ohm,
        transition=transition,
        ahead_ohm=made.ahead_ohm,
        string_ohm=made.string_ohm,
        network=made.network,
        numbers=made.numbers,
    )


def _read_notch(part: Part, motors: int | None) -> Notch | None:
    name = part.name("1")
    grouping = _read_grouping(part, motors)
    common, strings = read_common(part), read_strings(part)
    wanted = part.quantity("wanted", "resistance", required=False, above=None, least=0.0)
    field = part.quantity("field", "fraction", required=False, above=None, least=LEAST_FIELD, most=1.0)
    motor_ohm, transition = part.quantity("motor_resistance", "resistance", required=False), read_transition(part)
    part.close()
    _check_wanted(part, wanted, common, *(strings or ()))
    if (common is None) == (strings is None):
        part.complain("circuit", "needs either circuit or strings", 'Write circuit = ["A", "B"], or [] for no grid.')
        return None
    if grouping is None or not name:
        return None
    if strings is not None and len(strings) != grouping.parallel:
        part.complain(
            "strings", f"{len(strings)} circuits for {grouping.parallel} motor strings", "Give one for each string."
        )
        return None
    return Notch(
        name,
        grouping,
        common,
        strings or (),
        wanted,
        field=1.0 if field is None else field,
        motor_ohm=motor_ohm,
        transition=transition,
    )


def _check_wanted(part: Part, wanted_ohm: float | None, *grids: Run | None) -> None:
    """Next to no ohms are wanted of no grid alone: of any other the share that it is off by would mean nothing."""
    if wanted_ohm is not None and wanted_ohm < LEAST_WANTED_OHM and any(grid and grid.parts for grid in grids):
        hint = "Write circuit = [] for no grid, or the ohms wanted."
        part.complain("wanted", f"{part.data['wanted']!r} is next to nothing, and the notch has a grid", hint)


def _read_grouping(part: Part, motors: int | None) -> Grouping | None:
    part.mark("motors")
    value = part.data.get("motors")
    if value is None and motors is None:
        return Grouping(1, 1)
    count = motors or 1
    if value == "parallel":
        return Grouping(1, count)
    if value == "series":
        return _pairs(part, count)
    if isinstance(value, Mapping) and set(value) == {"series", "parallel"}:
        return _explicit(part, value, motors)
    part.complain("motors", f"{value!r} is no grouping", 'Write "series", "parallel" or { series = 2, parallel = 2 }.')
    return None


def _pairs(part: Part, count: int) -> Grouping | None:
    if count == 1:
        return Grouping(1, 1)
    if count % 2:
        part.complain("motors", f"{count} motors make no pairs", "Write { series = …, parallel = … }.")
        return None
    return Grouping(2, count // 2)


def _explicit(part: Part, value: Mapping[str, Any], motors: int | None) -> Grouping | None:
    series, parallel = value["series"], value["parallel"]
    if not all(
        isinstance(number, int) and not isinstance(number, bool) and number > 0 for number in (series, parallel)
    ):
        part.complain("motors", f"{dict(value)} are not two counts", "Write { series = 2, parallel = 2 }.")
        return None
    if motors is not None and series * parallel != motors:
        part.complain("motors", f"{series} x {parallel} is not {motors} motors", "Every motor belongs to one string.")
        return None
    return Grouping(series, parallel)


def _refuse_twins(whole: Part, found: list[str]) -> None:
    for name in sorted({name for name in found if found.count(name) > 1}):
        whole.complain("notch", f"two notches are named {name}", "Give each notch a name of its own.")


def read_section_order(whole: Part, notches: tuple[Notch, ...]) -> tuple[str, ...]:
    """Sections in the order in which they stand in the boxes: ``[grid] sections``, else as the first notch names them.

    A notch that names another section is complained about.
    """
    listed = _listed_sections(whole)
    order = listed or (sections_of(notches[0]) if notches else ())
    for index, notch in enumerate(notches):
        for name in sections_of(notch):
            if name not in order:
                _complain_unknown(whole, index, notch, name, order)
    return order


def _listed_sections(whole: Part) -> tuple[str, ...]:
    part = whole.table("grid")
    if part is None:
        return ()
    part.mark("sections")
    value = part.data.get("sections")
    part.close()
    if (
        not isinstance(value, list)
        or not value
        or not all(isinstance(item, str) and not fault_of_name(item) for item in value)
    ):
        part.complain("sections", "is not a list of short names", 'Write sections = ["A", "B"], in box order.')
        return ()
    if len(set(value)) < len(value) or len(value) > MOST_SECTIONS:
        part.complain("sections", "names a section twice, or too many", f"Up to {MOST_SECTIONS} names, each once.")
        return ()
    return tuple(value)


def _complain_unknown(whole: Part, index: int, notch: Notch, name: str, order: tuple[str, ...]) -> None:
    whole.notebook.complain(
        ("notch", index, "circuit"),
        f"notch.{notch.name}.circuit",
        f"section {name} is not known",
        f"Known: {', '.join(order) or 'none'}. The first notch names them all, or [grid] sections = […] does.",
    )


def sections_of(notch: Notch) -> tuple[str, ...]:
    """Every section the notch uses, each once."""
    if notch.network is not None:
        return notch.network.sections
    runs = notch.strings if notch.common is None else (notch.common,)
    return tuple(dict.fromkeys(name for run in runs for name in names(run)))
