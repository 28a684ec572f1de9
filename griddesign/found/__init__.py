"""What is really in the boxes: readings reconciled, plates at hand, what the controller makes of them today."""
