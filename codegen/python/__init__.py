"""The behaviour as a Python module for a Raspberry Pi, lowered as the C is."""
