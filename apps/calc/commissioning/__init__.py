"""Bringing a new system in: the curve to expect, the gate before the first fish, stages of stocking."""
