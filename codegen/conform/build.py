"""Builds a prop's emitted C with the lockstep board into a program of this computer."""

import re
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from behaviour.model import Model
from codegen.conform.harness import harness
from codegen.emit import emit, firmware_name
from codegen.keep import write_files
from codegen.lower import lower

WARNINGS = (
    "-std=c99",
    "-Wall",
    "-Wextra",
    "-Wpedantic",
    "-Wconversion",
    "-Wshadow",
    "-Wswitch-enum",
    "-Werror",
)
SANITIZERS = ("-fsanitize=undefined,address", "-fno-sanitize-recover=all", "-g")
NO_SANITIZERS = re.compile(r"cannot find \S*san|unrecognized \S*sanitize|unsupported \S*sanitize")
"""How compilers and linkers say that they lack them."""
PATIENCE_SECONDS = 600


class CannotBuildError(Exception):
    """There is no compiler, or it refuses; the message says which and why."""


class ProgramError(Exception):
    """The built program stopped by itself: a sanitizer, a crash, or answers that are missing."""


@dataclass(frozen=True, slots=True)
class Program:
    """The built program, as the command that runs it."""

    command: tuple[str, ...]

    def play(self, lines: Sequence[str]) -> list[tuple[int, ...]]:
        """Hand lines to the board and give its answers, one for each line that has one."""
        try:
            done = subprocess.run(  # noqa: S603
                self.command,
                input="\n".join(lines) + "\n",
                capture_output=True,
                text=True,
                check=False,
                timeout=PATIENCE_SECONDS,
            )
        except subprocess.TimeoutExpired as problem:
            raise ProgramError(f"the program ran for {PATIENCE_SECONDS} s") from problem
        if done.returncode != 0 or done.stderr:
            raise ProgramError(f"the program ended with {done.returncode}: {done.stderr[:2000]}")
        return [tuple(map(int, line.split())) for line in done.stdout.splitlines()]


@contextmanager
def built(
    model: Model, source_name: str, *, compiler: str = "gcc", sanitize: bool = False
) -> Iterator[Program]:
    """Emit and build a model in a folder of its own, which goes when the block ends."""
    with TemporaryDirectory(prefix="tablework-") as name:
        folder = write_project(model, source_name, Path(name))
        yield build(folder, compiler=compiler, sanitize=sanitize)


def write_project(model: Model, source_name: str, directory: Path) -> Path:
    """Write the emitted files and the lockstep board into a folder under `directory`; give it."""
    prefix = firmware_name(model, source_name)
    write_files(directory, emit(model, source_name, "host"))
    folder = directory / prefix
    module = lower(model, source_name, prefix)
    (folder / "lockstep_board.c").write_text(harness(module), encoding="utf-8")
    return folder


def build(folder: Path, *, compiler: str = "gcc", sanitize: bool = False) -> Program:
    """Build the project of a folder. Raises CannotBuildError where that fails."""
    if shutil.which(compiler) is None:
        raise CannotBuildError(f"there is no C compiler `{compiler}` here: install one to compare")
    program = folder / "lockstep"
    yours = {"main.c", f"{folder.name}_board.c"}
    sources = sorted(path.name for path in folder.glob("*.c") if path.name not in yours)
    options = (*WARNINGS, "-O1", *(SANITIZERS if sanitize else ()))
    try:
        done = subprocess.run(  # noqa: S603
            [compiler, *options, *sources, "-o", program.name],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
            timeout=PATIENCE_SECONDS,
        )
    except subprocess.TimeoutExpired as problem:
        raise CannotBuildError(f"`{compiler}` took over {PATIENCE_SECONDS} s") from problem
    if done.returncode != 0 and sanitize and NO_SANITIZERS.search(done.stderr):
        raise CannotBuildError(
            f"`{compiler}` has no sanitizers here: `--no-sanitizers` goes without"
        )
    if done.returncode != 0:
        raise CannotBuildError(f"`{compiler}` refuses the firmware: {done.stderr[:2000]}")
    return Program((str(program),))
