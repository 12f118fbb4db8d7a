"""Where a loop's water is heading: the mass balance, and the words between it and the pages."""
