"""Migrations of the rounds app."""
