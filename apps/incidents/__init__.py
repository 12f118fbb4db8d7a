"""Calls for help: what was said and done while somebody was on the telephone, and how it ended."""
