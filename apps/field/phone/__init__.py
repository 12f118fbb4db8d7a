"""What the telephone holds of the server: the science as JavaScript, the shell, the day's visits."""
