"""A plate read from an outline as JSON; keys carry units, places are the drawing's, in millimetres."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from griddesign.figures import Figure
from griddesign.papers.json_parts import Json
from griddesign.plate.foreign import ForeignPlate, Piece, sentences
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.outline import Point
from griddesign.plate.outlined import HotSpot, SolvedOutline, doubts
from griddesign.plate.uneven import area_of_m2, laid_out

if TYPE_CHECKING:
    from griddesign.plate.outline_order import OutlineOrder
    from griddesign.plate.outline_rules import RuleCheck

PaperUnits = Literal["mm", "inch"]
HOT_C = (100, 200, 300, 400)


@dataclass(frozen=True, slots=True)
class OutlineReport:
    """What ``griddesign plate OUTLINE.dxf`` came to: the file's name, what was read, what was solved, its mark; where
    ohms were wanted the order, of which ``solved`` is the plate ordered; the kerf a cutting file is offset for."""

    name: str
    read: ForeignPlate
    solved: SolvedOutline
    fingerprint: str
    order: "OutlineOrder | None" = None
    kerf: Figure | None = None

    @property
    def units(self) -> PaperUnits:
        """The family of units its papers are in."""
        return "inch" if self.read.units == "inch" else "mm"

    def said(self, at_m: Point) -> str:
        """A point of the outline as the drawing program shows it."""
        return Frame(self.read.units).said(self.in_drawing_m(at_m))

    def in_drawing_m(self, at_m: Point) -> Point:
        """A point of the outline in the drawing's own axes."""
        return at_m[0] + self.read.origin_m[0], at_m[1] + self.read.origin_m[1]


def outline_json(report: OutlineReport) -> Json:
    """The answer of ``griddesign plate OUTLINE.dxf``."""
    figures, metal = report.solved.figures, report.solved.metal
    return {
        "name": report.name,
        "fingerprint": report.fingerprint,
        "metal": metal.key,
        "thickness_mm": 1e3 * figures.thickness.value,
        **_uneven(report),
        "resistivity_ohm_m": metal.resistivity.value,
        "resistivity_status": str(metal.resistivity.status),
        "cold_ohm": figures.cold_ohm,
        "low_ohm": figures.low_ohm,
        "high_ohm": figures.high_ohm,
        "metal_low_ohm": figures.metal_low_ohm,
        "metal_high_ohm": figures.metal_high_ohm,
        "hot_ohm": {f"{t:d}_c": figures.cold_ohm * float(metal.ratio(float(t))) for t in HOT_C},
        "squares": figures.squares,
        "squares_low": figures.squares_low,
        "squares_high": figures.squares_high,
        "strip_mm": 1e3 * figures.strip_m,
        "mean_width_mm": 1e3 * figures.mean_width_m,
        "mass_kg": figures.mass_kg,
        "area_mm2": 1e6 * figures.area_m2,
        "surface_mm2": 1e6 * figures.surface_m2,
        **spot_json(figures.hot_spot, report.in_drawing_m(figures.hot_spot.at_m)),
        "terminal_model": figures.terminal_model,
        "washer_mm": None if figures.washer_m is None else 1e3 * figures.washer_m,
        "clamps_mm": [
            [*_mm(report.in_drawing_m(clamp.corner_m)), *_mm(report.in_drawing_m(clamp.opposite_m))]
            for clamp in figures.clamps
        ],
        "doubts": [
            {"from": doubt.name, "low_percent": _percent(doubt.low), "high_percent": _percent(doubt.high),
             "why": doubt.why}
            for doubt in doubts(report.solved)
        ],
        **_making(report),
        **_reading(report.read),
    }  # fmt: skip


def _making(report: OutlineReport) -> Json:
    """The rules of the way it is made, and the order."""
    rules = [_rule(report, rule) for rule in report.solved.rules]
    return {"rules": rules, **({} if report.order is None else _order(report.order))}


def _rule(report: OutlineReport, rule: "RuleCheck") -> Json:
    """A narrow place and what a rule of the process says of it."""
    at_m, check = rule.narrow.at_m, rule.check
    return {
        "item": check.item,
        "found_mm": 1e3 * check.found_m,
        "limit_mm": 1e3 * check.limit_m,
        "ok": check.ok,
        "must": check.must,
        "at_mm": None if at_m is None else _mm(report.in_drawing_m(at_m)),
        "source": check.source,
    }


def _order(order: "OutlineOrder") -> Json:
    """The order: what was wanted, what gave way, and the plate as drawn in the same metal and thickness."""
    drawn = order.drawn.figures
    return {
        "order": {
            "wanted_ohm": order.wish.ohm,
            "error_percent": 100 * order.error,
            "edges_out_mm": 1e3 * order.edges_m,
            "sheet": None if order.sheet is None else order.sheet.name,
            "as_drawn": {"cold_ohm": drawn.cold_ohm, "mass_kg": drawn.mass_kg, "surface_mm2": 1e6 * drawn.surface_m2,
                         "mean_width_mm": 1e3 * drawn.mean_width_m},
        }
    }  # fmt: skip


def _uneven(report: OutlineReport) -> Json:
    """Where the thickness is another: by region, and the readings of a taper."""
    figures, uneven = report.solved.figures, report.solved.figures.uneven
    if uneven is None:
        return {"thickness_regions": [], "thickness_at": [], "mean_thickness_mm": 1e3 * figures.thickness.value}
    laid = laid_out(uneven, figures.thickness.value, report.solved.outline)
    return {
        "thickness_regions": [
            {"layer": region.name, "thickness_mm": 1e3 * region.thickness.value, "lines": len(region.loops),
             "area_mm2": 1e6 * area_of_m2(region.name, laid)}
            for region in uneven.regions
        ],
        "thickness_at": [
            {"at_mm": _mm(report.in_drawing_m(one.at_m)), "thickness_mm": 1e3 * one.thickness_m}
            for one in uneven.readings
        ],
        "mean_thickness_mm": 1e3 * figures.volume_m3 / figures.area_m2,
    }  # fmt: skip


def _percent(share: float | None) -> float | None:
    return None if share is None else 100 * share


def spot_json(spot: HotSpot, at_m: Point) -> Json:
    """The hot spot, its place in the axes it is to be told in."""
    return {
        "crowding": None if spot.unbounded else spot.ratio,
        "crowding_unbounded": spot.unbounded,
        "crowding_at_mm": _mm(at_m),
        "crowding_cause": spot.cause,
        "wanted_crowding": spot.wanted,
        "fillet_mm_for_wanted_crowding": None if spot.fillet_m is None else 1e3 * spot.fillet_m,
        "fillet_by_law": spot.by_law,
    }


def _reading(read: ForeignPlate) -> Json:
    """What was read and what was done to it."""
    holes = [
        {"name": hole.name, "at_mm": _mm(hole.centre_m), "diameter_mm": 1e3 * hole.diameter_m,
         "round": hole.is_round, "terminal": hole.is_terminal}
        for hole in read.holes
    ]  # fmt: skip
    return {
        "units": read.units,
        "units_from": read.units_from,
        "release": read.release,
        "tolerance_mm": 1e3 * read.tolerance_m,
        "terminals": list(read.terminals),
        "terminals_why": read.terminals_why,
        "holes": holes,
        "healed": [{"at_mm": _mm(healed.at_m), "gap_mm": 1e3 * healed.gap_m} for healed in read.healed],
        "doubled": [_piece(piece) for piece in read.doubled],
        "strays": [_piece(piece) for piece in read.strays],
        "short_pieces": read.short_pieces,
        "ignored": [{"kind": one.kind, "layer": one.layer, "count": one.count, "why": one.why} for one in read.ignored],
        "curves": read.curves,
        "curve_deviation_mm": 1e3 * read.curve_deviation_m,
        "remarks": list(read.remarks),
        "sentences": list(sentences(read)),
    }


def _piece(piece: Piece) -> Json:
    return {"start_mm": _mm(piece.start_m), "end_mm": _mm(piece.end_m), "length_mm": 1e3 * piece.length_m}


def _mm(point_m: Point) -> list[float]:
    """Millimetres, rounded to what a drawing tells: a nanometre."""
    return [round(1e3 * value, 6) for value in point_m]
