"""The demo firm Reed & Roach in the invented town of Tarnwick, with a year of invented work."""
