"""The office desk and the staff's API."""
