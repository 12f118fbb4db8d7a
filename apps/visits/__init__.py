"""Visits, their sheets, the values given on them, and the rows that follow from the values."""
