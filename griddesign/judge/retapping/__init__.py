"""New taps on plates at hand, judged: today and afterwards side by side, a night's mend, what would cure a miss."""
