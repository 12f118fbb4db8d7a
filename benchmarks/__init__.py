"""Claims about speed, each as a ratio against a named baseline in the same run."""
