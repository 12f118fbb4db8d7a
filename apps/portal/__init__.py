"""The client's page, by signed link."""
