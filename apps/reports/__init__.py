"""Reports with their versions, letters with their deliveries, PDF and mail."""
