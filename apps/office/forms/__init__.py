"""The office's forms, one module a subject."""
