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

# Name in the job, sign and words, kind; the figures every result rests on, and those nothing here was worked out from.
_USED = (
    ("resistivity", "ρ20, resistivity at 20 °C", "resistivity"),
    ("alpha20", "α20, R(T)/R(20) per kelvin", "temperature_coefficient"),
    ("density", "density", "density"),
    ("specific_heat_20", "cp at 20 °C", "specific_heat"),
    ("specific_heat_400", "cp at 400 °C", "specific_heat"),
    ("emissivity", "ε, emissivity", "number"),
    ("limit_c", "limit in a starting grid", "temperature"),
)
_NOT_USED = (
    ("conductivity", "conductivity of heat", "conductivity"),
    ("expansion", "expansion", "temperature_coefficient"),
    ("air_limit_c", "limit in air", "temperature"),
    ("melting_c", "melting begins", "temperature"),
    ("pattern_shrinkage", "shrinkage of the pattern", "fraction"),
    ("min_bend_radius_t", "inside bend radius over thickness", "number"),
)


def input_parts(result: Result) -> tuple[Part, ...]:
    """Everything that was put in, and from where."""
    shown = Shown(result.job.paper.units)
    metals = {plate.wish.metal.key: plate.wish.metal for plate in result.plates}
    return (
        _read_part(result.job),
        *_plain_part(result.job),
        *_curve_part(result.job, shown),
        *(_metal_part(metal, result, shown) for metal in metals.values()),
    )


# --- the job ---------------------------------------------------------------------------------------------------------


def _read_part(job: Job) -> Part:
    lines = tuple(_read_line(key, figure, job.lines.get(key)) for key, figure in job.figures.items())
    return Part("Inputs as read", lines, titles=_READ_TITLES)


def _read_line(key: str, figure: Figure, line: int | None) -> Line:
    value, ends = si_words(figure, key)
    place = "" if line is None else f", line {line}"
    status = f"{figure.status}{place}"
    origin = f"{figure.source}; {status}" if figure.source else status
    return Line(key, figure.text or figure.note, "", value, origin, ends)


def _plain_part(job: Job) -> Iterator[Part]:
    """Counts and words of the job, which carry no range."""
    rows = [*_motor_counts(job), *_plate_counts(job), *_box_counts(job)]
    if rows:
        lines = tuple(Line(what, "", "", value, "the job") for what, value in rows)
        yield Part("Counts and choices of the job", lines, titles=("What", "", "As given", "Source"))


def _motor_counts(job: Job) -> Iterator[tuple[str, str]]:
    if job.motor is not None:
        yield "motors", str(job.motor.count)
        yield "motor resistance holds at", f"{job.motor.resistance_at_c:g}\u00a0°C"


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


def _curve_part(job: Job, shown: Shown) -> Iterator[Part]:
    if job.motor is None:
        return
    points = job.motor.magnetisation
    lines = tuple(
        Line(f"point {number}", f"emf at {shown.of(current_a, 'current')} per motor", "", shown.of(emf_v, "voltage"),
             "the job")
        for number, (current_a, emf_v) in enumerate(zip(points.current_a, points.emf_v, strict=True), start=1)
    )  # fmt: skip
    said = (
        f"Emf of one motor at {shown.of(points.speed_rad_s, 'rotational_speed')}; k(I) is the emf over the speed, V per "
        "rad/s. Between the points runs a monotone cubic (Fritsch and Carlson 1980, slopes as Fritsch and Butland "
        "1984); below the lowest point it is only drawn towards zero.",
    )
    yield Part("Motor curve", lines, said, titles=("Point", "", "Emf", "Source"))


# --- the metals ------------------------------------------------------------------------------------------------------


def _metal_part(metal: Metal, result: Result, shown: Shown) -> Part:
    kinds = ", ".join(plate.wish.name for plate in result.plates if plate.wish.metal.key == metal.key)
    used = [_metal_line(metal, row, shown) for row in _USED]
    unused = [_metal_line(metal, row, shown, "Nothing here was worked out from it.") for row in _NOT_USED]
    lines = tuple(line for line in (*used, _law_line(metal, shown), *unused) if line is not None)
    said = (
        f"{metal.name}, {metal.designation}; plates of kind {kinds}. Figures marked ≈ are recalled or estimated, or have "
        "a range: the heat is run at both ends of them. A measurement of your own in the job takes their place.",
    )
    return Part(f"Metal {metal.key}", lines, said, titles=_METAL_TITLES)


def _metal_line(metal: Metal, row: tuple[str, str, str], shown: Shown, said: str = "") -> Line | None:
    field, words, kind = row
    figure: Figure | None = getattr(metal, field)
    if figure is None:
        return None
    known = " ".join(part for part in (said, figure.note) if part)
    return Line(words, known, "", shown.figure(figure, kind), source_and_status(figure), shown.ends(figure, kind))


def _law_line(metal: Metal, shown: Shown) -> Line:
    top = shown.of(metal.top_c, "temperature")
    if metal.law == "linear":
        formula = "R(T)/R(20) = 1 + α20 (T − 20 °C)"
    else:
        pairs = zip(metal.ratio_points_c, metal.ratio_points, strict=True)
        formula = "R(T)/R(20), straight between " + ", ".join(f"{r:.4g} at {t:g}\u00a0°C" for t, r in pairs)
    return Line("r(T), law of resistance", formula, "", f"up to {top}", source_words(metal.alpha20))
