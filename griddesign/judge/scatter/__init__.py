"""What scatters from grid to grid and from start to start, and what it does to currents, heat and ohms.

``laws`` says what is drawn and how; ``draws`` draws it, in blocks that depend on the seed and their number alone;
``starts`` runs every start drawn; ``statistics`` makes percentiles, chances and shares of it; ``lots`` tells how many
plates fall outside their band; ``whole`` puts it together.
"""
