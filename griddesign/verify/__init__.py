"""Somebody else's grid held against itself, the job and the car: a supplier's claim, an inspector's readings."""
