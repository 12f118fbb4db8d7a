"""From what is kept to paper: the proposal and the survey sheet. Pure: no database in here."""
