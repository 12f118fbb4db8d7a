"""What a phone asks of the server: who it is, its day, and taking what was kept."""
