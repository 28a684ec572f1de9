"""The working of the choice: aims and proofs, sections as built, what the current feels, peaks, bands."""

from collections.abc import Iterator
from math import inf

from griddesign.choose.from_job import Worked, notch_aims
from griddesign.choose.problem import NotchAim
from griddesign.choose.records import Design, NotchGot, Proof
from griddesign.grid.circuit import names
from griddesign.grid.records import SectionBuild
from griddesign.job.records import Job, PlateWish
from griddesign.judge.bands import metal_spread
from griddesign.judge.records import Result, SectionBand
from griddesign.papers.cold import cold
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown, percent
from griddesign.papers.sheets.trace import Line, Part, unsure
from griddesign.papers.sheets.trace_ladder import per_motor

_MARGIN = "The margin of heat is here that of the start on the wanted ohms; see Temperatures for the grid as built."


def choice_parts(result: Result) -> tuple[Part, ...]:
    """Choice, sections, errors, peaks, bands; nothing where no grid was designed."""
    worked = result.worked
    if worked is None or worked.design is None:
        return ()
    shown = Shown(result.job.paper.units)
    design = worked.design
    built = (*_error_parts(result.job, worked, design, shown), *_peak_part(result))
    why = why_unsure(result)
    return (
        _choice_part(design, shown),
        _built_part(result, design, shown),
        *(unsure(part, why) if why else part for part in built),
        *_band_part(result, shown),
    )


def by_the_metal(plate: PlateWish) -> bool:
    """Whether the ohms of this plate are only what its shape and a metal that is not sure give: neither measured, nor
    ordered by ohms."""
    ordered = plate.measured_ohm is not None or plate.wanted_ohm is not None or plate.strip_width_range_m is not None
    return plate.metal.resistivity.weak and not ordered


def why_unsure(result: Result) -> str:
    """Why errors and peaks are marked, empty where they are sure."""
    keys = [unknown.key for unknown in result.unknowns]
    kinds = [f"the metal of plate {plate.wish.name}" for plate in result.plates if by_the_metal(plate.wish)]
    if not keys and not kinds:
        return ""
    ends = "their ends stand under Measure next, with the plate and with the bands"
    return f"≈ here: it rests on {', '.join((*keys, *kinds))}; {ends}."


def _choice_part(design: Design, shown: Shown) -> Part:
    lines = tuple(_proof_line(number, proof, shown) for number, proof in enumerate(design.proofs, start=1))
    said = (
        "Tolerance of the notches, limits of heat and room in the boxes are constraints. Inside them each aim is the "
        "best that the aims before it leave; the bound is what nothing can beat."
        if lines
        else "Counts were given in the job: nothing was chosen.",
        *((_MARGIN,) if any("margin" in proof.objective and proof.reached < inf for proof in design.proofs) else ()),
        *design.fails,
    )
    return Part("Choice, aim by aim", lines, said, ("Aim", "What is aimed at, bound", "Reached", "Proof"))


def _proof_line(number: int, proof: Proof, shown: Shown) -> Line:
    bound = f"bound: {_aim_words(proof, proof.bound, shown)}"
    proved = "proved best" if proof.proved else "not proved: it may be as good as the bound"
    origin = f"{proved}; {proof.note}" if proof.note else proved
    aim = proof.objective.removesuffix(", kg")  # the mass beside it has the unit of the paper
    return Line(str(number), f"{aim}\n{bound}", "", _aim_words(proof, proof.reached, shown), origin)


def _aim_words(proof: Proof, value: float, shown: Shown) -> str:
    """The value of an aim in the unit its name says."""
    if abs(value) == inf:
        return "no limit" if value > 0 else "none"
    if "mass" in proof.objective:
        return shown.of(value, "mass")
    if "margin" in proof.objective:
        return f"{value:.0f}{NO_BREAK}K"
    return f"{100 * value:.3g}{NO_BREAK}%" if "error" in proof.objective else f"{value:.0f}"


def _built_part(result: Result, design: Design, shown: Shown) -> Part:
    bands = {band.name: band for band in result.bands}
    weak = {plate.wish.name for plate in result.plates if by_the_metal(plate.wish)}
    joint_ohm = result.job.boxes.joint_ohm if result.job.boxes else 0.0
    lines = tuple(
        _built_line(section, joint_ohm, bands[section.name] if section.kind in weak else None, shown)
        for section in design.sections
    )
    titles = ("Symbol", "steps · (plate / plates side by side + joint)", "Result", "Source, status")
    return Part("Sections as built, cold", lines, titles=titles)


def _built_line(section: SectionBuild, joint_ohm: float, weak: SectionBand | None, shown: Shown) -> Line:
    plate = shown.of(section.plate_ohm, "resistance", 4)
    return Line(
        f"R({section.name})",
        f"{section.series} · ({plate} / {section.in_parallel} + {shown.of(joint_ohm, 'resistance')})",
        "",
        f"{ABOUT if weak else ''}{shown.of(section.cold_ohm, 'resistance', 4)}",
        f"{section.plates} plates of kind {section.kind}",
        shown.range(weak.metal_low_ohm, weak.metal_high_ohm, "resistance") if weak else "",
    )


def _error_parts(job: Job, worked: Worked, design: Design, shown: Shown) -> Iterator[Part]:
    aims = notch_aims(job, worked.wanted)
    labels = _each_string([got.name for got in design.notches])
    rows = zip(labels, aims, design.notches, strict=True)
    lines = tuple(_error_line(label, aim, got, shown, _spread_of(job, design, aim)) for label, aim, got in rows)
    ours = "" if "limits.notch_tolerance" in job.figures else " (our own figure, common practice, no source)"
    allowed = f"{100 * job.limits.notch_tolerance:.3g}{NO_BREAK}%"
    titles = ("Symbol", "e = R'_wanted / R'_got − 1, motors and feeder inside R'", "Error", "Source")
    yield Part(f"Notch errors, allowed {allowed} either way{ours}", lines, titles=titles)


def _each_string(names: list[str]) -> list[str]:
    """Names of the notches; those with a grid for each motor string come several times and are numbered."""
    several = {name for name in names if names.count(name) > 1}
    return [
        f"{name}, string {names[:place].count(name) + 1}" if name in several else name
        for place, name in enumerate(names)
    ]


def _spread_of(job: Job, design: Design, aim: NotchAim) -> tuple[float, float]:
    """What the metal may make of the ohms of a notch whose plates are all of one kind that is not sure; (1, 1) else."""
    live = names(aim.circuit)
    kinds = {section.kind for section in design.sections if section.name in live}
    plates = [plate for plate in job.plates if plate.name in kinds]
    return metal_spread(plates[0]) if len(plates) == 1 and by_the_metal(plates[0]) else (1.0, 1.0)


def _error_ends(aim: NotchAim, got: NotchGot, spread: tuple[float, float], shown: Shown) -> str:
    """The error with the metal at either end of its resistivity."""
    if spread == (1.0, 1.0):
        return ""
    found = []
    for share in spread:
        got_ohm = share * got.cold_ohm
        above, below = (aim.other_ohm + aim.factor * end for end in (aim.wanted_ohm, got_ohm))
        found.append(f"{shown.of(got_ohm, 'resistance', 4)}: {percent(above / below - 1.0)}")
    return "\n".join(found)


def _error_line(label: str, aim: NotchAim, got: NotchGot, shown: Shown, spread: tuple[float, float]) -> Line:
    other = f"{shown.of(aim.other_ohm, 'resistance', 4)} + " if aim.other_ohm else ""
    factor = f"{aim.factor:g} · " if aim.factor != 1.0 else ""
    above = f"{other}{factor}{shown.of(aim.wanted_ohm, 'resistance', 4)}"
    below = f"{other}{factor}{shown.of(got.cold_ohm, 'resistance', 4)}"
    return Line(
        f"e({label})",
        f"({above}) / ({below}) − 1",
        "",
        percent(got.error, 2),
        _ohms_off(aim, got),
        _error_ends(aim, got, spread, shown),
    )


def _ohms_off(aim: NotchAim, got: NotchGot) -> str:
    """The grid's own ohms, got over wanted less one, as the notch sheet has them beside the error."""
    off = f"; ohms off {percent(got.cold_ohm / aim.wanted_ohm - 1.0)}" if aim.wanted_ohm else ""
    return f"sections as built{off}"


def _peak_part(result: Result) -> Iterator[Part]:
    """Peaks of the grid as built, where there is a car."""
    lines = [
        Line(
            f"peak({notch.name})",
            f"frozen flux at most {notch.frozen_flux_a:.1f}{NO_BREAK}A",
            "",
            per_motor(notch.peak_a),
            "worst corner",
        )
        for notch in result.notches
        if notch.peak_a is not None and notch.frozen_flux_a is not None
    ]
    start = result.job.start
    if lines and start is not None:
        tolerance = result.job.limits.notch_tolerance
        way = (
            f"{start.peak_a:.4g}{NO_BREAK}A · (1 + {tolerance:.3g}); with a notch off to the low side the peak rises so"
        )
        lines.append(Line("peak allowed", way, "", per_motor(start.peak_a * (1.0 + tolerance)), "notch tolerance"))
        yield Part("Peaks on the grid as built", tuple(lines), titles=("Symbol", "Bound", "Peak", "As in the ladder"))


def _band_part(result: Result, shown: Shown) -> Iterator[Part]:
    lines = []
    for band in result.bands:
        accept = band.accept_low_ohm, band.accept_high_ohm
        metal = band.metal_low_ohm, band.metal_high_ohm
        wider = metal[1] - metal[0] > accept[1] - accept[0]
        lines.append(
            Line(
                f"{band.name}, accepted",
                "R · (1 + room of its tightest notch)",
                "",
                shown.range(*accept, "resistance", 4),
                "notch tolerance",
                bold=not wider,
            )
        )
        if metal[0] != metal[1]:
            lines.append(
                Line(
                    f"{band.name}, metal",
                    "R · ρ20 at its ends / ρ20",
                    "",
                    shown.range(*metal, "resistance"),
                    "what the foundry may deliver",
                    bold=wider,
                )
            )
    said = (
        "Bands come from the notch tolerance, not from what the metal happens to do. The larger of the two is bold.",
    )
    yield Part(f"Bands at {cold(shown.units)}", tuple(lines), said)
