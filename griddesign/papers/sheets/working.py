"""The working sheet: every number of the set with its way to it, line by line, for whoever checks the job."""

from collections.abc import Iterator

from griddesign.judge.records import Result
from griddesign.judge.start_result import StartResult
from griddesign.papers.blocks import SMALL_PT, Block, Heading, Paragraph, Points, Sheet
from griddesign.papers.sheets.measure import measure_part
from griddesign.papers.sheets.trace import Part, part_blocks
from griddesign.papers.sheets.trace_bands import band_parts
from griddesign.papers.sheets.trace_choice import choice_parts
from griddesign.papers.sheets.trace_heat import heat_parts
from griddesign.papers.sheets.trace_holds import hold_parts
from griddesign.papers.sheets.trace_inputs import input_parts
from griddesign.papers.sheets.trace_ladder import ladder_parts
from griddesign.papers.sheets.trace_order import order_parts
from griddesign.papers.sheets.trace_plate import plate_parts
from griddesign.papers.sheets.trace_run import run_parts
from griddesign.papers.sheets.trace_stack import stack_parts
from griddesign.papers.sheets.trace_start import start_parts
from griddesign.traction.records import Ladder

IMPERATIVE = "Check the lines marked ≈ first, and measure what you can."

_READ_ME = (
    "Every line runs from symbol and formula through the numbers put in to the result and its source. ≈ marks what "
    "rests on memory, an estimate or a range; below it stands the result at both ends. Cold is 20 °C (68 °F). "
    "Currents are A per motor unless they say A from line. Results are rounded for print, the numbers behind them "
    "are not."
)

_ALWAYS = (
    "Square return bends with sharp corners: Schwarz-Christoffel mapping, derived for this work; it tends to the "
    "classical corner square, 1 − 2 ln 2/π = 0.558729.",
    "Round bends, fillets, eyes: two-dimensional conduction of the true outline with a bracket from both sides.",
)
_TRACTION = (
    "Starter of the series motor: B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. II, "
    "Ex 30.56.",
    "Motor curve between its points: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238; slopes as "
    "F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300.",
    "Copper, 234.5 °C: IEC 60034-1 (from memory).",
)
_HEAT = (
    "Channel between plates: A. Bar-Cohen and W. M. Rohsenow, J. Heat Transfer 106 (1984) 116, joining the limits of "
    "W. Elenbaas, Physica 9 (1942) 1.",
    "Single plate: S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.",
    "View factor of two rectangles: F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer, "
    "table 13.2.",
    "Air: E. W. Lemmon, R. T. Jacobsen, S. G. Penoncello and D. G. Friend, J. Phys. Chem. Ref. Data 29 (2000) 331; "
    "E. W. Lemmon and R. T. Jacobsen, Int. J. Thermophysics 25 (2004) 21.",
)


def working_sheet(result: Result, run: StartResult | None = None) -> Sheet | None:
    """The working of everything the job came to, the start as run too; None where the job holds neither plate nor
    notch."""
    if not result.plates and result.worked is None:
        return None
    blocks: list[Block] = [Paragraph(_READ_ME, size_pt=SMALL_PT)]
    for part in working_parts(result, run):
        blocks += part_blocks(part)
    blocks += [Heading("Sources of the formulas"), Points(formula_sources(result), size_pt=SMALL_PT)]
    return Sheet("Working", IMPERATIVE, "engineer", tuple(blocks))


def working_parts(result: Result, run: StartResult | None = None) -> tuple[Part, ...]:
    """Every traced line, part by part: what was put in, plate, ladder and choice, start, heat, what to measure next."""
    return (
        *input_parts(result),
        *plate_parts(result),
        *order_parts(result),
        *band_parts(result),
        *ladder_parts(result),
        *choice_parts(result),
        *stack_parts(result),
        *start_parts(result),
        *run_parts(run),
        *heat_parts(result),
        *hold_parts(result, run),
        *_unknown_parts(result),
    )


def formula_sources(result: Result) -> tuple[str, ...]:
    """Where the formulas used in this job came from."""
    ladder = result.worked is not None and isinstance(result.worked.wanted, Ladder)
    return (*(_ALWAYS if result.plates else ()), *(_TRACTION if ladder else ()), *(_HEAT if result.heat else ()))


def _unknown_parts(result: Result) -> Iterator[Part]:
    """What is not sure, ranked by what it does to the current of a notch and to the heat."""
    if result.worked is not None and result.worked.design is not None:
        yield measure_part(result.measure_next, result.job.paper.units)
