"""Words and figures as the office's pages show them."""
