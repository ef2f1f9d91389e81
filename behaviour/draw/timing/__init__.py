"""The timing chart of a run: inputs, states, outputs and timers over time."""
