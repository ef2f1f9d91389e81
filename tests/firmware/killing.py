"""Runs mutants of a prop's C in the lockstep until they first do what the definition does not.

What the definition leaves after each call is written down once; a mutant is a process that is
stopped at its first other answer. The walks at random are most of what is asked and tell few
mutants from the right program, so a few upsets of memory are asked before them.
"""

import os
import subprocess
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from behaviour.model import Model
from codegen.conform.build import ProgramError, write_project
from codegen.conform.lockstep import Numbers
from codegen.conform.runs import Runs
from codegen.conform.upsets import Upset, first_upset_mismatch, upsets_of
from tests.firmware.compilers import run
from tests.firmware.mutants import TURN, Mutant, mutants_of, program_text

DETERMINED = ("-w", "-O0", "-ftrivial-auto-var-init=pattern")
"""What a mutant forgets to set is the same in every run."""
MOST_SECONDS = 60
CHUNK = 1 << 16
FEW = 10


@dataclass(frozen=True, slots=True)
class Trial:
    """A prop's mutants in one program, and what they are asked.

    The first `aimed` bytes of `answers` are to the runs that are aimed at something.
    """

    model: Model
    program: Path
    mutants: list[Mutant]
    asked: Path
    answers: bytes
    aimed: int
    upsets: tuple[Upset, ...]

    @property
    def names(self) -> list[str]:
        return [mutant.name for mutant in self.mutants]

    def survivors(self, among: Collection[str]) -> set[str]:
        """Name the mutants that nothing tells from the right program."""
        turns = [(turn, name) for turn, name in enumerate(self.names, 1) if name in among]
        return {name for turn, name in turns if self.is_alike(turn)}

    def is_alike(self, turn: int) -> bool:
        """Tell whether a mutant, or the right program as 0, answers all as the definition does."""
        return (
            self._answers_alike(turn, self.aimed)
            and self._rests_alike(turn, self.upsets[:FEW])
            and self._answers_alike(turn, len(self.answers))
            and self._rests_alike(turn, self.upsets)
        )

    def _answers_alike(self, turn: int, length: int) -> bool:
        """Compare so many bytes of the answers at least; at the end also how the program ends."""
        with (
            self.asked.open("rb") as asked,
            subprocess.Popen(
                [str(self.program)], stdin=asked, stdout=subprocess.PIPE, env={TURN: str(turn)}
            ) as process,
        ):
            assert process.stdout is not None
            done = 0
            while chunk := os.read(process.stdout.fileno(), CHUNK):
                if chunk != self.answers[done : done + len(chunk)]:
                    process.kill()
                    return False
                done += len(chunk)
                if length <= done < len(self.answers):
                    process.kill()
                    return True
            return process.wait(MOST_SECONDS) == 0 and done == len(self.answers)

    def _rests_alike(self, turn: int, upsets: tuple[Upset, ...]) -> bool:
        try:
            mutant = Turned(self.program, turn)
            return first_upset_mismatch(self.model, mutant, upsets) is None
        except ProgramError:
            return False


@dataclass(frozen=True, slots=True)
class Turned:
    """The program with one mutant chosen, as the lockstep plays programs."""

    path: Path
    turn: int

    def play(self, lines: Sequence[str]) -> list[tuple[int, ...]]:
        done = subprocess.run(
            [str(self.path)],
            input="\n".join(lines) + "\n",
            capture_output=True,
            text=True,
            check=False,
            timeout=MOST_SECONDS,
            env={TURN: str(self.turn)},
        )
        if done.returncode != 0:
            raise ProgramError(f"the mutant ended with {done.returncode}")
        return [tuple(map(int, line.split())) for line in done.stdout.splitlines()]


@contextmanager
def trial_of(model: Model, name: str, runs: Runs) -> Iterator[Trial]:
    """Build all mutants of a model into one program, beside what the lockstep's runs ask it."""
    with TemporaryDirectory(prefix="tablework-") as place:
        folder = write_project(model, f"{name}.yaml", Path(place))
        prefix = folder.name
        source, header = (
            (folder / f"{prefix}.{ending}").read_text(encoding="utf-8") for ending in "ch"
        )
        mutants = mutants_of(source, header)
        (folder / f"{prefix}.c").write_text(program_text(source, mutants), encoding="utf-8")
        yours = {"main.c", f"{prefix}_board.c"}
        sources = sorted(path.name for path in folder.glob("*.c") if path.name not in yours)
        built = run(["gcc", *DETERMINED, *sources, "-o", "mutants"], folder)
        assert built.returncode == 0, built.stderr
        numbers = Numbers(model)
        calls = [call for timeline in runs.timelines for call in timeline.calls]
        asked = folder / "asked"
        asked.write_text("".join(f"{numbers.line(call)}\n" for call in calls), encoding="ascii")
        answers = [" ".join(map(str, numbers.left(call))) + "\n" for call in calls]
        walked = sum(len(timeline.calls) for timeline in runs.families[-1].timelines)
        yield Trial(
            model=model,
            program=folder / "mutants",
            mutants=mutants,
            asked=asked,
            answers="".join(answers).encode(),
            aimed=sum(map(len, answers[: len(calls) - walked])),
            upsets=upsets_of(model, runs.families[0].timelines),
        )
