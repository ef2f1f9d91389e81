"""An Arduino folder built for an AVR with the real core, as the Arduino programs build it.

The core's sources and the options are those of Debian's arduino-core-avr 1.8 (its platform.txt and
boards.txt, which gives the sizes too).
"""

import atexit
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from codegen.conform.build import PATIENCE_SECONDS, CannotBuildError

AVR = Path("/usr/share/arduino/hardware/arduino/avr")
CORE = AVR / "cores" / "arduino"


@dataclass(frozen=True, slots=True)
class Target:
    """An AVR board: its chip, its name to the core, and what a program has of it in bytes."""

    mcu: str
    name: str
    variant: str
    flash: int
    ram: int

    @property
    def chip(self) -> tuple[str, ...]:
        return (f"-mmcu={self.mcu}", "-DF_CPU=16000000L")

    @property
    def options(self) -> tuple[str, ...]:
        named = ("-DARDUINO=10819", f"-DARDUINO_AVR_{self.name}", "-DARDUINO_ARCH_AVR")
        return (*self.chip, *named, *(f"-I{folder}" for folder in self.headers))

    @property
    def headers(self) -> tuple[Path, Path]:
        return (CORE, AVR / "variants" / self.variant)


TARGETS = {
    "uno": Target("atmega328p", "UNO", "standard", 32_256, 2048),
    "nano": Target("atmega328p", "NANO", "eightanaloginputs", 30_720, 2048),
    "mega": Target("atmega2560", "MEGA2560", "mega", 253_952, 8192),
}

_SMALL = ("-Os", "-ffunction-sections", "-fdata-sections")
_C = ("-std=gnu11",)
_CPP = (
    *("-std=gnu++11", "-fpermissive", "-fno-exceptions", "-fno-threadsafe-statics"),
    "-DDECIMAL_DIG=__DECIMAL_DIG__",  # WString.cpp asks for it
)
_WARNINGS = ("-Wall", "-Wextra", "-Werror")


@dataclass(frozen=True, slots=True)
class Size:
    """What a program takes of its chip, in bytes."""

    flash: int
    ram: int


def build_for_uno(folder: Path, into: Path, *, whole: bool = True) -> Path:
    """Build an Arduino folder for a Uno; see `build_for`."""
    return build_for("uno", folder, into, whole=whole)


def build_for(controller: str, folder: Path, into: Path, *, whole: bool = True) -> Path:
    """Build an Arduino folder and give the program.

    With `whole` it is optimised as one, as the Arduino programs do; without, every call between
    files stays a call, so that it can be watched. Raises CannotBuildError where that fails.
    """
    refuse_without_tools()
    target = TARGETS[controller]
    into.mkdir(exist_ok=True)
    options = (*target.options, *_SMALL, *(("-flto", "-fno-fat-lto-objects") if whole else ()))
    yours = [_compiled(path, into, options, _WARNINGS) for path in _sources(folder)]
    library, program = _core(options), into / f"{folder.name}.elf"
    linking = (*target.chip, *_SMALL, "-Wl,--gc-sections")
    linking = (*linking, *(("-flto", "-fuse-linker-plugin") if whole else ()))
    _run(["avr-gcc", *linking, *map(str, yours), str(library), "-lm", "-o", str(program)])
    return program


@cache
def _core(options: tuple[str, ...]) -> Path:
    """Build the core, once for each process, in a folder that goes when it ends."""
    folder = TemporaryDirectory(prefix="tablework-")
    atexit.register(folder.cleanup)
    into = Path(folder.name)
    made = [_compiled(path, into, options, ("-w",)) for path in _sources(CORE)]
    _run(["avr-gcc-ar", "rcs", str(into / "core.a"), *map(str, made)])
    return into / "core.a"


def refuse_without_tools() -> None:
    """Raise CannotBuildError where nothing can be built for an AVR."""
    if shutil.which("avr-gcc") is None or not CORE.is_dir():
        raise CannotBuildError(
            "nothing can be built for an AVR here: install `gcc-avr`, `avr-libc` and "
            "`arduino-core-avr`"
        )


@dataclass(frozen=True, slots=True)
class Sizes:
    """What firmware takes: all of it, and its behaviour without core, board and trace."""

    whole: Size
    behaviour: Size


def sizes_for(controller: str, folder: Path) -> Sizes:
    """Build an Arduino folder in a place of its own, and give what it takes.

    Raises CannotBuildError where that fails.
    """
    with TemporaryDirectory(prefix="tablework-") as name:
        into = Path(name)
        whole = size_of(build_for(controller, folder, into / "whole"))
        options = (*TARGETS[controller].options, *_SMALL, f"-I{folder}")
        instance = into / "instance.c"
        instance.write_text(
            f'#include "{folder.name}.h"\nstruct {folder.name} instance = {{ 0 }};\n',
            encoding="utf-8",
        )
        steps = sorted(folder.glob(f"{folder.name}_*_steps.c"))
        files = [folder / f"{folder.name}.c", *steps, instance]
        made = [_compiled(path, into, options, ("-w",)) for path in files]
        return Sizes(whole, size_of(*made))


def size_of(*programs: Path) -> Size:
    """Give what a program, or pieces of one, take."""
    flash = ram = 0
    for line in _run(["avr-size", *map(str, programs)]).splitlines()[1:]:
        text, data, bss = map(int, line.split()[:3])
        flash, ram = flash + text + data, ram + data + bss
    return Size(flash, ram)


def addresses(program: Path) -> dict[str, int]:
    """Map the functions of a program to where they begin."""
    fields = (line.split() for line in _run(["avr-nm", str(program)]).splitlines())
    return {each[2]: int(each[0], 16) for each in fields if len(each) == 3 and each[1] in "tT"}  # noqa: PLR2004


def _sources(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if path.suffix in {".c", ".cpp", ".S", ".ino"})


def _compiled(path: Path, into: Path, options: Sequence[str], warnings: Sequence[str]) -> Path:
    made = into / f"{path.name}.o"
    match path.suffix:
        case ".c":
            how = ["avr-gcc", *_C]
        case ".S":
            how = ["avr-gcc", "-x", "assembler-with-cpp"]
        case ".ino":
            how = ["avr-g++", *_CPP, "-x", "c++", "-include", "Arduino.h"]
        case _:
            how = ["avr-g++", *_CPP]
    _run([*how, *options, *warnings, "-c", str(path), "-o", str(made)])
    return made


def _run(command: Sequence[str]) -> str:
    done = subprocess.run(  # noqa: S603
        command, capture_output=True, text=True, check=False, timeout=PATIENCE_SECONDS
    )
    if done.returncode != 0:
        raise CannotBuildError(f"`{command[0]}` refuses the firmware: {done.stderr[:2000]}")
    return done.stdout
