"""One plate: shape, outline, ohms; ordering and the rules of the shop."""
