"""Clients, the people who get letters, places and their water."""
