"""Compares the whole firmware for a Uno with the definition, on a simulated one."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from behaviour.model import Model
from codegen.conform.arduino import Size, build_for_uno, size_of
from codegen.conform.lockstep import Mismatch
from codegen.conform.on_chip import play
from codegen.conform.simulator import HERTZ
from codegen.conform.terminals import not_looked_at, refuse_what_cannot_be_led
from codegen.conform.timeline import Timeline
from codegen.emit import emit, firmware_name
from codegen.keep import write_files
from codegen.lower import lower


@dataclass(frozen=True, slots=True, kw_only=True)
class UnoReport:
    """How it went: `runs` of all `offered`, until the time for them was used up.

    `not_looked_at` are outputs of which only the trace was compared.
    """

    runs: int
    offered: int
    loops: int
    simulated_ms: int
    longest_step: int
    size: Size
    not_looked_at: tuple[str, ...]
    mismatch: Mismatch | None

    @property
    def longest_microseconds(self) -> float:
        return self.longest_step * 1_000_000 / HERTZ


def match_on_uno(
    model: Model, source_name: str, timelines: Iterable[Timeline], simulated_ms: int
) -> UnoReport:
    """Emit for a Uno, build with the real core, and run until so much time went by on the chip.

    Raises CannotBuildError, CannotEmitError, UnknownControllerError, ProgramError.
    """
    refuse_what_cannot_be_led(model)
    with TemporaryDirectory(prefix="tablework-") as name:
        write_files(Path(name), emit(model, source_name, "uno"))
        folder = Path(name) / firmware_name(model, source_name)
        return match_folder(model, source_name, folder, timelines, simulated_ms)


def match_folder(
    model: Model,
    source_name: str,
    folder: Path,
    timelines: Iterable[Timeline],
    simulated_ms: int,
) -> UnoReport:
    """Do the same with an Arduino folder that is there already."""
    module = lower(model, source_name, firmware_name(model, source_name))
    offered, runs, loops, done_ms, longest = tuple(timelines), 0, 0, 0, 0
    mismatch = None
    with TemporaryDirectory(prefix="tablework-") as name:
        size = size_of(build_for_uno(folder, Path(name) / "whole"))
        program = build_for_uno(folder, Path(name) / "calls", whole=False)
        for timeline in offered:
            if done_ms >= simulated_ms or mismatch is not None:
                break
            played = play(model, module, program, timeline)
            mismatch = played.mismatch
            runs, loops = runs + 1, loops + played.loops
            done_ms, longest = done_ms + played.simulated_ms, max(longest, played.longest_step)
    return UnoReport(
        runs=runs,
        offered=len(offered),
        loops=loops,
        simulated_ms=done_ms,
        longest_step=longest,
        size=size,
        not_looked_at=not_looked_at(model),
        mismatch=mismatch,
    )
