"""Drawings as SVG: water lines, marks, sparklines, charts and the flow sketch of a system."""
