"""A behaviour played again: the stories that a check told."""
