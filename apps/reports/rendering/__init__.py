"""From a snapshot to paper and mail. Pure: no database in here."""
