"""How long a filter must be to keep bounce and interference out. It knows no input.

A value counts once it was read in a loop and in each of n loops before, where n is the filter. A
disturbance of length b is seen in floor(b / T) + 1 loops of length T at most, so as many loops of
filter never take one for a change.
"""


def filter_loops_for(disturbance: float, loop: float) -> int:
    """Count the loops of filter that a disturbance never passes; both times in one unit."""
    return int(disturbance / loop) + 1 if disturbance > 0 else 0


def late_by(loops: int, loop: float) -> float:
    """Give the longest time from a true change to the loop in which it counts."""
    return (loops + 1) * loop
