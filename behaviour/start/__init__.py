"""A first file to change: patterns, and the few questions that fit them to a prop."""
