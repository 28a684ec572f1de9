"""The scatter of a start as JSON."""

from dataclasses import asdict

from griddesign.judge.scatter.records import PERCENT, Chance, Lot, Scatter, Spread
from griddesign.papers.json_parts import Json


def scatter_json(scatter: Scatter) -> Json:
    """``scatter`` of ``griddesign start --samples``; ohms at 20 degC, temperatures degC, chances and shares 0 to 1."""
    return {
        "samples": scatter.starts,
        "seed": scatter.seed,
        "generator": "numpy Philox, SeedSequence(seed, spawn_key=(block of 1000, cause))",
        "stuck": scatter.stuck,
        "causes": [{"name": one.name, "law": one.law, "assumed": one.assumed} for one in scatter.causes],
        "spreads": [_spread(one) for one in scatter.spreads],
        "chances": [_chance(one) for one in scatter.chances],
        "plates": [_lot(one) for one in scatter.lots],
        "boxes": [asdict(one) for one in scatter.boxes],
        "remarks": list(scatter.remarks),
    }


def _spread(spread: Spread) -> Json:
    return {
        "name": spread.name,
        "unit": spread.unit,
        **{f"p{percent:g}": value for percent, value in zip(PERCENT, spread.at, strict=True)},
        "shares": dict(spread.shares),
        "together": spread.together,
    }


def _chance(one: Chance) -> Json:
    return {
        "item": one.item,
        "limit": one.limit,
        "unit": one.unit,
        "broken": one.broken,
        "of": one.starts,
        "chance": one.chance,
        "chance_low": one.low,
        "chance_high": one.high,
    }


def _lot(lot: Lot) -> Json:
    return {
        "kind": lot.kind,
        "accept_low_ohm": lot.low_ohm,
        "accept_high_ohm": lot.high_ohm,
        "outside": lot.outside,
        "outside_95": lot.outside_95,
        "needed": lot.needed,
        "spares": lot.spares,
        "advice": lot.advice,
    }
