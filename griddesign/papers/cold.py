"""How the papers write the temperature that cold ohms hold at."""

from griddesign.job.records import PaperUnits

_WORDS: dict[PaperUnits, str] = {"mm": "20\u00a0°C", "inch": "68\u00a0°F\u00a0(20\u00a0°C)"}


def cold(units: PaperUnits) -> str:
    """20 °C; on inch papers what the shop's thermometer shows, and beside it what metals are tabled at."""
    return _WORDS[units]
