"""The office's pages, one module a subject."""
