"""The holds of a start as JSON, what the crew is told, and the timber near the bank."""

from collections.abc import Sequence

from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.judge.crew import no_crew_card
from griddesign.judge.timber import TimberHeat
from griddesign.papers.json_parts import Json
from griddesign.papers.sheets.crew import crew_holds, crew_words
from griddesign.papers.sheets.held import held
from griddesign.papers.sheets.shown import NO_BREAK


def holds_json(rows: Sequence[HeatRow]) -> list[Json]:
    """Every hold once, the string that gives out first where a notch has a grid for each; ``hold_s`` None for ever."""
    return [
        {
            "notch": one.notch,
            "case": one.case,
            "line_v": one.line_v,
            "ambient_c": one.ambient_c,
            "hold_s": one.hold_s,
            "hold_bound_s": one.bound_s,
            "runs_away": one.runs_away,
            "breaker_opens": one.breaker_opens,
            "worst_end": one.worst_end,
        }
        for one in held(rows)
    ]


def timber_json(timber: Sequence[TimberHeat]) -> list[Json]:
    """Floor and hanger beam: what shines on them, and how hot their faces get, at most and by the duty's mean heat."""
    return [
        {
            "what": one.what,
            "box": one.box,
            "distance_m": one.distance_m,
            "irradiance_w_m2": one.irradiance_w_m2,
            "view_factor": one.seen,
            "plume_k": one.plume_k,
            "face_c": one.face_c,
            "mean_face_c": one.mean_face_c,
            "choked": one.choked,
        }
        for one in timber
    ]


def crew_json(job: Job, rows: Sequence[HeatRow]) -> Json:
    """The crew's holds: rounded down to 5 s, 0 for "pass through", None for no limit; ``refused`` says why there are
    none."""
    refused = no_crew_card(job, rows)
    opens = {row.notch for row in rows if row.breaker_opens}
    return {
        "refused": list(refused),
        "notches": [
            {
                "notch": notch,
                "hold_s": hold_s,
                "words": crew_words(hold_s).replace(NO_BREAK, " "),
                "breaker_opens": notch in opens,
            }
            for notch, hold_s in ({} if refused else crew_holds(rows)).items()
        ],
    }
