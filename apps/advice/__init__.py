"""Advice: readings in, the science called, rows out."""
