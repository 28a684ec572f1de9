"""What is heated, by what, and what came of it. Temperatures ``_c`` in degrees Celsius, differences ``_k`` in K."""

from dataclasses import dataclass

from griddesign.metals import Metal


@dataclass(frozen=True, slots=True)
class PlateBody:
    """One plate as the heat sees it: envelope height x depth, strip thickness, true metal surface, mass, cold ohms."""

    height_m: float
    depth_m: float
    thickness_m: float
    surface_m2: float
    mass_kg: float
    cold_ohm: float
    metal: Metal


@dataclass(frozen=True, slots=True)
class Stack:
    """Like plates side by side with ``clear_gap_m`` of air between neighbouring faces."""

    plates: int
    clear_gap_m: float


@dataclass(frozen=True, slots=True)
class HeatedSection:
    """One section: ``series`` steps of ``in_parallel`` like plates in a stack; ``limit_c`` the limit of a plate."""

    name: str
    body: PlateBody
    series: int
    in_parallel: int
    stack: Stack
    limit_c: float


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One line of the heat sheet: ``case`` names which start, duty or hold at which ambient.

    ``hot_c`` best estimate, ``bound_c`` adiabatic bound (inf where it lies above the metal's table or there is none),
    ``margin_k`` = limit - hot, ``hold_s`` None where the notch may be held for ever (best estimate) and for cases that
    are no hold; ``hold_bound_s`` the same without any loss (None there: no hold, or no current).
    """

    case: str
    notch: str
    section: str
    line_v: float
    ambient_c: float
    hot_c: float
    bound_c: float
    limit_c: float
    margin_k: float
    hold_s: float | None
    hold_bound_s: float | None
    runs_away: bool
    worst_end: str
    breaker_opens: bool = False
