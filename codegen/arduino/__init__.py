"""The board file and the sketch for controllers with an Arduino core: written, nothing decided."""
