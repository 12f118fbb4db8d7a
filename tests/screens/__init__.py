"""Every HTML page as a picture, checked while it is drawn."""
