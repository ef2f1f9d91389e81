"""The bench: what to try there, and in which order."""
