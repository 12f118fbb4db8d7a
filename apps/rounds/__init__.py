"""Technicians' rounds: who goes where on which day."""
