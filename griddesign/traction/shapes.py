"""Published curves of series motors as shapes: flux against current, both as shares of their rated values."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from griddesign.errors import TableError
from griddesign.shipped import materials_folder
from griddesign.traction.curve import MotorCurve
from griddesign.traction.records import MagnetisationPoints

TABLE = "motor_curves.toml"


@dataclass(frozen=True)
class Shape:
    """One published curve. ``rated_a`` holds the two ends of its rated current, alike where it is printed."""

    key: str
    curve: MotorCurve
    rated_a: tuple[float, float]
    source: str

    def flux(self, share: float, rated_a: float) -> float:
        """Flux over that at ``rated_a``, at ``share`` times that current; kept at its last value above the curve."""
        return self.curve.k(share * rated_a) / self.curve.k(rated_a)


@cache
def published_shapes() -> tuple[Shape, ...]:
    """Every curve of the table. Raises TableError where it cannot be read."""
    try:
        data = tomllib.loads((materials_folder() / TABLE).read_text(encoding="utf-8"))
        return tuple(_shape(key, row) for key, row in data.items())
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError, KeyError) as error:
        raise TableError(f"The table {TABLE} cannot be read: {error}", hint="Put it back as it was shipped.") from error


def _shape(key: str, row: Mapping[str, Any]) -> Shape:
    currents = tuple(map(float, row["current_a"]))
    if "emf_v" in row:
        flux = tuple(map(float, row["emf_v"]))
    else:
        flux = tuple(torque / current for torque, current in zip(row["torque_nm"], currents, strict=True))
    low, high = row["rated_a"]
    curve = MotorCurve(MagnetisationPoints(1.0, currents, flux)).held_above()
    return Shape(key, curve, (float(low), float(high)), row["source"])
