"""The motors as self-excited series generators on the grid: building up, a stop through the notches, a long hill.

With the line away and the field (or armature) turned round, ``I·R' = s·k(I)·n``: the same equation as in the run-up
with no volts ahead of it. Everything here works on arrays that end in the axis of the cases, as in ``runup``.
"""
