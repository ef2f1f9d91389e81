"""An Arduino folder built for a Uno with the real core, as the Arduino programs build it.

The core's sources and the options are those of Debian's arduino-core-avr 1.8 (its platform.txt).
"""

import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from codegen.conform.build import PATIENCE_SECONDS, CannotBuildError

AVR = Path("/usr/share/arduino/hardware/arduino/avr")

_CHIP = ("-mmcu=atmega328p", "-DF_CPU=16000000L")
_BOARD = ("-DARDUINO=10819", "-DARDUINO_AVR_UNO", "-DARDUINO_ARCH_AVR")
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
    """Build an Arduino folder and give the program.

    With `whole` it is optimised as one, as the Arduino programs do; without, every call between
    files stays a call, so that it can be watched. Raises CannotBuildError where that fails.
    """
    core = AVR / "cores" / "arduino"
    if shutil.which("avr-gcc") is None or not core.is_dir():
        raise CannotBuildError(
            "nothing can be built for a Uno here: install `gcc-avr`, `avr-libc` and "
            "`arduino-core-avr`"
        )
    into.mkdir(exist_ok=True)
    options = (*_CHIP, *_BOARD, *_SMALL, f"-I{core}", f"-I{AVR / 'variants' / 'standard'}")
    options = (*options, *(("-flto", "-fno-fat-lto-objects") if whole else ()))
    made = [_compiled(path, into, options, ("-w",)) for path in _sources(core)]
    yours = [_compiled(path, into, options, _WARNINGS) for path in _sources(folder)]
    library, program = into / "core.a", into / f"{folder.name}.elf"
    _run(["avr-gcc-ar", "rcs", str(library), *map(str, made)])
    linking = (*_CHIP, *_SMALL, "-Wl,--gc-sections")
    linking = (*linking, *(("-flto", "-fuse-linker-plugin") if whole else ()))
    _run(["avr-gcc", *linking, *map(str, yours), str(library), "-lm", "-o", str(program)])
    return program


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
