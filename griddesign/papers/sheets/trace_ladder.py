"""The working of the ladder: wanted ohms of every notch and section, currents, speeds, pull."""

from collections.abc import Iterator

from griddesign.choose.from_job import Worked
from griddesign.job.records import Job
from griddesign.judge.records import Result
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.papers.sheets.trace import Line, Part, unsure
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import copper_ohm
from griddesign.traction.ladder import KMH_PER_M_S
from griddesign.traction.problem import grouped
from griddesign.traction.records import GivenOhms, Ladder, Motor, Notch, NotchWanted

_RECURSION = "series motor's starter: Theraja and Theraja, vol. II, Ex 30.56"
_PER_MOTOR = f"A{NO_BREAK}per{NO_BREAK}motor"
_FROM_LINE = f"A{NO_BREAK}from{NO_BREAK}line"


def ladder_parts(result: Result) -> tuple[Part, ...]:
    """The wanted ohms of notches and sections; marked where they rest on figures that are not sure."""
    if result.worked is None:
        return ()
    shown = Shown(result.job.paper.units)
    parts = tuple(_wanted_parts(result.job, result.worked, shown))
    if not result.unknowns:
        return parts
    keys = ", ".join(unknown.key for unknown in result.unknowns)
    why = f"≈ here: it rests on {keys}, which are not sure; what their ends do stands under Measure next."
    return tuple(unsure(part, why) for part in parts)


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
    yield _sections_part(worked, shown)


def _given_part(job: Job, wanted: GivenOhms, shown: Shown) -> Part:
    lines = tuple(
        Line(
            f"R({row.name})",
            f"sections {', '.join(row.sections)}" if row.sections else "no section in circuit",
            "",
            shown.of(row.wanted_ohm, "resistance", 4),
            "the job" if notch.wanted_ohm is not None else "a plain lead",
        )
        for notch, row in zip(grouped(job.notches), wanted.notches, strict=True)
    )
    return Part("Wanted ohms of the notches, given", lines, _notes(wanted))


def _notes(wanted: Ladder | GivenOhms) -> tuple[str, ...]:
    return tuple(words for words in (wanted.note, *wanted.remarks) if words)


def _equation_part(job: Job, wanted: Ladder, shown: Shown) -> Part:
    assert job.line and job.motor and job.start
    said = (
        "One motor string's equation: V = I·R' + s·k(I)·n, with s motors in series, p strings side by side, I per "
        "motor, n the speed of the motors, V ahead of the feeder. R' = s·Rm + p·(Rg + Rf) with a grid all strings "
        "share, s·Rm + Rg + p·Rf with a grid for each string.",
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


_FIXED = "Fixed resistors are in R': Rx ahead of all motor strings, Ry in each of them, at their stated ohms."
_WEAKENED = "A notch with a weakened field: k is read at its share of the current, k(share·I)."


def _notches_part(job: Job, wanted: Ladder, shown: Shown) -> Part:
    said = (
        "R' counts motors warm and grid cold. Peak: the root of I·R' + s·k(I)·n = V at the speed of arriving, in "
        "its worst corner, which is named. Frozen flux: [V − (s'/s)(V − Iv·R'(k))]/R'(k+1), an upper bound of the "
        "peak, since a solid frame delays the flux. Speed n on leaving: (V − Iv·R')/(s·k(Iv)). Pull at the rim at "
        "the peak: motors·k(I)·I·gear·efficiency·2/D.",
    )
    rows = zip(grouped(job.notches), wanted.notches, strict=True)
    lines = tuple(line for notch, row in rows for line in _notch_lines(job, notch, row, shown))
    weak = any(notch.field != 1.0 for notch in job.notches)
    fixed = any(notch.ahead_ohm or notch.string_ohm for notch in job.notches)
    return Part("Ladder: notch by notch", lines, (*said, *([_WEAKENED] if weak else []), *([_FIXED] if fixed else [])))


def _notch_lines(job: Job, notch: Notch, row: NotchWanted, shown: Shown) -> Iterator[Line]:
    yield _total(job, notch, row, shown)
    yield _arrival(job, row)
    yield _leaving(job, notch, row, shown)
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
    motor_ohm = notch.motor_ohm or job.motor.resistance_ohm
    motor, feeder = shown.of(motor_ohm, "resistance"), shown.of(job.line.feeder_ohm, "resistance")
    grid = shown.of(row.wanted_ohm, "resistance", 4)
    if notch.common is not None:
        formula, put_in = "s·Rm + p·(Rg + Rf)", f"{series} · {motor} + {parallel} · ({grid} + {feeder})"
    else:
        formula, put_in = "s·Rm + Rg + p·Rf", f"{series} · {motor} + {grid} + {parallel} · {feeder}"
    if notch.ahead_ohm:
        formula, put_in = f"{formula} + p·Rx", f"{put_in} + {parallel} · {shown.of(notch.ahead_ohm, 'resistance', 4)}"
    if notch.string_ohm:
        formula, put_in = f"{formula} + Ry", f"{put_in} + {shown.of(notch.string_ohm, 'resistance', 4)}"
    live = f"Rg of {', '.join(row.sections)}" if row.sections else "no section in circuit"
    return Line(f"R'({row.name})", formula, put_in, shown.of(row.total_ohm, "resistance", 4), live)


def _arrival(job: Job, row: NotchWanted) -> Line:
    assert job.start is not None
    bound = f"frozen flux at most {row.frozen_flux_a:.1f}{NO_BREAK}A; {row.line_peak_a:.1f}{NO_BREAK}{_FROM_LINE}"
    asked = f"asked at most {job.start.peak_a:.4g}{NO_BREAK}A"
    return Line(f"peak({row.name})", f"{row.corner}; {bound}", "", per_motor(row.peak_a), asked)


def _leaving(job: Job, notch: Notch, row: NotchWanted, shown: Shown) -> Line:
    assert job.line is not None
    symbol, speed = f"n({row.name})", shown.of(row.speed_kmh / KMH_PER_M_S, "speed")
    if row.passed:
        return Line(symbol, "passed: the peak lies under Iv, left as fast as it was reached", "", speed)
    volts, total = shown.of(job.line.nominal_v, "voltage"), shown.of(row.total_ohm, "resistance", 4)
    flux = "k(Iv)" if notch.field == 1.0 else f"k({notch.field:.3g}·Iv)"
    put_in = f"({volts} − {row.valley_a:.2f}{NO_BREAK}A · {total}) / ({row.grouping.series} · {flux})"
    return Line(symbol, put_in, "", f"{row.leave_rad_s:.2f}{NO_BREAK}rad/s", f"{speed} at the wheel")


def _sections_part(worked: Worked, shown: Shown) -> Part:
    lines = tuple(
        Line(f"r({name})", _warmth(worked, name), "", shown.of(ohm, "resistance", 4), "from the notches")
        for name, ohm in worked.wanted.sections
    )
    said = () if worked.settled else ("Ladder and choice did not settle: the last round stands.",)
    return Part("Wanted ohms of the sections, cold", lines, said)


def _warmth(worked: Worked, name: str) -> str:
    """What the peaks allow for: the section hot at the settled duty."""
    ratio = worked.hot_ratio.get(name)
    return "" if ratio is None else f"peaks allow for {ratio:.3f} of it, hot at the settled duty"
