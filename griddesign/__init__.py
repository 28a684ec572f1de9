"""griddesign: resistor grids for hand-controlled electric cars, from the job file to papers a shop can cut from."""

__version__ = "0.1.0"
