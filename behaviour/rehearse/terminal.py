"""A rehearsal in a terminal: keys are read, time runs, the screen is written. It decides nothing.

Only here does a rehearsal touch a terminal or a clock.
"""

import os
import select
import sys
import time

from behaviour.rehearse.desk import SPEEDS, Desk, go_on, press
from behaviour.rehearse.screen import screen

FRAME = 0.05
"""Seconds between two pictures, at least."""

ARROWS = {"\x1b[C": ".", "\x1b[D": ",", "\x1b[1;2C": ">", "\x1b[1;2D": "<"}
_OTHER_SCREEN, _FIRST_SCREEN = "\x1b[?1049h\x1b[?25l", "\x1b[?25h\x1b[?1049l"
_HOME, _REST_OF_LINE, _REST_OF_SCREEN = "\x1b[H", "\x1b[K", "\x1b[J"


class NoTerminalError(Exception):
    """Keys cannot be read one by one in the terminals of this system."""


def play(desk: Desk) -> Desk:
    """Play until somebody ends it, and give the desk as it was left.

    Raises NoTerminalError where keys cannot be read one by one.
    """
    try:
        import termios
        import tty
    except ImportError as problem:
        raise NoTerminalError from problem
    keyboard = sys.stdin.fileno()
    before = termios.tcgetattr(keyboard)
    try:
        tty.setcbreak(keyboard)
        sys.stdout.write(_OTHER_SCREEN)
        return _played(desk, keyboard)
    finally:
        termios.tcsetattr(keyboard, termios.TCSADRAIN, before)
        sys.stdout.write(_FIRST_SCREEN)
        sys.stdout.flush()


def _played(desk: Desk, keyboard: int) -> Desk:
    loop = desk.model.loop / 1_000_000
    last, owed = time.monotonic(), 0.0
    while not desk.is_over:
        _show(desk)
        try:
            ready, _, _ = select.select([keyboard], [], [], FRAME if desk.runs else None)
        except KeyboardInterrupt:
            break
        now = time.monotonic()
        if desk.runs:
            owed += (now - last) * SPEEDS[desk.speed] / loop
            desk = go_on(desk, int(owed))
            owed -= int(owed)
        last = now
        if ready:
            for key in keys_in(os.read(keyboard, 64).decode(errors="replace")):
                desk = press(desk, key)
    return desk


def keys_in(text: str) -> tuple[str, ...]:
    """Take what a terminal sent apart into keys; arrows stand for the keys that do the same."""
    found: list[str] = []
    at = 0
    while at < len(text):
        arrow = next((signs for signs in ARROWS if text.startswith(signs, at)), None)
        if arrow is None and text[at] == "\x1b":
            return tuple(found)
        found.append(ARROWS[arrow] if arrow else text[at])
        at += len(arrow or text[at])
    return tuple(found)


def _show(desk: Desk) -> None:
    size = os.get_terminal_size(sys.stdout.fileno())
    lines = screen(desk, size.columns, size.lines)
    picture = "".join(f"{line}{_REST_OF_LINE}\r\n" for line in lines)
    sys.stdout.write(f"{_HOME}{picture}{_REST_OF_SCREEN}")
    sys.stdout.flush()
