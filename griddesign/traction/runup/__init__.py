"""Running the car up through the notches: currents followed at every moment, hot ohms fed back into them.

The plates' heat is handed in (``Plates``), so that this room stays free of the heat room. One start and ten thousand
are the same call: arrays end in the axis of the cases, and each case keeps its own clock.
"""
