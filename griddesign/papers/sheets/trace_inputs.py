"""The working, first part: what was put in. Figures as read, the motor curve, the figures of the metals."""

from collections.abc import Iterator

from griddesign.figures import Figure
from griddesign.job.records import Job
from griddesign.judge.records import Result
from griddesign.metals import Metal
from griddesign.papers.sheets.shown import Shown, si_words, source_and_status, source_words
from griddesign.papers.sheets.trace import Line, Part

_READ_TITLES = ("Figure", "As written", "Value in SI, range", "Source, status, line of the job")
_METAL_TITLES = ("Figure", "What is known of it", "Value, range", "Source, status")

# Field, sign and words, kind of every figure that a result rests on; nothing here is worked out from the others.
_USED = (
    ("resistivity", "ρ20", "resistivity at 20 °C", "resistivity"),
    ("alpha20", "α20", "rise of R(T)/R(20) for each kelvin", "temperature_coefficient"),
    ("density", "density", "", "density"),
    ("specific_heat_20", "cp, 20 °C", "specific heat", "specific_heat"),
    ("specific_heat_400", "cp, 400 °C", "specific heat", "specific_heat"),
    ("emissivity", "ε", "emissivity, total", "number"),
    ("limit_c", "limit", "hottest in a starting grid", "temperature"),
)
_CURVE = (
    "Motor curve: emf of one motor at one speed, currents per motor; k(I) is the emf over the speed, V per rad/s. "
    "Between the points runs a monotone cubic; below the lowest it is only drawn towards zero.",
)


def input_parts(result: Result) -> tuple[Part, ...]:
    """Everything that was put in, and from where."""
    shown = Shown(result.job.paper.units)
    metals = {plate.wish.metal.key: plate.wish.metal for plate in result.plates}
    return (_read_part(result.job), *(_metal_part(metal, result, shown) for metal in metals.values()))


# --- the job ---------------------------------------------------------------------------------------------------------


def _read_part(job: Job) -> Part:
    read = (_read_line(key, figure, job.lines.get(key)) for key, figure in job.figures.items())
    plain = (Line(what, value, "", "", "the job") for what, value in _plain(job))
    return Part("Inputs as read", (*read, *plain), _CURVE if job.motor else (), _READ_TITLES)


def _read_line(key: str, figure: Figure, line: int | None) -> Line:
    value, ends = si_words(figure, key)
    place = "" if line is None else f", line {line}"
    status = f"{figure.status}{place}"
    origin = f"{figure.source}; {status}" if figure.source else status
    return Line(key, figure.text or figure.note, "", value, origin, ends)


def _plain(job: Job) -> Iterator[tuple[str, str]]:
    """Counts, words and lists of the job, which carry no range."""
    yield from _motor_counts(job)
    yield from _plate_counts(job)
    yield from _box_counts(job)


def _motor_counts(job: Job) -> Iterator[tuple[str, str]]:
    if job.motor is not None:
        yield "motors", str(job.motor.count)
        yield "motor resistance holds at", f"{job.motor.resistance_at_c:g}\u00a0°C"
        points = job.motor.magnetisation
        pairs = zip(points.current_a, points.emf_v, strict=True)
        yield "motor curve, emf", ", ".join(f"{emf_v:g}\u00a0V at {amps:g}\u00a0A" for amps, emf_v in pairs)


def _plate_counts(job: Job) -> Iterator[tuple[str, str]]:
    for plate in job.plates:
        shape = plate.shape
        support = f", {shape.support_eyes} support eye" if shape.support_eyes else ""
        yield f"plate {plate.name}", f"{plate.made_by}, {shape.passes} passes"
        yield f"plate {plate.name}, bends and eyes", f"{shape.bend} return bends, eyes on {shape.eyes}{support}"


def _box_counts(job: Job) -> Iterator[tuple[str, str]]:
    if job.boxes is not None:
        sides = "terminal side only" if job.boxes.tap_sides == 1 else "both sides"
        yield "boxes, at most", f"{job.boxes.boxes} of {job.boxes.plates_per_box} plates"
        yield "leads reach", sides
    for given in job.sections:
        yield f"section {given.name}", f"{given.series} steps of {given.in_parallel} of kind {given.kind}"


# --- the metals ------------------------------------------------------------------------------------------------------


def _metal_part(metal: Metal, result: Result, shown: Shown) -> Part:
    kinds = ", ".join(plate.wish.name for plate in result.plates if plate.wish.metal.key == metal.key)
    lines = (*(_metal_line(metal, row, shown) for row in _USED), _law_line(metal, shown))
    said = (
        f"{metal.name}, {metal.designation}; plates of kind {kinds}. Figures marked ≈ are recalled or estimated, or "
        "have a range: the heat is run at both ends of them. A measurement of your own in the job takes their "
        "place. Figures of the metal that are not listed were not used.",
    )
    return Part(f"Metal {metal.key}", lines, said, titles=_METAL_TITLES)


def _metal_line(metal: Metal, row: tuple[str, str, str, str], shown: Shown) -> Line:
    field, symbol, words, kind = row
    figure: Figure = getattr(metal, field)
    known = ". ".join(part for part in (words, figure.note) if part)
    ends = shown.ends(figure, kind)
    return Line(symbol, known, "", shown.figure(figure, kind), source_and_status(figure), ends)


def _law_line(metal: Metal, shown: Shown) -> Line:
    top = shown.of(metal.top_c, "temperature")
    if metal.law == "linear":
        formula = "R(T)/R(20) = 1 + α20 (T − 20 °C)"
    else:
        pairs = zip(metal.ratio_points_c, metal.ratio_points, strict=True)
        formula = "R(T)/R(20), straight between " + ", ".join(f"{r:.4g} at {t:g}\u00a0°C" for t, r in pairs)
    return Line("r(T)", formula, "", f"up to {top}", source_words(metal.alpha20))
