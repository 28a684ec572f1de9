"""``--at``: the speed of the car at which a contact chart's currents are told."""

import click

from griddesign.errors import InputError
from griddesign.units import read

AT_OPTION = click.option(
    "--at", metavar="SPEED", help="With --chart: currents and pull with the car at this speed (default: standstill)."
)


def refuse_lone_at(at: str | None, chart: bool) -> None:
    """Raise InputError where a speed was given and no chart asked for."""
    if at is not None and not chart:
        raise InputError("--at goes with --chart only", hint="Add --chart.")


def asked_m_s(at: str | None) -> float:
    """The speed asked for, m/s; standstill where none is. Raises InputError below zero."""
    found = 0.0 if at is None else read(at, "speed").value
    if found < 0.0:
        raise InputError(f"--at {at}: a speed below zero", hint="Give zero or more.")
    return found
