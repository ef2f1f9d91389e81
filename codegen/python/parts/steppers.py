"""Steppers: pulses made by a thread, each of them counted."""

import threading
import time

from gpiozero import DigitalOutputDevice

PART = 256
ENDLESS = 1 << 32


class Intervals:
    """The microseconds between the steps of a turn or move, in whole numbers.

    After D. Austin, Generate stepper-motor speed profiles in real time (2005): each interval
    follows from the one before. Inside they are kept in 1/256 microsecond.
    """

    def __init__(self, first, shortest, ramps_down):
        self.first, self.shortest, self.ramps_down = first, shortest, ramps_down
        self.left = self.level = self.interval = 0

    def begin(self, steps):
        """Turn so many steps, from rest."""
        self.left, self.level = steps, 0

    def rest(self):
        """Come to rest: at once, or as speed was gained."""
        if not self.ramps_down or self.level == 0:
            self.left = self.level = 0
        elif self.left >= self.level:
            self.left = self.level - 1

    def next(self):
        """Give the microseconds until the next step; 0 for no step."""
        if self.left == 0:
            self.level = 0
            return 0
        if self.level == 0:
            self.interval, self.level = self.first, 1
        elif self.left < self.level:
            self.level -= 1
            by = 4 * self.level - 1
            self.interval += (2 * self.interval + by // 2) // by
        elif self.left > self.level and self.interval > self.shortest:
            by = 4 * self.level + 1
            self.interval -= (2 * self.interval + by // 2) // by
            self.level += 1
        if self.left != ENDLESS:
            self.left -= 1
        return (max(self.interval, self.shortest) + PART // 2) // PART


class Stepper(threading.Thread):
    """A stepper's driver. Steps come late where Linux is late, but none is left out or made twice.

    `high_for` is the value for which the direction is on. The driver is on from the first step to
    `hold_ms` after the last.
    """

    def __init__(self, pins, on_when, rest, high_for, pause_ms, hold_ms, intervals):
        super().__init__(daemon=True)
        self.at_rest, self.high_for, self.hold_ms = rest, high_for, hold_ms
        self.step, self.direction, self.enable = (
            None if pin is None else DigitalOutputDevice(pin, active_high=on_when == "high")
            for pin in pins
        )
        self.reversing = Reversing(pause_ms, rest)
        self.intervals, self.told, self.waiting = Intervals(*intervals), rest, 0
        self.changed, self.is_closed = threading.Condition(), False
        self.is_stepping = False
        self.start()

    def drive(self, value, now_ms):
        """Turn on and on, or come to rest; called in every loop."""
        with self.changed:
            self.waiting = 0
            value = self.reversing.allowed(value, now_ms)
            if value == self.at_rest:
                self.intervals.rest()
                self.told = value
            elif value != self.told and self._begins(value, ENDLESS):
                self.told = value

    def move(self, value, steps, now_ms):
        """Turn so many steps; called in every loop, `steps` is 0 in all but the first of a move."""
        with self.changed:
            self.waiting = steps or self.waiting
            is_free = self.reversing.allowed(value, now_ms) == value
            if self.waiting and is_free and self._begins(value, self.waiting):
                self.told, self.waiting = None, 0

    def is_done(self):
        """Tell whether the last move has ended."""
        with self.changed:
            return not (self.waiting or self.intervals.left or self.is_stepping)

    def _begins(self, value, steps):
        """Begin to turn if nothing turns any more; else come to rest first."""
        self.intervals.rest()
        if self.intervals.left or self.is_stepping:
            return False
        if self.direction is not None:
            self.direction.value = value == self.high_for
        if self.enable is not None:
            self.enable.on()
        self.intervals.begin(steps)
        self.changed.notify()
        return True

    def run(self):
        due = time.monotonic()
        while not self.is_closed:
            with self.changed:
                wait_us = self.intervals.next()
                self.is_stepping = wait_us > 0
                if not self.is_stepping:
                    self._wait()
                    due = time.monotonic()
                    continue
            due = max(due + wait_us / 1e6, time.monotonic())
            time.sleep(max(due - time.monotonic(), 0))
            self.step.on()
            self.step.off()

    def _wait(self):
        """Wait for something to do; the driver goes off after a while at rest."""
        was_told = self.changed.wait(self.hold_ms / 1000)
        if self.enable is not None and not was_told and self.told == self.at_rest:
            self.enable.off()

    def rest(self):
        with self.changed:
            self.intervals.left = self.intervals.level = self.waiting = 0
            self.told = self.at_rest

    def close(self):
        with self.changed:
            self.is_closed = True
            self.intervals.left = 0
            self.changed.notify()
        self.join(1)
        for device in (self.step, self.direction, self.enable):
            if device is not None:
                device.close()
