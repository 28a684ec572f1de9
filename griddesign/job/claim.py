"""The claim file: what a supplier says of a grid, in the words and units of a job file.

``[[plate]]`` ``[[section]]`` ``[[notch]]`` ``[[tap]]`` ``[boxes]`` ``[[rating]]`` ``[[test]]`` ``[safety]``
``[metal.NAME]``, each key of them optional but the names. A quantity is ``"1.64 ohm at 20 degC"`` or
``{ value = "…", tolerance = "3 %", source = "…" }``.
"""

from collections.abc import Mapping
from pathlib import Path

from griddesign import metals
from griddesign.errors import JobError
from griddesign.figures import Figure
from griddesign.given_file import beside
from griddesign.job.claim_records import (
    Claim,
    Claimed,
    ClaimedBoxes,
    ClaimedNotch,
    ClaimedOutline,
    ClaimedPlate,
    ClaimedSection,
    ClaimedTap,
    Rating,
    Safety,
    Tested,
)
from griddesign.job.document import Document, load
from griddesign.job.hardware import MADE_BY, read_metals, read_shape
from griddesign.job.part import Notebook, Part, read_figure, read_figure_at
from griddesign.job.records import Job
from griddesign.job.schema import check_schema
from griddesign.job.swapped import refuse_job
from griddesign.metals import Metal
from griddesign.plate.process import refuse_unsuited

UNITS = ("mm", "cm", "m", "inch")


def read_claim(path: Path, job: Job) -> Claim:
    """Read a claim on ``job``: sections and notches go by the job's names. Raises JobError with every complaint."""
    document = load(path)
    refuse_job(document)
    return build(document, job)


def build(document: Document, job: Job, pinned: Mapping[str, Figure] | None = None) -> Claim:
    """The claim of a parsed document; figures named in ``pinned`` take the place of those in the file."""
    notebook = Notebook(document, pinned)
    claim = _read_whole(notebook.whole(), job)
    if notebook.complaints:
        raise JobError(tuple(sorted(notebook.complaints, key=lambda complaint: complaint.line or 0)))
    return claim


def _read_whole(whole: Part, job: Job) -> Claim:
    check_schema(whole)
    certified = read_metals(whole)
    plates = tuple(plate for part in whole.tables("plate") if (plate := _plate(part, job, certified)) is not None)
    _refuse_twins(whole, "plate", [plate.name for plate in plates])
    kinds = tuple(plate.name for plate in plates)
    sections = _sections(whole, job, kinds)
    known = (*kinds, *job.section_order)
    notebook = whole.notebook
    claim = Claim(
        path=notebook.document.path,
        title=whole.text("title", required=True, example="Offer for works car 3").strip(),
        offered_by=whole.text("offered_by"),
        ohms_at_c=whole.quantity("ohms_at", "temperature", required=False, above=None),
        tolerance=whole.quantity("tolerance", "fraction", required=False, most=0.5),
        plates=plates,
        sections=sections,
        notches=_notches(whole, job),
        taps=tuple(tap for part in whole.tables("tap") if (tap := _tap(part)) is not None),
        boxes=_boxes(whole.table("boxes")),
        ratings=tuple(one for part in whole.tables("rating") if (one := _rating(part, known)) is not None),
        tests=tuple(test for part in whole.tables("test") if (test := _test(part, known)) is not None),
        safety=_safety(whole.table("safety")),
        metals=certified,
        figures=notebook.figures,
        lines=notebook.lines,
        rebuild=lambda figures: build(notebook.document, job, figures),
    )
    whole.close()
    if not (plates or sections or claim.notches or claim.boxes or claim.ratings or notebook.complaints):
        whole.complain("", "the file claims nothing", "Write a starter with: griddesign new FILE --for claim")
    return claim


def claimed(part: Part, name: str, kind: str, *, example: str = "", required: bool = False) -> Claimed | None:
    """A claimed quantity above zero (temperatures: any); ohms may say at which temperature they hold."""
    part.mark(name)
    value = part.data.get(name)
    if value is None:
        if required:
            part.complain(name, "is missing", f'Add for instance {name} = "{example}".')
        return None
    text, source, tolerance = _words(part, name, value)
    if text is None:
        return None
    found = part.attempt(name, lambda: _figure(text, kind, source))
    if found is None:
        return None
    figure, at_c = found
    if kind != "temperature" and figure.low <= 0.0:
        part.complain(name, f"{figure.text} cannot be", "It must be above zero.")
        return None
    return Claimed(part.noted(name, figure), f"{part.label}.{name}" if part.label else name, at_c, tolerance)


def _figure(text: str, kind: str, source: str) -> tuple[Figure, float | None]:
    return read_figure_at(text, kind, source) if kind == "resistance" else (read_figure(text, kind, source), None)


def _words(part: Part, name: str, value: object) -> tuple[str | None, str, float | None]:
    """Text, source and tolerance of a claimed quantity."""
    table = {"value": value} if isinstance(value, str) else value
    if not isinstance(table, Mapping) or not set(table) <= {"value", "source", "tolerance"}:
        part.complain(name, f"{value!r} is no claimed figure", 'Write "…", or { value = "…", tolerance = "3 %" }.')
        return None, "", None
    text, allowed = table.get("value"), table.get("tolerance")
    if not isinstance(text, str):
        part.complain(name, "has no value in quotes", 'Write { value = "…", tolerance = "3 %" }.')
        return None, "", None
    share = None if allowed is None else part.attempt(name, lambda: read_figure(str(allowed), "fraction"))
    if share is not None and not 0.0 < share.value <= 0.5:
        part.complain(name, f"a tolerance of {allowed} cannot be", "Above 0, at most 50 %.")
    return text, str(table.get("source", "")), None if share is None else share.value


def _plate(part: Part, job: Job, certified: Mapping[str, Metal]) -> ClaimedPlate | None:
    name, key = part.name("P"), part.text("metal")
    metal = part.attempt("metal", lambda: metal_of(key, job, certified)) if key else None
    made_by = part.choice("made_by", MADE_BY) if part.has("made_by") else None
    shape = read_shape(part) if part.has("shape") else None
    plate = ClaimedPlate(
        name=name,
        metal=metal,
        made_by=made_by,
        shape=shape,
        outline=_outline(part),
        thickness=claimed(part, "thickness", "length"),
        ohm=claimed(part, "ohm", "resistance"),
        mass=claimed(part, "mass", "mass"),
    )
    part.mark("shape")
    part.mark("made_by")
    part.close()
    if metal is not None and made_by is not None:
        part.attempt("made_by", lambda: refuse_unsuited(metal, made_by))
    return plate if name else None


def metal_of(key: str, job: Job, certified: Mapping[str, Metal]) -> Metal:
    """The metal of a claim: as the job changed it, else as the claim certifies it, else as tabled.

    Raises TableError.
    """
    of_job = {plate.metal.key: plate.metal for plate in job.plates}
    tabled = metals.metal(key)
    measured = of_job.get(key, tabled)
    return measured if measured != tabled else certified.get(key, tabled)


def _outline(part: Part) -> ClaimedOutline | None:
    if not part.has("outline"):
        part.mark("outline")
        return None
    if isinstance(part.data["outline"], str):
        return _drawing(part, part.text("outline"), None, (), None)
    inner = part.table("outline")
    if inner is None:
        return None
    file = inner.text("file", required=True, example="offered-plate.dxf")
    units = inner.choice("units", UNITS) if inner.has("units") else None
    named = inner.data.get("terminals", [])
    inner.mark("terminals")
    if not isinstance(named, list) or not all(isinstance(item, str) for item in named) or len(named) not in (0, 2):
        inner.complain("terminals", "are not two holes", 'Write terminals = ["H1", "H2"].')
        named = []
    washer_m = inner.quantity("washer", "length", required=False)
    inner.close()
    return _drawing(part, file, units, tuple(named), washer_m)


def _drawing(
    part: Part, file: str, units: str | None, terminals: tuple[str, ...], washer_m: float | None
) -> ClaimedOutline | None:
    path = beside(part.notebook.document.path, file)
    if path is None or not path.is_file():
        hint = "Name the drawing from the claim's folder."
        part.complain("outline", f"there is no file {file!r} beside the claim", hint)
        return None
    return ClaimedOutline(path, units, terminals, washer_m)


def _sections(whole: Part, job: Job, kinds: tuple[str, ...]) -> tuple[ClaimedSection, ...]:
    found = tuple(one for part in whole.tables("section") if (one := _section(part, job, kinds)) is not None)
    _refuse_twins(whole, "section", [one.name for one in found])
    return found


def _section(part: Part, job: Job, kinds: tuple[str, ...]) -> ClaimedSection | None:
    name = part.choice("name", job.section_order) if job.section_order else part.name("A")
    plates = part.whole_number("plates", most=2000) if part.has("plates") else None
    abreast = part.whole_number("in_parallel", 1, most=4) or 1
    kind = part.choice("kind", kinds, kinds[0] if len(kinds) == 1 else "") if kinds else ""
    ohm, temperature = claimed(part, "ohm", "resistance"), claimed(part, "temperature", "temperature")
    part.mark("plates")
    part.mark("kind")
    part.close()
    if plates is not None and plates % abreast:
        part.complain("plates", f"{plates} plates do not divide into steps of {abreast}", "Change one of the two.")
    return ClaimedSection(name, plates, abreast, kind or "", ohm, temperature) if name else None


def _notches(whole: Part, job: Job) -> tuple[ClaimedNotch, ...]:
    names = tuple(notch.name for notch in job.notches)
    without = {notch.name for notch in job.notches if notch.common is not None and not notch.common.parts}
    found = []
    for part in whole.tables("notch"):
        name, ohm = part.choice("name", names) if names else part.name("1"), claimed(part, "ohm", "resistance")
        part.close()
        if name in without and ohm is not None:
            part.complain("ohm", f"notch {name} has no grid in the job", "Leave the notch out, or mend the job.")
        if name and ohm is not None:
            found.append(ClaimedNotch(name, ohm))
    _refuse_twins(whole, "notch", [one.name for one in found])
    return tuple(found)


def _tap(part: Part) -> ClaimedTap | None:
    name, box = part.text("name", required=True, example="A/B"), part.whole_number("box", most=100)
    part.mark("joint")
    joint = part.data.get("joint")
    part.close()
    if not (isinstance(joint, list) and len(joint) == 2 and all(type(end) is int for end in joint)):
        part.complain("joint", f"{joint!r} is no joint", "Write joint = [7, 8], counted in the box from its dot end.")
        return None
    if joint[1] != joint[0] + 1 or joint[0] < 0:
        part.complain("joint", f"{joint} is no joint", "A joint lies between two neighbours: [7, 8].")
        return None
    return None if box is None or not name else ClaimedTap(name, box, (joint[0], joint[1]))


def _boxes(part: Part | None) -> ClaimedBoxes | None:
    if part is None:
        return None
    found = ClaimedBoxes(
        boxes=part.whole_number("boxes", most=100) if part.has("boxes") else None,
        plates_per_box=part.whole_number("plates_per_box", most=500) if part.has("plates_per_box") else None,
        plate_gap=claimed(part, "plate_gap", "length"),
        tap_sides=part.whole_number("tap_sides", 1, most=2) or 1,
        joint_ohm=part.quantity("joint_resistance", "resistance", required=False, above=None, least=0.0) or 0.0,
        stack_length=claimed(part, "stack_length", "length"),
        plates_mass=claimed(part, "plates_mass", "mass"),
    )
    part.mark("boxes")
    part.mark("plates_per_box")
    part.close()
    return found


def _rating(part: Part, known: tuple[str, ...]) -> Rating | None:
    name, of = part.text("name"), part.choice("of", known) if known else part.name("A")
    current = claimed(part, "current", "current", required=True, example="60 A")
    time, temperature = claimed(part, "time", "time"), claimed(part, "temperature", "temperature")
    ambient = claimed(part, "ambient", "temperature")
    part.close()
    if current is None or not of:
        return None
    words = f"{of}, {current.figure.text}" + (f" for {time.figure.text}" if time else " for ever")
    return Rating(name or words, of, current, time, temperature, ambient)


def _test(part: Part, known: tuple[str, ...]) -> Tested | None:
    name = part.text("report", required=True, example="routine test 17")
    of = part.choice("of", known) if known else part.name("A")
    ohm, mass, method = claimed(part, "ohm", "resistance"), claimed(part, "mass", "mass"), part.text("method")
    part.close()
    return Tested(name, of, ohm, mass, method) if name and of else None


def _safety(part: Part | None) -> Safety:
    if part is None:
        return Safety()
    found = Safety(
        claimed(part, "temperature_limit", "temperature"),
        claimed(part, "test_voltage", "voltage"),
        claimed(part, "clearance", "length"),
    )
    part.close()
    return found


def _refuse_twins(whole: Part, table: str, names: list[str]) -> None:
    for name in sorted({name for name in names if names.count(name) > 1}):
        whole.complain(table, f"two are named {name}", "Keep one.")
