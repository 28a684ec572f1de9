"""What is heated, by what, and what came of it. Temperatures ``_c`` in degrees Celsius, differences ``_k`` in K."""

from dataclasses import dataclass

from griddesign.metals import Metal


@dataclass(frozen=True, slots=True)
class LossKnown:
    """What a heat run told of the loss: its factor on the modelled loss, and the ends of its 95 per cent range."""

    factor: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PlateBody:
    """One plate as the heat sees it: envelope height x depth, strip thickness, true metal surface, mass, cold ohms.

    ``loss``: what a heat run told of the loss of such plates; None where none was made.
    """

    height_m: float
    depth_m: float
    thickness_m: float
    surface_m2: float
    mass_kg: float
    cold_ohm: float
    metal: Metal
    loss: LossKnown | None = None

    @property
    def loss_factor(self) -> float:
        """The factor on the modelled loss: that of the heat run, else 1."""
        return 1.0 if self.loss is None else self.loss.factor


@dataclass(frozen=True, slots=True)
class Stack:
    """Like plates side by side with ``clear_gap_m`` of air between neighbouring faces."""

    plates: int
    clear_gap_m: float


@dataclass(frozen=True, slots=True)
class HeatedSection:
    """One section: ``series`` steps of ``in_parallel`` like plates in a stack; ``limit_c`` the limit of a plate.

    ``joint_ohm``: all its joints in series, which do not rise with heat, but whose heat goes into the plates.
    """

    name: str
    body: PlateBody
    series: int
    in_parallel: int
    stack: Stack
    limit_c: float
    joint_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One line of the heat sheet: ``case`` names which start, duty or hold at which ambient.

    ``hot_c`` best estimate, ``bound_c`` adiabatic bound (inf where it lies above the metal's table or there is none),
    ``margin_k`` = limit - hot, ``hold_s`` None where the notch may be held for ever (best estimate) and for cases that
    are no hold; ``hold_bound_s`` the same without any loss (None there: no hold, or no current).

    ``hot_c`` stands at the worst end of all weak figures. The band of the loss model alone, metal as given: ``low_c``
    and ``high_c`` with the loss greater and less by ``LOSS_BAND``, ``best_c`` as given; None where a row has no band.
    ``by_hand_c`` is the closed form beside a duty that was run; ``neighbour_k`` what of ``hot_c`` comes from hotter
    sections beside this one.
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
    low_c: float | None = None
    best_c: float | None = None
    high_c: float | None = None
    by_hand_c: float | None = None
    neighbour_k: float = 0.0
