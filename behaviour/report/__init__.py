"""What was found, put before people and before other programs."""
