"""Care plans, their tasks with materialised dates, completions, and the standing of a system."""
