"""The working of the ladder: wanted ohms of every notch, peaks, what was chosen, what came of it, the bands."""

from collections.abc import Iterator
from math import inf

from griddesign.choose.from_job import Worked, notch_aims
from griddesign.choose.problem import NotchAim
from griddesign.choose.records import Design, NotchGot, Proof
from griddesign.job.records import Job
from griddesign.judge.records import Result
from griddesign.papers.sheets.shown import NO_BREAK, Shown, percent
from griddesign.papers.sheets.trace import Line, Part
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import copper_ohm
from griddesign.traction.ladder import KMH_PER_M_S
from griddesign.traction.records import GivenOhms, Ladder, Motor, Notch, NotchWanted

_RECURSION = "series motor's starter: Theraja and Theraja, vol. II, Ex 30.56"
_PER_MOTOR = f"A{NO_BREAK}per{NO_BREAK}motor"
_FROM_LINE = f"A{NO_BREAK}from{NO_BREAK}line"


def ladder_parts(result: Result) -> tuple[Part, ...]:
    """Wanted ohms, choice, errors, bands: as much of it as the job came to."""
    if result.worked is None:
        return ()
    shown = Shown(result.job.paper.units)
    parts = [*_wanted_parts(result.job, result.worked, shown), _sections_wanted(result.worked, shown)]
    if result.worked.design is not None:
        parts += [_choice_part(result.worked.design, shown), _built_part(result.job, result.worked.design, shown)]
        parts += [_error_part(result.job, result.worked, result.worked.design, shown), *_peak_part(result)]
        parts += _band_part(result, shown)
    return tuple(parts)


def per_motor(amperes: float) -> str:
    """A current of one motor."""
    return f"{amperes:.1f}{NO_BREAK}{_PER_MOTOR}"


# --- what is wanted --------------------------------------------------------------------------------------------------


def _wanted_parts(job: Job, worked: Worked, shown: Shown) -> Iterator[Part]:
    if isinstance(worked.wanted, Ladder):
        yield _equation_part(job, worked.wanted, shown)
        yield _notches_part(job, worked.wanted, shown)
    else:
        yield _given_part(job, worked.wanted, shown)


def _given_part(job: Job, wanted: GivenOhms, shown: Shown) -> Part:
    lines = tuple(
        Line(
            f"R({row.name})",
            f"sections {', '.join(row.sections)}" if row.sections else "no section in circuit",
            "",
            shown.of(row.wanted_ohm, "resistance", 4),
            "the job" if notch.wanted_ohm is not None else "a plain lead",
        )
        for notch, row in zip(job.notches, wanted.notches, strict=True)
    )
    return Part("Wanted ohms of the notches, given", lines, _notes(wanted))


def _notes(wanted: Ladder | GivenOhms) -> tuple[str, ...]:
    return tuple(words for words in (wanted.note, *wanted.remarks) if words)


def _equation_part(job: Job, wanted: Ladder, shown: Shown) -> Part:
    assert job.line and job.motor and job.start
    said = (
        "One motor string's equation: V = I·R' + s·k(I)·n, with s motors in series, p strings side by side, I per motor, "
        "n the speed of the motors, V ahead of the feeder. R' = s·Rm + p·(Rg + Rf) with a grid all strings share, "
        "s·Rm + Rg + p·Rf with a grid for each string.",
        *_notes(wanted),
    )
    first = wanted.notches[0]
    volts, first_a = shown.of(job.line.nominal_v, "voltage"), f"{job.start.first_notch_a:.4g}{NO_BREAK}A"
    lines = (
        _cold_motor(job, job.motor, shown),
        Line(
            "R'(1)",
            "V / I_first, an equality",
            f"{volts} / {first_a}",
            shown.of(first.total_ohm, "resistance", 4),
            f"standing start; {_RECURSION}",
        ),
        _valley(job, wanted),
        *_flux_lines(job.motor, wanted.valley_a, job.start.peak_a),
    )
    return Part("Ladder: what holds for every notch", lines, said)


def _cold_motor(job: Job, motor: Motor, shown: Shown) -> Line:
    """The motor that has stood, as the peaks are judged with."""
    cold_c = min(job.duty.ambient_low_c, motor.resistance_at_c)
    cold_ohm = copper_ohm(motor.resistance_ohm, motor.resistance_at_c, cold_c)
    warm = shown.of(motor.resistance_ohm, "resistance")
    put_in = f"{warm} · (234.5 + {cold_c:g}) / (234.5 + {motor.resistance_at_c:g})"
    return Line(
        "Rm, motor cold",
        "Rm (234.5 + T)/(234.5 + T stated)",
        put_in,
        shown.of(cold_ohm, "resistance"),
        "copper, IEC 60034-1 (from memory)",
    )


def _valley(job: Job, wanted: Ladder) -> Line:
    assert job.start is not None
    if job.start.valley_a is not None:
        return Line("Iv, valley", "given", "", per_motor(wanted.valley_a), "the job")
    found = "proved the largest for plain series" if wanted.exact else "not proved, see the note above"
    return Line(
        "Iv, valley",
        "the largest at which every peak stays within Ip, less 1 % where sections of unlike heat starve one another",
        "",
        per_motor(wanted.valley_a),
        f"linear programme for each valley; {found}",
    )


def _flux_lines(motor: Motor, valley_a: float, peak_a: float) -> tuple[Line, ...]:
    curve = MotorCurve(motor.magnetisation).held_above()
    return tuple(
        Line(
            f"k({name})",
            f"motor curve at {amperes:.1f}{NO_BREAK}A",
            "",
            f"{curve.k(amperes):.4g}{NO_BREAK}V per rad/s",
            "the job; monotone cubic",
        )
        for name, amperes in (("Iv", valley_a), ("Ip", peak_a))
    )


def _notches_part(job: Job, wanted: Ladder, shown: Shown) -> Part:
    said = (
        "R' counts motors warm and grid cold. Peak: the root of I·R' + s·k(I)·n = V at the speed of arriving, in its worst "
        "corner, which is named. Frozen flux: [V − (s'/s)(V − Iv·R'(k))]/R'(k+1), an upper bound of the peak, since a "
        "solid frame delays the flux. Speed n on leaving: (V − Iv·R')/(s·k(Iv)). Pull at the rim at the peak: "
        "motors·k(I)·I·gear·efficiency·2/D.",
    )
    rows = zip(job.notches, wanted.notches, strict=True)
    lines = tuple(line for notch, row in rows for line in _notch_lines(job, notch, row, shown))
    return Part("Ladder: notch by notch", lines, said)


def _notch_lines(job: Job, notch: Notch, row: NotchWanted, shown: Shown) -> Iterator[Line]:
    yield _total(job, notch, row, shown)
    yield _arrival(job, row)
    yield _leaving(job, row, shown)
    yield Line(
        f"pull({row.name})",
        f"{row.grouping.series * row.grouping.parallel} motors at the peak",
        "",
        shown.of(row.effort_n, "force"),
        "motor curve, car",
    )


def _total(job: Job, notch: Notch, row: NotchWanted, shown: Shown) -> Line:
    assert job.line and job.motor
    series, parallel = row.grouping.series, row.grouping.parallel
    motor, feeder = shown.of(job.motor.resistance_ohm, "resistance"), shown.of(job.line.feeder_ohm, "resistance")
    grid = shown.of(row.wanted_ohm, "resistance", 4)
    if notch.common is not None:
        formula, put_in = "s·Rm + p·(Rg + Rf)", f"{series} · {motor} + {parallel} · ({grid} + {feeder})"
    else:
        formula, put_in = "s·Rm + Rg + p·Rf", f"{series} · {motor} + {grid} + {parallel} · {feeder}"
    live = f"Rg of {', '.join(row.sections)}" if row.sections else "no section in circuit"
    return Line(f"R'({row.name})", formula, put_in, shown.of(row.total_ohm, "resistance", 4), live)


def _arrival(job: Job, row: NotchWanted) -> Line:
    assert job.start is not None
    bound = f"frozen flux at most {row.frozen_flux_a:.1f}{NO_BREAK}A; {row.line_peak_a:.1f}{NO_BREAK}{_FROM_LINE}"
    asked = f"asked at most {job.start.peak_a:.4g}{NO_BREAK}A"
    return Line(f"peak({row.name})", f"{row.corner}; {bound}", "", per_motor(row.peak_a), asked)


def _leaving(job: Job, row: NotchWanted, shown: Shown) -> Line:
    assert job.line is not None
    symbol, speed = f"n({row.name})", shown.of(row.speed_kmh / KMH_PER_M_S, "speed")
    if row.passed:
        return Line(symbol, "passed: the peak lies under Iv, left as fast as it was reached", "", speed)
    volts, total = shown.of(job.line.nominal_v, "voltage"), shown.of(row.total_ohm, "resistance", 4)
    put_in = f"({volts} − {row.valley_a:.2f}{NO_BREAK}A · {total}) / ({row.grouping.series} · k(Iv))"
    return Line(symbol, put_in, "", f"{row.leave_rad_s:.2f}{NO_BREAK}rad/s", f"{speed} at the wheel")


def _sections_wanted(worked: Worked, shown: Shown) -> Part:
    lines = tuple(
        Line(f"r({name})", "", "", shown.of(ohm, "resistance", 4), "from the notches")
        for name, ohm in worked.wanted.sections
    )
    titles = ("Section", "", "Wanted", "Source")
    hot = ", ".join(f"{name} {ratio:.3f}" for name, ratio in worked.hot_ratio.items())
    said = (
        (f"Hot over cold ohms of the sections at the settled duty, which the peaks allow for: {hot}.",) if hot else ()
    )
    settled = () if worked.settled else ("Ladder and choice did not settle: the last round stands.",)
    return Part("Wanted ohms of the sections, cold", lines, (*said, *settled), titles)


# --- what was chosen -------------------------------------------------------------------------------------------------


def _choice_part(design: Design, shown: Shown) -> Part:
    lines = tuple(_proof_line(number, proof, shown) for number, proof in enumerate(design.proofs, start=1))
    said = (
        "Tolerance of the notches, limits of heat and room in the boxes are constraints. Inside them each aim is the "
        "best that the aims before it leave; the bound is what nothing can beat."
        if lines
        else "Counts were given in the job: nothing was chosen.",
        *design.fails,
    )
    return Part("Choice, aim by aim", lines, said, ("Aim", "What is aimed at, bound", "Reached", "Proof"))


def _proof_line(number: int, proof: Proof, shown: Shown) -> Line:
    bound = f"bound: {_aim_words(proof, proof.bound, shown)}"
    proved = "proved best" if proof.proved else "not proved: it may be as good as the bound"
    origin = f"{proved}; {proof.note}" if proof.note else proved
    return Line(str(number), f"{proof.objective}\n{bound}", "", _aim_words(proof, proof.reached, shown), origin)


def _aim_words(proof: Proof, value: float, shown: Shown) -> str:
    """The value of an aim in the unit its name says."""
    if abs(value) == inf:
        return "no limit" if value > 0 else "none"
    if "mass" in proof.objective:
        return shown.of(value, "mass")
    if "margin" in proof.objective:
        return f"{value:.0f}{NO_BREAK}K"
    return f"{100 * value:.3g}{NO_BREAK}%" if "error" in proof.objective else f"{value:.0f}"


def _built_part(job: Job, design: Design, shown: Shown) -> Part:
    joint_ohm = job.boxes.joint_ohm if job.boxes else 0.0
    lines = []
    for section in design.sections:
        plate = shown.of(section.plate_ohm, "resistance", 4)
        put_in = f"{section.series} · ({plate} / {section.in_parallel} + {shown.of(joint_ohm, 'resistance')})"
        lines.append(
            Line(
                f"R({section.name})",
                put_in,
                "",
                shown.of(section.cold_ohm, "resistance", 4),
                f"{section.plates} plates of kind {section.kind}",
            )
        )
    return Part("Sections as built, cold", tuple(lines), ("R = steps · (plate / plates side by side + joint).",))


def _error_part(job: Job, worked: Worked, design: Design, shown: Shown) -> Part:
    aims = notch_aims(job, worked.wanted)
    lines = tuple(_error_line(aim, got, shown) for aim, got in zip(aims, design.notches, strict=True))
    said = (
        f"e = R'_wanted / R'_got − 1 is what the current feels, motors and feeder inside R'; allowed "
        f"{100 * job.limits.notch_tolerance:.3g}{NO_BREAK}% either way"
        f"{'' if 'limits.notch_tolerance' in job.figures else ' (our own figure, common practice, no source)'}.",
    )
    return Part("Notch errors", lines, said)


def _error_line(aim: NotchAim, got: NotchGot, shown: Shown) -> Line:
    other = f"{shown.of(aim.other_ohm, 'resistance', 4)} + " if aim.other_ohm else ""
    factor = f"{aim.factor:g} · " if aim.factor != 1.0 else ""
    above = f"{other}{factor}{shown.of(aim.wanted_ohm, 'resistance', 4)}"
    below = f"{other}{factor}{shown.of(got.cold_ohm, 'resistance', 4)}"
    return Line(
        f"e({got.name})",
        "R'_wanted / R'_got − 1",
        f"({above}) / ({below}) − 1",
        percent(got.error, 2),
        "sections as built",
    )


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
    if lines:
        yield Part("Peaks on the grid as built", tuple(lines), ("As in the ladder, with the ohms as built.",))


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
    yield Part("Bands at 20 °C", tuple(lines), said)
