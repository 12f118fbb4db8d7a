"""What every app stands on: time stamps, clock, outbox, problems, scoping, triggers, mail."""
