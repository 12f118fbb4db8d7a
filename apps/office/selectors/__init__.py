"""What the office's pages read, one module a page."""
