"""An AVR that is simulated: a program loaded, run up to a call, its pins driven and read.

simavr does the work, reached by a small binding that is compiled once for each process. Three
things of it must be known. A line that is raised is put back by the next write to its port, so
what drives a pin from outside is told twice; a chip that sleeps would wait for real; and its
serial line would print by itself.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from codegen.conform.build import CannotBuildError

HERTZ = 16_000_000
MCU = "atmega328p"
FULL_MILLIVOLTS = 5000

TIME_IS_UP = -1
CRASHED = -2

_CALLS = """
typedef struct chip chip;
chip *chip_begin(const char *path, const char *mcu, uint32_t hertz);
void chip_end(chip *);
void chip_hook(chip *, uint32_t address, int is_on);
int64_t chip_run(chip *, uint64_t until);
uint64_t chip_cycle(chip *);
void chip_lead(chip *, int port, int bit, int level);
void chip_volts(chip *, int channel, uint32_t millivolts);
int chip_port(chip *, int port, int what);
uint8_t chip_byte(chip *, uint32_t address);
uint32_t chip_said(chip *, char *into, uint32_t room);
"""

_SOURCE = r"""
#include <stdlib.h>
#include <string.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/avr_adc.h>

#define ADDRESSES 0x10000u
#define MOST_SAID 0x100000u
#define PORTS 4

typedef struct chip {
    avr_t *avr;
    uint8_t hooked[ADDRESSES];
    uint8_t driven[PORTS], levels[PORTS];
    char said[MOST_SAID];
    uint32_t length;
} chip;

static void quiet(avr_t *avr, const int level, const char *format, va_list words) {
    (void)avr; (void)level; (void)format; (void)words;
}

static void sleep_not(avr_t *avr, avr_cycle_count_t cycles) { (void)avr; (void)cycles; }

static void hear(struct avr_irq_t *irq, uint32_t value, void *param) {
    chip *it = param;
    (void)irq;
    if (it->length < MOST_SAID) it->said[it->length++] = (char)value;
}

static chip *chip_begin(const char *path, const char *mcu, uint32_t hertz) {
    elf_firmware_t firmware;
    uint32_t flags = 0;
    chip *it = calloc(1, sizeof *it);

    avr_global_logger_set(quiet);
    memset(&firmware, 0, sizeof firmware);
    if (it == NULL || elf_read_firmware(path, &firmware) != 0) { free(it); return NULL; }
    strcpy(firmware.mmcu, mcu);
    firmware.frequency = hertz;
    firmware.vcc = firmware.avcc = firmware.aref = 5000;
    it->avr = avr_make_mcu_by_name(mcu);
    if (it->avr == NULL) { free(it); return NULL; }
    avr_init(it->avr);
    it->avr->log = LOG_NONE;
    avr_load_firmware(it->avr, &firmware);
    it->avr->sleep = sleep_not;
    avr_ioctl(it->avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(it->avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(
        avr_io_getirq(it->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), hear, it);
    return it;
}

static void chip_end(chip *it) { avr_terminate(it->avr); free(it->avr); free(it); }

static void chip_hook(chip *it, uint32_t address, int is_on) {
    it->hooked[address % ADDRESSES] = (uint8_t)is_on;
}

static int64_t chip_run(chip *it, uint64_t until) {
    avr_t *avr = it->avr;
    while (avr->cycle < until) {
        const int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) return -2;
        if (it->hooked[avr->pc % ADDRESSES]) return (int64_t)avr->pc;
    }
    return -1;
}

static uint64_t chip_cycle(chip *it) { return it->avr->cycle; }

static void chip_lead(chip *it, int port, int bit, int level) {
    avr_ioport_external_t outside;
    const int at = port - 'A';
    it->driven[at] |= (uint8_t)(1u << bit);
    it->levels[at] = (uint8_t)((it->levels[at] & ~(1u << bit)) | ((unsigned)level << bit));
    outside.name = (unsigned)port & 0x7fu;
    outside.mask = it->driven[at];
    outside.value = it->levels[at];
    avr_ioctl(it->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &outside);
    avr_raise_irq(avr_io_getirq(it->avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), (uint32_t)level);
}

static void chip_volts(chip *it, int channel, uint32_t millivolts) {
    avr_raise_irq(
        avr_io_getirq(it->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + channel), millivolts);
}

static int chip_port(chip *it, int port, int what) {
    avr_ioport_state_t state;
    if (avr_ioctl(it->avr, AVR_IOCTL_IOPORT_GETSTATE(port), &state) != 0) return -1;
    return what == 0 ? (int)state.ddr : (int)state.port;
}

static uint8_t chip_byte(chip *it, uint32_t address) {
    return address <= it->avr->ramend ? it->avr->data[address] : 0;
}

static uint32_t chip_said(chip *it, char *into, uint32_t room) {
    const uint32_t length = it->length < room ? it->length : room;
    memcpy(into, it->said, length);
    memmove(it->said, it->said + length, it->length - length);
    it->length -= length;
    return length;
}
"""

_STACK = 0x5D
"""Where the stack pointer lies among the data of an AVR."""


@cache
def _library() -> Any:
    try:
        from cffi import FFI
    except ImportError as problem:
        raise CannotBuildError("the simulated chip needs Python's `cffi`") from problem
    builder = FFI()
    builder.cdef(_CALLS)
    builder.set_source("tablework_chip", _SOURCE, libraries=["simavr", "elf"])
    with TemporaryDirectory(prefix="tablework-") as name:
        try:
            with _silence():
                path = Path(builder.compile(tmpdir=name))
        except Exception as problem:
            raise CannotBuildError(
                "the simulated chip cannot be built: install `gcc`, `libsimavr-dev` and "
                "`libelf-dev`, and Python's own headers"
            ) from problem
        spec = spec_from_file_location("tablework_chip", path)
        assert spec is not None  # noqa: S101
        assert spec.loader is not None  # noqa: S101
        module = module_from_spec(spec)
        spec.loader.exec_module(module)
        return module


@contextmanager
def _silence() -> Iterator[None]:
    """Keep what a compiler says off the terminal."""
    kept = [os.dup(1), os.dup(2)]
    try:
        with Path(os.devnull).open("w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            os.dup2(nowhere.fileno(), 2)
        yield
    finally:
        for number, copy in zip((1, 2), kept, strict=True):
            os.dup2(copy, number)
            os.close(copy)


@contextmanager
def powered(program: Path) -> Iterator["Chip"]:
    """Give a chip that has just been switched on, with a program in it."""
    library = _library()
    made = library.lib.chip_begin(str(program).encode(), MCU.encode(), HERTZ)
    if made == library.ffi.NULL:
        raise CannotBuildError(f"`{program.name}` cannot be loaded into a simulated `{MCU}`")
    try:
        yield Chip(library, made)
    finally:
        library.lib.chip_end(made)


class ChipCrashedError(Exception):
    """The program ran into nothing."""


class Chip:
    """A chip with a program. Ports are `B`, `C` and `D`; times are cycles since power-up."""

    def __init__(self, library: Any, made: Any) -> None:
        self._ffi, self._lib, self._it = library.ffi, library.lib, made

    @property
    def cycle(self) -> int:
        return int(self._lib.chip_cycle(self._it))

    def hook(self, address: int) -> None:
        """Let `run` stop where the program comes to an address."""
        self._lib.chip_hook(self._it, address, 1)

    def run(self, cycles: int) -> int | None:
        """Run for so many cycles at most; give the hooked address that was come to, if one was."""
        stopped = int(self._lib.chip_run(self._it, self.cycle + cycles))
        if stopped == CRASHED:
            raise ChipCrashedError(f"the program ran into nothing after {self.cycle} cycles")
        return None if stopped == TIME_IS_UP else stopped

    def lead(self, port: str, bit: int, *, high: bool) -> None:
        """Drive a pin from outside, until it is driven otherwise."""
        self._lib.chip_lead(self._it, ord(port), bit, int(high))

    def volts(self, channel: int, millivolts: int) -> None:
        """Give an analogue pin a voltage, likewise."""
        self._lib.chip_volts(self._it, channel, millivolts)

    def driven(self, port: str, bit: int) -> bool | None:
        """Tell whether the program drives a pin high; None if it does not drive it."""
        if not int(self._lib.chip_port(self._it, ord(port), 0)) >> bit & 1:
            return None
        return bool(int(self._lib.chip_port(self._it, ord(port), 1)) >> bit & 1)

    def number(self, register: int) -> int:
        """Give the four bytes of which the lowest stands in a register."""
        return sum(self._byte(register + at) << 8 * at for at in range(4))

    def comes_back_to(self) -> int:
        """Give the address to which the call that has just begun comes back."""
        stack = self._byte(_STACK) | self._byte(_STACK + 1) << 8
        return 2 * (self._byte(stack + 1) << 8 | self._byte(stack + 2))

    def said(self) -> str:
        """Take what was sent over the serial line since the last time."""
        room = 1 << 20
        into = self._ffi.new("char[]", room)
        length = int(self._lib.chip_said(self._it, into, room))
        return bytes(self._ffi.buffer(into, length)).decode("ascii", "replace")

    def _byte(self, address: int) -> int:
        return int(self._lib.chip_byte(self._it, address))
