"""The best taps on plates at hand, proved: a question of joints, answered by search."""
