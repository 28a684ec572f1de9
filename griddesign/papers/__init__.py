"""What leaves the shop: sheets as plain records, drawings, and the files they are written to."""
