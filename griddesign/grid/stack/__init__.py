"""The stacked box: which part follows which on every tie rod, so that the current zig-zags through every plate."""
