"""Names that mean something to C, C++ or an Arduino core never become code that does not build."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from codegen.conform.arduino import AVR, CORE
from codegen.emit import emit, firmware_name
from codegen.keep import write_files
from codegen.names import KEYWORDS, can_begin_names
from codegen.refusals import CannotEmitError
from tests.firmware.compilers import COMPILERS, complaints, run
from tests.firmware.props import NESTED
from tests.firmware.test_texts import NASTY
from tests.making import (
    add,
    becomes,
    button,
    count,
    counter,
    input_,
    inside,
    output,
    prop,
    region,
    state,
    way,
)

MEANT = """
F PI B0 B1 HIGH LOW A0 EULER DEC HEX PORTB PB0 SP SREG INPUT OUTPUT TWO_PI DEFAULT min max abs round
bit byte word boolean setup loop main Serial random delay millis interrupts noInterrupts linux unix
errno EOF NULL TRUE FALSE PROGMEM pgm_read_byte ISR cli sei uint8_t size_t String Print Stream
""".split()  # noqa: SIM905 (words read better so)
"""Macros, functions and types of the C library, of avr-libc and of Arduino's core."""

MEANINGFUL = prop(
    region(
        "PI",
        *(
            state(name, leave=[way(after, becomes("F", "pressed"), after=20)], sets={"min": "bit"})
            for name, after in zip(MEANT, [*MEANT[1:], MEANT[0]], strict=True)
        ),
    ),
    region(
        "linux",
        state("EOF", leave=[way("NULL", inside("PI", "B0"))]),
        state("NULL", leave=[way("EOF", count("HIGH", ">", 1), do=[add("HIGH")])]),
    ),
    inputs=[
        button("F", steady=20),
        input_("B0", "LOW", "PI", "word", steady=10),
        input_("DEC", "HEX", "OCT"),
    ],
    outputs=[output("min", "max", "bit", "round"), output("Serial", "A0", "TRUE", "FALSE")],
    counters=[counter("HIGH", 0, 3)],
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    directory = tmp_path_factory.mktemp("meant")
    write_files(directory, emit(MEANINGFUL, "meant.yaml", "host"))
    return directory / "meant"


@pytest.mark.parametrize("compiler", COMPILERS)
def test_names_with_a_meaning_compile_by_every_compiler(compiler: str, folder: Path) -> None:
    assert complaints(compiler, folder) == ""


@pytest.mark.parametrize(
    "compiler", [("avr-gcc", "-std=gnu11"), ("avr-g++", "-x", "c++", "-std=gnu++11")]
)
def test_names_with_a_meaning_compile_beside_the_real_core(
    compiler: tuple[str, ...], folder: Path
) -> None:
    core = (
        *("-mmcu=atmega328p", "-DF_CPU=16000000L", "-DARDUINO=10819", "-DARDUINO_ARCH_AVR"),
        *(f"-I{CORE}", f"-I{AVR / 'variants' / 'standard'}", "-include", "Arduino.h"),
    )
    sources = ("meant.c", "meant_trace.c")
    done = run([*compiler, *core, "-Wall", "-Werror", "-Os", "-c", *sources], folder)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize(
    "name",
    ["PI", "B0", "HIGH", "PORTB", "word", "byte", "String", "Arduino", "arduino", "Servo", "stdio",
     "math", "time", "new", "class", "int", "while", "2nd", "a-b", "a b", "", "tür", "a*/b", "A"],
)  # fmt: skip
def test_what_files_and_names_cannot_begin_with_is_refused_in_words(name: str) -> None:
    model = replace(NESTED, firmware_name=name) if name else NESTED
    file = f"{name}.yaml"
    if not name:
        assert firmware_name(model, file) == "yaml"
        return
    with pytest.raises(CannotEmitError, match="cannot begin names in C: `firmware_name` gives"):
        emit(model, file, "host")


@settings(max_examples=200)
@given(st.one_of(NASTY, st.text(max_size=20), st.sampled_from(sorted(KEYWORDS))))
def test_a_file_of_any_name_is_emitted_into_one_folder_or_refused(name: str) -> None:
    prefix = firmware_name(NESTED, f"{name}.yaml")
    if not can_begin_names(prefix):
        with pytest.raises(CannotEmitError, match="cannot begin names in C"):
            emit(NESTED, f"{name}.yaml", "host")
        return
    files = emit(NESTED, f"{name}.yaml", "host")
    for file in files:
        assert re.fullmatch(r"([A-Za-z]\w*)/(\1\w*\.(c|h|md)|main\.c)", file.path, re.ASCII)
