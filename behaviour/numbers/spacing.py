"""Stations round a turn, and how far an output goes while nobody looks. It knows no file."""


def station_time(count: float, rpm: float) -> float:
    """Give the seconds from one of `count` stations to the next at a steady speed."""
    return 60 / (count * rpm)


def turned(rpm: float, seconds: float) -> float:
    """Give the degrees that an output turns in a time."""
    return 6 * rpm * seconds


def station_error(steps: float) -> float:
    """Give the steps by which a station that is not whole is missed, if it is rounded."""
    return abs(steps - round(steps))
