"""The compilers that the emitted C must please, each with firmware.md's flags and a few more."""

import subprocess
from pathlib import Path

WARNINGS = (
    "-Wall",
    "-Wextra",
    "-Wpedantic",
    "-Wconversion",
    "-Wsign-conversion",
    "-Wshadow",
    "-Wswitch-enum",
    "-Wundef",
    "-Werror",
)
C99 = ("-std=c99", *WARNINGS, "-Wstrict-prototypes", "-Wmissing-prototypes")

COMPILERS: dict[str, tuple[str, ...]] = {
    "gcc": ("gcc", *C99, "-O2"),
    "clang": ("clang", *C99, "-O1"),
    "avr-gcc": ("avr-gcc", "-mmcu=atmega328p", *C99, "-Os"),
    "arm-none-eabi-gcc": ("arm-none-eabi-gcc", "-mcpu=cortex-m0plus", "-mthumb", *C99, "-Os"),
    "g++": ("g++", "-x", "c++", "-std=c++11", *WARNINGS, "-O1"),
}


def complaints(compiler: str, folder: Path, *more: str) -> str:
    """Compile every C file of a folder and give what the compiler says; nothing is good."""
    sources = sorted(path.name for path in folder.glob("*.c"))
    assert sources
    done = run([*COMPILERS[compiler], *more, "-c", *sources], folder)
    return done.stderr + ("" if done.returncode == 0 else f"ended with {done.returncode}")


def run(command: list[str], folder: Path, given: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command, cwd=folder, input=given, capture_output=True, text=True, check=False, timeout=600
    )
