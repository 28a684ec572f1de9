"""Single faults of a grid: what each does to the notches; read backwards, which fault a driver's words point to."""
