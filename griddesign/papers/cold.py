"""How the papers write the temperature that cold ohms hold at."""

from griddesign.job.records import PaperUnits
from griddesign.units import show_cold


def cold(units: PaperUnits) -> str:
    """20 °C; on inch papers what the shop's thermometer shows, and beside it what metals are tabled at."""
    return show_cold(units).replace(" ", "\u00a0")
