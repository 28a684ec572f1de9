"""How a plate is made, in a job file: the shop's own kerf, tolerances, shrinkage, draft, allowance.

making = { kerf = "0.2 mm" }                                              # the cutting file is offset for it
making = { shrinkage = "1.0 %", draft = "2 deg", machining = "1.5 mm", hole = "cored" }      # castings
making = { fit_tolerance = "0.5 mm" }                                     # plus and minus, of what must fit
making = { width_tolerance = "0.3 mm", thickness_tolerance = "0.2 mm" }   # plus and minus, of the strip
"""

from dataclasses import replace

from griddesign.errors import InputError
from griddesign.figures import Figure
from griddesign.job.part import Part, read_figure
from griddesign.job.records import Job, PlateWish
from griddesign.metals import Metal
from griddesign.plate.kerf import CUT_BY, kerf_outline
from griddesign.plate.making import HoleMade, Making
from griddesign.plate.pattern import pattern_of
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Zigzag
from griddesign.plate.zigzag import outline_of

HOLES: tuple[HoleMade, ...] = ("cored", "drilled")
WIDEST_M = 0.02
CASTING_ONLY = ("shrinkage", "draft", "machining", "hole")


def read_making(part: Part, made_by: MadeBy | None) -> Making:
    """The table ``making`` of a plate; without one, nothing of the shop's own is known."""
    inner = part.table("making")
    if inner is None:
        return Making()
    _refuse_strange(inner, made_by)
    making = Making(
        kerf=inner.figure("kerf", "length", required=False, above=0.0, most=WIDEST_M),
        width_tolerance=inner.figure("width_tolerance", "length", required=False, above=0.0),
        thickness_tolerance=inner.figure("thickness_tolerance", "length", required=False, above=0.0),
        shrinkage=inner.figure("shrinkage", "fraction", required=False, least=0.0, most=0.05),
        draft=inner.figure("draft", "angle", required=False, least=0.0, most=0.35),
        machining=inner.figure("machining", "length", required=False, least=0.0, most=0.02),
        hole=inner.choice("hole", HOLES) if inner.has("hole") else None,
        fit_tolerance=inner.figure("fit_tolerance", "length", required=False, above=0.0, most=WIDEST_M),
    )
    inner.mark("hole")
    inner.close()
    return making


def check_making(part: Part, shape: Zigzag, metal: Metal, made_by: MadeBy, making: Making) -> None:
    """Complain where the plate as drawn cannot be made so: a kerf wider than a slot, a draft that closes a gap."""
    kerf = making.kerf
    if kerf is not None and made_by in CUT_BY:
        part.attempt("making", lambda: kerf_outline(outline_of(shape), kerf.value))
    if made_by == "cast" and making.draft is not None:
        part.attempt("making", lambda: pattern_of(shape, metal, making))


def with_kerf(job: Job, text: str) -> Job:
    """The job with the cutting files of all its cut plates offset for a kerf, as ``0.2 mm``, in place of the job's.

    Raises QuantityError where the text is no length, InputError where it is over 20 mm or no plate is cut.
    """
    kerf = kerf_asked(text)
    if not any(plate.made_by in CUT_BY for plate in job.plates):
        raise InputError("no plate of this job is cut, so there is no kerf", hint="Leave the kerf out.")
    plates = (plate_with_kerf(plate, kerf) if plate.made_by in CUT_BY else plate for plate in job.plates)
    return replace(job, plates=tuple(plates), asked=(*job.asked, f"kerf {text}"))


def kerf_asked(text: str) -> Figure:
    """A kerf given with a command, m. Raises QuantityError where it is no length, InputError over 20 mm."""
    kerf = read_figure(text, "length", "asked for with the command")
    if not 0 < kerf.low <= kerf.high <= WIDEST_M:
        raise InputError(f"a kerf of {text} cannot be", hint="Above zero, at most 20 mm.")
    return kerf


def plate_with_kerf(plate: PlateWish, kerf: Figure | None) -> PlateWish:
    """The plate with its cutting file offset for a kerf; as it was for None. Raises InputError for one not cut."""
    if kerf is None:
        return plate
    if plate.made_by not in CUT_BY:
        raise InputError(f"a plate that is {_done(plate.made_by)} has no kerf", hint="Leave the kerf out.")
    return replace(plate, making=replace(plate.making, kerf=kerf))


def _refuse_strange(inner: Part, made_by: MadeBy | None) -> None:
    """A key that says nothing about this way of making is a mistake."""
    if made_by is None:
        return
    if inner.has("kerf") and made_by not in CUT_BY:
        inner.complain("kerf", f"a plate that is {_done(made_by)} has no kerf", "Leave it out.")
    for name in CASTING_ONLY:
        if inner.has(name) and made_by != "cast":
            inner.complain(
                name, f"a plate that is {_done(made_by)} needs no {name}", "It is for castings: leave it out."
            )


def _done(made_by: MadeBy) -> str:
    return made_by if made_by in ("cast", "stamped") else f"cut by {made_by}"
