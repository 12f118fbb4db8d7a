"""The technician's phone: the round, the visit and its checklist, one answer at a time."""
