"""How many plates go on a stock sheet, and where each of them lies."""
