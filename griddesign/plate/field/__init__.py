"""Two-dimensional conduction in a plate outline: squares with a rigorous bracket, current crowding, the field."""

from griddesign.plate.field.bracket import Bracket, BracketError, Solution, solved, squares
from griddesign.plate.field.domain import DiscTerminal, Domain, RimTerminal, Terminal

__all__ = ["Bracket", "BracketError", "DiscTerminal", "Domain", "RimTerminal", "Solution", "Terminal", "solved", "squares"]
