"""The controller's contact chart and lead list: which circuit every notch makes, found by the network itself."""
