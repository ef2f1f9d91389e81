"""The trace that the firmware prints: a line a change, `MS NAME VALUE`, under a line at power-up.

Strategy: each power-up begins a recording of its own, since its milliseconds begin anew. What
stands before the first is what was still on the line, and is left out.
"""

import re
from dataclasses import dataclass, field

from behaviour.bench.capture import CaptureError, Channel, Recording, Told

_STAMPED = re.compile(r"^\s*(?:\d{1,2}:\d{2}:\d{2}(?:\.\d+)?\s*->\s*)?")
_HEAD = re.compile(r"(\d{1,10}) (\S+) ([0-9a-f]{4}-[0-9a-f]{4})(?: bytes \d+)?")
_LINE = re.compile(r"(\d{1,10}) (upsets(?= of states)|[A-Za-z]\w*)(?: of states)? (\S+)")
LINE_FORM = "a line of a trace is `MS NAME VALUE`, such as `740 drum forward`"
ROUND = 1 << 32
"""Milliseconds in the firmware's 32 bits: after the last comes 0."""
MILLISECOND = 1000


@dataclass
class _Part:
    """The trace from one power-up on; times go on across the rollover of the milliseconds."""

    fingerprint: str
    line: int
    begins: int
    now: int
    told: dict[str, list[Told]] = field(default_factory=dict)

    def recording(self) -> Recording:
        channels = tuple(Channel(name, tuple(told)) for name, told in self.told.items())
        return Recording(
            channels,
            self.begins * MILLISECOND,
            self.now * MILLISECOND,
            self.fingerprint,
            counted=True,
            from_power_up=True,
            line=self.line,
        )


def is_trace(text: str) -> bool:
    """Tell whether a text looks like a trace and not like a table."""
    lines = (_STAMPED.sub("", line).strip() for line in text.splitlines())
    return any(_HEAD.fullmatch(line) or _LINE.fullmatch(line) for line in lines)


def read_trace(text: str) -> tuple[Recording, ...]:
    """Read a trace, each power-up in it as a recording of its own; a last line that was cut off is
    left out. Raises CaptureError.
    """
    parts: list[_Part] = []
    lines = text.splitlines()
    if lines and not text.endswith("\n"):
        lines.pop()
    for number, line in enumerate(lines, start=1):
        said = _STAMPED.sub("", line).strip()
        head = _HEAD.fullmatch(said)
        if head is not None:
            now = int(head[1])
            parts.append(_Part(head[3], number, now, now))
        elif parts and said:
            _take(parts[-1], said, number)
    if not parts:
        raise CaptureError(
            "the line that the firmware prints at power-up is not in this trace: record from "
            "power-up on"
        )
    return tuple(part.recording() for part in parts)


def _take(part: _Part, said: str, number: int) -> None:
    found = _LINE.fullmatch(said)
    if found is None:
        raise CaptureError(f"`{said[:60]}` cannot be read: {LINE_FORM}", number)
    now = int(found[1])
    if now >= ROUND:
        raise CaptureError(f"`{now}` is more than the firmware can count", number)
    while now < part.now - ROUND // 2:
        now += ROUND
    if now < part.now:
        raise CaptureError("time goes back here, without a line of power-up", number)
    part.now = now
    part.told.setdefault(found[2], []).append(Told(now * MILLISECOND, found[3], number))
