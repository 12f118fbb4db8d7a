"""The staff's API, /api/v1/: explicit operations, problem details, one module a subject."""
