"""Changes of reports and letters."""
