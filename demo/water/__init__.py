"""Invented loops hour by hour, to judge forecasts by: their hidden water and what was read of it."""
