"""The answer of ``griddesign retap`` as JSON: the keys of a design, and beside them what stood before."""

from collections.abc import Mapping, Sequence

from griddesign.found.records import AsFound
from griddesign.found.tapped import TappedSection, taps_placed, unused
from griddesign.grid.records import SectionBuild, Tap
from griddesign.judge.bands import shared_out
from griddesign.judge.heat_cases import deciding, hottest
from griddesign.judge.retapping.networks import NetworkRow, from_line_a, most_a, networks_of
from griddesign.judge.retapping.records import NotchAt, Option, RetapResult, Tapping
from griddesign.papers.as_json import heat_json, notch_wanted_json
from griddesign.papers.faults_json import faults_json
from griddesign.papers.json_parts import Json, findings_json, finite, head_json
from griddesign.papers.measure_json import measure_json

WITH_EXCHANGES = "smallest worst notch error with {:.2g} % added for each exchange of plates; then "
OBJECTIVE = "smallest worst notch error; then least sum of squares; then fewest taps moved; then fewest plates bypassed"


def retap_json(result: RetapResult) -> Json:
    """What ``griddesign retap`` prints and ``result.json`` holds."""
    job, found = result.job, result.found
    return {
        **head_json(job, result.version, result.fingerprint),
        "holds": result.holds,
        "notches": notches_json(result),
        "networks": [_network(one) for one in networks_of(result)],
        "sections": sections_json(result),
        "taps": taps_json(result),
        "proof": _proof(result),
        "heat": [heat_json(row) for row in (result.after.run.heat if result.after else ())],
        "findings": findings_json(result.findings),
        "plates": plates_json(result),
        "readings": _readings(found),
        "disagreements": _disagreements(found),
        "plates_missing_from_readings": _one_out(found),
        "unused": _unused(result),
        "swaps": [list(pair) for pair in (result.answer.swaps if result.answer else ())],
        "spares_fitted": [
            {"spare": name, "plate": number} for name, number in (result.answer.spares if result.answer else ())
        ],
        "tonight": [_option(result, option) for option in result.options],
        "cures": [
            {"section": one.section, "ohm": one.ohm, "plates": one.plates, "each_ohm": one.each_ohm}
            for one in result.cures
        ],
        "cured": result.cured if result.cures else None,
        "remarks": list(result.remarks),
        "measure_next": measure_json(result.measure_next),
        "faults": faults_json(result.faults),
        "not_checked": list(result.not_checked),
    }


def notches_json(result: RetapResult) -> list[Json]:
    """Every notch: wanted, today, and on the new taps."""
    rows = []
    for notch in result.worked.wanted.notches:
        row = notch_wanted_json(notch)
        before, after = (_notch(tapping, notch.name) for tapping in (result.before, result.after))
        wanted = notch.wanted_ohm
        row["cold_ohm"] = finite(after.cold_ohm) if after else None if wanted > 0 else 0.0
        row["error_percent"] = 100 * (after.cold_ohm / wanted - 1) if after and wanted > 0 else None
        row["current_error_percent"] = 100 * after.error if after else None
        row["current_error_low_percent"] = 100 * after.error_low if after else None
        row["current_error_high_percent"] = 100 * after.error_high if after else None
        row["peak_as_run_a"] = _peak(result.after, notch.name)
        row["was_ohm"] = finite(before.cold_ohm) if before else None
        row["was_current_error_percent"] = 100 * before.error if before else None
        row["was_open"] = before.open if before else None
        row["was_peak_as_run_a"] = _peak(result.before, notch.name)
        rows.append(row)
    return rows


def _network(row: NetworkRow) -> Json:
    return {
        "name": row.name,
        "why": row.why,
        "was_line_a": finite(from_line_a(row.before)),
        "line_a": finite(from_line_a(row.after)),
        "was_motor_a": finite(most_a(row.before)),
        "motor_a": finite(most_a(row.after)),
    }


def _notch(tapping: Tapping | None, name: str) -> NotchAt | None:
    return next((notch for notch in tapping.notches if notch.name == name), None) if tapping else None


def _peak(tapping: Tapping | None, name: str) -> float | None:
    return finite(tapping.run.peak_a.get(name)) if tapping else None


def bands(result: RetapResult) -> Mapping[str, tuple[float, float]]:
    """Ohms between which each section as tapped is accepted, from the notch tolerance shared out."""
    if result.after is None:
        return {}
    built = [SectionBuild(one.name, "", 1, 1, one.cold_ohm, one.cold_ohm) for one in result.after.sections]
    room = shared_out(result.job, result.worked.wanted, built)
    return {
        one.name: (one.cold_ohm * (1.0 + room[one.name][0]), one.cold_ohm * (1.0 + room[one.name][1])) for one in built
    }


def sections_json(result: RetapResult) -> list[Json]:
    """Every section on the new taps; its metal's range is what the readings may be off by."""
    if result.after is None:
        return []
    accept, before = bands(result), {one.name: one for one in (result.before.sections if result.before else ())}
    return [_section(one, accept[one.name], before.get(one.name)) for one in result.after.sections]


def _section(one: TappedSection, accept: tuple[float, float], before: TappedSection | None) -> Json:
    return {
        "name": one.name,
        "plates": len(one.plates),
        "in_parallel": one.in_parallel,
        "cold_ohm": one.cold_ohm,
        "accept_low_ohm": accept[0],
        "accept_high_ohm": accept[1],
        "metal_low_ohm": one.cold_ohm - one.half_width_ohm,
        "metal_high_ohm": one.cold_ohm + one.half_width_ohm,
        "from_after_plate": one.from_joint,
        "to_after_plate": one.to_joint,
        "jumped": list(one.jumped),
        "was_ohm": finite(before.cold_ohm) if before else None,
        "was_plates": len(before.plates) if before else None,
    }


def was_joint(result: RetapResult, name: str) -> int | None:
    """Where a tap sits today; of two taps that were one, that one."""
    present = result.question.rules.present
    if name in present:
        return present[name]
    joined = next((tap for tap in present if "/" in tap and _half_of(name, tap)), None)
    return None if joined is None else present[joined]


def _half_of(name: str, joined: str) -> bool:
    before, after = joined.split("/", 1)
    return name in (f"end of {before}", f"start of {after}")


def placed(result: RetapResult) -> tuple[Tap, ...]:
    """The new taps where the bench finds them."""
    if result.after is None:
        return ()
    return taps_placed(result.found.plates, result.after.taps, result.question.rules.sides)


def placed_today(result: RetapResult) -> Mapping[str, Tap]:
    """Each new tap's place today, by its name."""
    names = [tap.name for tap in placed(result)]
    joints = [(name, joint) for name in names if (joint := was_joint(result, name)) is not None]
    return {tap.name: tap for tap in taps_placed(result.found.plates, joints, result.question.rules.sides)}


def taps_json(result: RetapResult) -> list[Json]:
    """Every tap, and after which plate it was."""
    today = placed_today(result)
    return [_tap(tap, today.get(tap.name)) for tap in placed(result)]


def _tap(tap: Tap, was: Tap | None) -> Json:
    return {
        "name": tap.name,
        "joint": list(tap.joint),
        "after_plate": tap.after_plate,
        "box": tap.box,
        "side": tap.side,
        "was_after_plate": was.after_plate if was else None,
        "was_joint": list(was.joint) if was else None,
        "was_box": was.box if was else None,
        "moved": was is not None and was.after_plate != tap.after_plate,
    }


def _proof(result: RetapResult) -> Json | None:
    answer = result.answer
    if answer is None:
        return None
    rules = result.question.rules
    priced = WITH_EXCHANGES.format(100 * rules.worth) if rules.may_swap or rules.spares else ""
    return {
        "objective": f"{priced}{OBJECTIVE}",
        "reached": answer.reached,
        "exchange_cost": answer.exchange_cost,
        "bound": finite(answer.bound),
        "proved": answer.proved,
        "seconds": answer.seconds,
        "note": answer.note,
    }


def plates_json(result: RetapResult) -> list[Json]:
    """Every plate as found, and in which section it stands before and after."""
    before, after = (_by_plate(tapping) for tapping in (result.before, result.after))
    estimated = frozenset(result.found.estimated)
    return [
        {
            "plate": number,
            "box": plate.box,
            "position": plate.position,
            "kind": plate.kind,
            "cold_ohm": finite(plate.ohm),
            "half_width_ohm": plate.half_width_ohm,
            "state": plate.state,
            "joined": plate.joined or None,
            "by_kind_only": number in estimated,
            "was_in": before.get(number),
            "section": after.get(number),
        }
        for number, plate in enumerate(result.found.plates.plates, start=1)
    ]


def _by_plate(tapping: Tapping | None) -> dict[int, str]:
    return {number: one.name for one in (tapping.sections if tapping else ()) for number in one.plates}


def _readings(found: AsFound) -> list[Json]:
    return [
        {
            "line": one.line,
            "over": one.words,
            "read_ohm": one.read_ohm,
            "at_c": one.t_c,
            "cold_ohm": one.ohm,
            "half_width_ohm": one.half_width_ohm,
            "method": one.method,
            "accuracy_assumed": one.assumed,
            "used": one.used,
        }
        for one in found.readings
    ]


def _disagreements(found: AsFound) -> list[Json]:
    return [
        {
            "reading": one.reading,
            "cold_ohm": one.ohm,
            "others_ohm": one.others_ohm,
            "off_ohm": one.off_ohm,
            "may_differ_ohm": one.may_differ_ohm,
            "times_its_deviation": one.times,
            "fits_as_badly": list(one.rivals),
            "why": one.why,
        }
        for one in found.disagreements
    ]


def _one_out(found: AsFound) -> list[Json]:
    return [
        {
            "reading": one.reading,
            "plates": one.plates,
            "reads_as_plates": one.plates - one.out,
            "cold_ohm": one.ohm,
            "all_in_circuit_ohm": one.all_ohm,
            "known_within_percent": 100 * one.share,
            "needed_within_percent": 100 * one.needed_share,
            "verdict": "one plate not in circuit" if one.shown and one.out == 1 else "not shown",
            "rival": "" if one.shown else "scatter of the batch",
            "candidates": list(one.candidates),
        }
        for one in found.one_out
    ]


def _unused(result: RetapResult) -> list[Json]:
    plates = result.found.plates
    return [
        {
            "plate": number,
            "box": plates.plates[number - 1].box,
            "position": plates.plates[number - 1].position,
            "cold_ohm": finite(plates.plates[number - 1].ohm),
            "why": why,
        }
        for number, why in (unused(plates, result.after.sections) if result.after else ())
    ]


def _option(result: RetapResult, option: Option) -> Json:
    tapping = option.tapping
    return {
        "name": option.name,
        "verdict": str(option.verdict),
        "why": option.why,
        "steps": list(option.steps),
        "notes": list(option.notes),
        "temporary": option is not result.options[0],
        "valid_until": (result.job.retap.valid_until if result.job.retap else "") or None,
        "notches": [
            {
                "name": notch.name,
                "cold_ohm": finite(notch.cold_ohm),
                "current_error_percent": 100 * notch.error,
                "open": notch.open,
                "peak_as_run_a": _peak(tapping, notch.name),
            }
            for notch in (tapping.notches if tapping else ())
        ],
        "moved": [{"name": name, "was_after_plate": was, "after_plate": joint} for name, was, joint in option.moved],
        "heat": _hottest(tapping),
        "shown_safe": tapping is not None and tapping.run.heated and str(option.verdict) == "holds",
    }


def _hottest(tapping: Tapping | None) -> Sequence[Json]:
    """Hottest moment and shortest hold of every part of the grid."""
    if tapping is None:
        return []
    return [
        {
            "section": name,
            "case": row.case,
            "hot_c": finite(row.hot_c),
            "limit_c": row.limit_c,
            "margin_k": finite(row.margin_k),
            "shortest_hold_s": tapping.run.hold_s.get(name),
            "runs_away": row.runs_away,
        }
        for name, row in hottest(deciding(tapping.run.heat)).items()
    ]
