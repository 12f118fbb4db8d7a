"""Ahead: where each loop is heading, from what is known of it to the dates that follow."""
