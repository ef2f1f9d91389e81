"""The checks that roles of inputs bring in: guards, stops, starts, resets, hold-to-run."""
