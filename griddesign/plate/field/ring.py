"""A closed ring of straight and round edges, and points along them."""

from dataclasses import dataclass

import numpy as np

from griddesign.plate.field.domain import Floats, Ints, cross


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A cleaned ring: points, and of the edge that leaves each point its bulge and its terminal (-1: free)."""

    points: Floats
    bulges: Floats
    terminal: Ints

    def steps(self) -> Floats:
        """The chord vectors of the edges (n, 2), in the unit of the points."""
        steps: Floats = np.roll(self.points, -1, axis=0) - self.points
        return steps

    def without(self, drop: Ints) -> "Ring":
        """The ring with the points ``drop`` and the edges that leave them taken out."""
        keep = np.delete(np.arange(len(self.points)), drop)
        return Ring(self.points[keep], self.bulges[keep], self.terminal[keep])

    def area(self) -> float:
        """The signed area with its arcs, positive anticlockwise, in the square of the unit of the points."""
        chord = np.hypot(*self.steps().T)
        angle = 4 * np.arctan(self.bulges)
        half = np.where(self.bulges == 0, 1.0, np.sin(angle / 2))
        segments = (chord / (2 * half)) ** 2 * (angle - np.sin(angle)) / 2
        return float(0.5 * cross(self.points, np.roll(self.points, -1, axis=0)).sum() + segments.sum())

    def turned(self) -> "Ring":
        """The same ring run the other way."""
        return Ring(self.points[::-1], -np.roll(self.bulges[::-1], -1), np.roll(self.terminal[::-1], -1))


def points_along(start: Floats, end: Floats, bulge: float, fractions: Floats) -> Floats:
    """Points at ``fractions`` of the angle (or length) of an edge, the first of them its start if 0 is asked for."""
    if bulge == 0:
        return start + fractions[:, None] * (end - start)
    return turned_about(centre_of(start, end, bulge), start, 4 * np.arctan(bulge) * fractions)


def turned_about(centre: Floats, point: Floats, angle: Floats) -> Floats:
    """Points turned about centres by angles in radians; points and centres one or as many as angles."""
    spoke = np.atleast_2d(point - centre)
    across = np.column_stack([-spoke[:, 1], spoke[:, 0]])
    turned: Floats = centre + np.cos(angle)[:, None] * spoke + np.sin(angle)[:, None] * across
    return turned


def centre_of(start: Floats, end: Floats, bulge: float) -> Floats:
    """The centre of a round edge, its bulge the tangent of a quarter of the angle."""
    centre: Floats = centres_of(start[None], end[None], np.array([bulge]))[0]
    return centre


def centres_of(start: Floats, end: Floats, bulge: Floats) -> Floats:
    """The centres (n, 2) of round edges."""
    chord = end - start
    across = np.column_stack([-chord[:, 1], chord[:, 0]])
    centres: Floats = (start + end) / 2 + across * ((1 - bulge**2) / (4 * bulge))[:, None]
    return centres
