"""The loop, and what becomes of it."""

import signal
import sys
import threading
import time

OPEN = [name for name, setting in list(globals().items()) if name.isupper() and setting is None]


def clock_ms():
    """Give milliseconds that never go back."""
    return time.monotonic_ns() // 1_000_000


def run(board, stopping):
    """Power up, then do one loop after another until told to stop."""
    prop, told = Prop(), {}
    power_up(prop, board, clock_ms())
    trace(prop, clock_ms(), told)
    while not stopping.wait(max(prop.last_ms + LOOP_MS - clock_ms(), 0) / 1000):
        now_ms = clock_ms()
        step(prop, board, now_ms)
        trace(prop, now_ms, told)


def main():
    """Run the prop; however this ends, every output is put to rest."""
    if OPEN:
        print(f"not set yet, at the top of this file: {', '.join(OPEN)}", file=sys.stderr)
        return 2
    stopping = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, lambda *_: stopping.set())
    board = Board()
    try:
        run(board, stopping)
    finally:
        board.rest()
        board.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
