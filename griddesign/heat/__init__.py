"""How hot a grid gets, and how long a notch may be held: air, cooling, heating of plates over time, duty, holds.

No measured temperature record of a bank under a car's floor is known to us, so the loss is unproven on the real thing:
every answer stands beside the adiabatic bound, and the loss is also run 20 per cent low.
"""
