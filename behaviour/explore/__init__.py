"""Searching all that a prop can do under every timing. Knows no rule."""
