"""Waveform files (VCD, IEEE 1364) as logic analysers and `draw --as vcd` write them."""

from dataclasses import dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING

from behaviour.bench.capture import FINGERPRINT, CaptureError, Channel, Recording, Told
from behaviour.model import Micros

if TYPE_CHECKING:
    from vcd.reader import Token

PICOSECONDS = {"s": 10**12, "ms": 10**9, "us": 10**6, "ns": 10**3, "ps": 1, "fs": 0}
MICROSECOND = 10**6


def read_vcd(text: str) -> Recording:
    """Read a waveform file. Raises CaptureError with the line of what cannot be read."""
    from vcd.reader import VCDParseError, tokenize

    waveform = _Waveform()
    try:
        data = f"{text}\n".encode("ascii", "replace")
        for token in tokenize(BytesIO(data), buf_size=1 << 16):
            waveform.take(token)
    except VCDParseError as problem:
        line = getattr(getattr(problem, "loc", None), "line", None)
        why = str(problem).split(": ", 1)[-1]
        raise CaptureError(f"this is no waveform file (VCD): {why.lower()}", line) from problem
    return waveform.recording()


@dataclass
class _Waveform:
    """What was met so far; `told` is by the code that stands for a wire in the file."""

    scope: list[str] = field(default_factory=list)
    names: dict[str, list[str]] = field(default_factory=dict)
    told: dict[str, list[Told]] = field(default_factory=dict)
    tick: int = 0
    now: Micros = 0
    first: Micros | None = None
    fingerprint: str | None = None

    def take(self, token: "Token") -> None:
        from vcd.reader import TokenKind as Kind

        match token.kind:
            case Kind.COMMENT | Kind.TIMESCALE | Kind.SCOPE | Kind.UPSCOPE | Kind.VAR:
                self._declares(token)
            case Kind.CHANGE_TIME:
                self._goes_on(token)
            case Kind.CHANGE_SCALAR:
                self._changes(*token.scalar_change, token)
            case Kind.CHANGE_VECTOR:
                self._changes(*token.vector_change, token)
            case Kind.CHANGE_STRING:
                self._changes(*token.string_change, token)
            case Kind.CHANGE_REAL:
                self._changes(*token.real_change, token)
            case _:
                pass

    def recording(self) -> Recording:
        if not self.names:
            raise CaptureError("no wire is declared in this waveform file")
        channels = tuple(
            Channel(name, tuple(self.told[code]))
            for code, names in self.names.items()
            for name in names
        )
        return Recording(channels, self.first or 0, self.now, self.fingerprint)

    def _declares(self, token: "Token") -> None:
        from vcd.reader import TokenKind as Kind

        line = token.span.start.line
        match token.kind:
            case Kind.COMMENT:
                found = FINGERPRINT.search(token.comment)
                self.fingerprint = found[0] if found else self.fingerprint
            case Kind.TIMESCALE:
                scale = token.timescale
                self.tick = int(scale.magnitude) * PICOSECONDS[scale.unit.value]
                if not self.tick:
                    raise CaptureError("femtoseconds are too fine", line)
            case Kind.SCOPE:
                self.scope.append(token.scope.ident)
            case Kind.UPSCOPE if not self.scope:
                raise CaptureError("more scopes end than have begun", line)
            case Kind.UPSCOPE:
                self.scope.pop()
            case _:
                path = ".".join((*self.scope, token.var.ref_str))
                self.names.setdefault(token.var.id_code, []).append(path)
                self.told.setdefault(token.var.id_code, [])

    def _goes_on(self, token: "Token") -> None:
        line = token.span.start.line
        if not self.tick:
            raise CaptureError("the file does not say its `$timescale` before this time", line)
        now = token.time_change * self.tick // MICROSECOND
        if now < self.now:
            raise CaptureError("time goes back here", line)
        self.now = now
        self.first = now if self.first is None else self.first

    def _changes(self, code: str, value: object, token: "Token") -> None:
        line = token.span.start.line
        if code not in self.told:
            raise CaptureError(f"`{code}` stands for no wire that was declared", line)
        self.told[code].append(Told(self.now, str(value).lower(), line))
