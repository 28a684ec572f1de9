"""A notch of any topology with its motors turning: currents at a speed, the speed at a current or a pull."""
