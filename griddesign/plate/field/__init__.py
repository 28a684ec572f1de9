"""Two-dimensional conduction in a plate outline: squares with a rigorous bracket, current crowding, the field."""

from griddesign.plate.field.bracket import Bracket, Solution, solved, squares
from griddesign.plate.field.domain import (
    ClampTerminal,
    DiscTerminal,
    Domain,
    Region,
    RimTerminal,
    Slope,
    Terminal,
    Thickness,
)
from griddesign.plate.field.peak import Crowding, crowding
from griddesign.plate.field.plate_outline import domain_of_outline, squares_of_outline
from griddesign.plate.field.probe import Field, field, transfer_squares
from griddesign.plate.field.solver import BracketError

__all__ = [
    "Bracket",
    "BracketError",
    "ClampTerminal",
    "Crowding",
    "DiscTerminal",
    "Domain",
    "Field",
    "Region",
    "RimTerminal",
    "Slope",
    "Solution",
    "Terminal",
    "Thickness",
    "crowding",
    "domain_of_outline",
    "field",
    "solved",
    "squares",
    "squares_of_outline",
    "transfer_squares",
]
