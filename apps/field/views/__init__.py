"""The technician's pages. GET and HEAD only show; every answer is a POST of its own."""
