"""Changes of visits: booking, steps, answers, the rows that follow, corrections, photos."""
