"""The same sheets for a screen: one file, no script, no network, no second layout: the blocks and marks of the PDF."""
