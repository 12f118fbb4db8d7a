"""The demo: an invented firm with a year of work, and the main job done once for real."""
