"""The scatter sheet: what many starts come to, each on a grid of its own: percentiles, causes, chances, spares."""

from collections.abc import Iterator

from griddesign.judge.records import BoxBand
from griddesign.judge.scatter.records import PERCENT, Chance, Scatter, Spread, Unit
from griddesign.judge.start_result import StartResult
from griddesign.papers.blocks import (
    SMALL_PT,
    Block,
    Cell,
    Column,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    Table,
    TableCell,
)
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown

IMPERATIVE = "See how far starts differ, and what to order beside the plates needed."
_TABLE_PT = 9.0
_KIND: dict[Unit, str] = {"A": "current", "degC": "temperature", "ohm": "resistance", "N": "force"}
_LEAST_TOLD = 0.005


def scatter_sheet(result: StartResult) -> Sheet | None:
    """The sheet of the scatter; None where nothing was drawn."""
    scatter = result.scatter
    if scatter is None:
        return None
    shown = Shown(result.job.paper.units)
    blocks = (
        _key_figures(scatter, shown),
        *_causes(scatter),
        *_spreads(scatter, shown),
        *_chances(scatter, shown),
        *_lots(scatter, shown),
        *([Points(scatter.remarks, size_pt=SMALL_PT)] * bool(scatter.remarks)),
    )
    return Sheet("Scatter sheet", IMPERATIVE, "engineer", blocks)


def _key_figures(scatter: Scatter, shown: Shown) -> KeyFigures:
    first = scatter.spreads[0]
    half, most = (shown.of(first.at[PERCENT.index(percent)], _KIND[first.unit]) for percent in (50.0, 99.0))
    likely = max(scatter.chances, key=lambda one: one.broken)
    return KeyFigures(
        (
            KeyFigure("Starts drawn", f"{scatter.starts}", f"seed {scatter.seed}: same seed, same numbers"),
            KeyFigure(f"{first.name[:1].upper()}{first.name[1:]}", most, f"99 of 100 stay below; half below {half}"),
            KeyFigure("Likeliest limit broken", _chance(likely), likely.item),
        )
    )


def _causes(scatter: Scatter) -> Iterator[Block]:
    yield Heading("What was drawn")
    yield Points(
        tuple(f"{f'{ABOUT}assumed: ' if one.assumed else ''}{one.name}: {one.law}" for one in scatter.causes),
        size_pt=SMALL_PT,
    )


def _spreads(scatter: Scatter, shown: Shown) -> Iterator[Block]:
    yield Heading("Percentiles, and the share of each cause in the variance")
    columns = (
        Column("Quantity"),
        *(Column(f"{percent:g}{NO_BREAK}%", "right") for percent in PERCENT),
        Column("Variance from", stretch=True),
    )
    rows = tuple(
        (one.name, *(shown.of(value, _KIND[one.unit]) for value in one.at), _shares(one)) for one in scatter.spreads
    )
    yield Table(columns, rows, _TABLE_PT)
    yield Paragraph(
        "So many of a hundred starts stay below the figure. Together: what the causes do only jointly; with it the "
        "shares add up to 100 %.",
        size_pt=SMALL_PT,
    )


def _shares(spread: Spread) -> str:
    """The causes that matter, the strongest first, and what they do only together."""
    if spread.together is None:
        return "too few starts to tell"
    parts = [*sorted(spread.shares, key=lambda pair: -pair[1]), ("together", spread.together)]
    return ", ".join(f"{name} {100 * share:.0f}{NO_BREAK}%" for name, share in parts if share >= _LEAST_TOLD)


def _chances(scatter: Scatter, shown: Shown) -> Iterator[Block]:
    yield Heading("How likely a limit is broken")
    columns = (
        Column("Limit", stretch=True),
        Column("at", "right"),
        Column("Broken in", "right"),
        Column("Chance (95 % sure)", "right"),
    )
    yield Table(columns, tuple(_chance_row(one, shown) for one in scatter.chances), _TABLE_PT)


def _chance_row(one: Chance, shown: Shown) -> tuple[TableCell, ...]:
    limit = "" if one.limit is None or one.unit is None else shown.of(one.limit, _KIND[one.unit])
    count = f"{one.broken} of {one.starts}"
    return (one.item, limit, Cell(count) if one.broken else count, _chance(one))


def _chance(one: Chance) -> str:
    """The chance with its range; what was never seen is less than so much, not nothing."""
    if not one.broken:
        return f"under {100 * one.high:.2g}{NO_BREAK}%"
    return f"{100 * one.chance:.2g}{NO_BREAK}% ({100 * one.low:.2g} to {100 * one.high:.2g})"


def _lots(scatter: Scatter, shown: Shown) -> Iterator[Block]:
    if scatter.lots:
        yield Heading("Plates outside their band, spares")
        yield Points(tuple(lot.advice for lot in scatter.lots))
    if scatter.boxes:
        yield Heading("Boxes, cold and end to end")
        columns = (Column("Box"), Column("As chosen", "right"), Column("From", "right"), Column("To", "right"))
        rows = tuple(
            (str(box.box), *(shown.of(value, "resistance", 4) for value in _band(box))) for box in scatter.boxes
        )
        yield Table(columns, rows, _TABLE_PT)


def _band(box: BoxBand) -> tuple[float, float, float]:
    return box.cold_ohm, box.accept_low_ohm, box.accept_high_ohm
