"""The watchdog."""

import os
import threading
import time


class Watchdog(threading.Thread):
    """Puts all to rest and ends the program where no loop has fed it for too long.

    It runs in this program and falls with it: where Linux itself hangs, only the watchdog of the
    Raspberry Pi helps (`RuntimeWatchdogSec` of systemd).
    """

    def __init__(self, board, limit_ms):
        super().__init__(daemon=True)
        self.board, self.limit_ms, self.fed_ms = board, limit_ms, clock_ms()
        self.start()

    def feed(self):
        self.fed_ms = clock_ms()

    def run(self):
        while clock_ms() - self.fed_ms < self.limit_ms:
            time.sleep(self.limit_ms / 4000)
        try:
            print("no loop for too long: everything is put to rest", file=sys.stderr, flush=True)
            self.board.rest()
        finally:
            os._exit(70)
