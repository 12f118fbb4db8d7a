"""Settings by place: dev (embedded), test, prod."""
