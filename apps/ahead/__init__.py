"""Ahead: each loop's forecast between visits, and how far it was right."""
