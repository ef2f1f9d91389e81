"""What differs between the Arduino cores where a board file meets them; it knows no model.

Sources. An ESP32's digitalWrite before pinMode, and that pinMode leaves the level: arduino-esp32 3,
cores/esp32/esp32-hal-gpio.c. A Pico's pinMode: arduino-pico, cores/rp2040/wiring_digital.cpp.
Watchdogs of both, and that a driver wants some two microseconds for a step: from memory.
"""

from dataclasses import dataclass

from behaviour.controllers import Controller, controller


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """A core. Lines are C in which `pin` and `level` (a `bool`) stand for a pin and its level.

    `pulse` is what a step waits for while it is on: drivers want some two microseconds.
    `waits_to_trace` tells whether a full serial line empties by itself, so that it may be waited
    for; `is_built_here` whether what is emitted was ever built with the core itself.
    """

    begins_output: tuple[str, ...]
    why: str
    includes: tuple[str, ...] = ()
    pulls_down: bool = True
    pulse: str = "delayMicroseconds(2u);"
    waits_to_trace: bool = True
    is_built_here: bool = False


_AVR = Core(
    why="Written while the pin still reads, so that it never has another level.",
    begins_output=("digitalWrite(pin, level ? HIGH : LOW);", "pinMode(pin, OUTPUT);"),
    pulls_down=False,
    pulse="",
    is_built_here=True,
)
_ESP32 = Core(
    why=(
        "Before pinMode this core's digitalWrite does nothing, so the chip's own call sets the "
        "level while the pin still reads."
    ),
    includes=("driver/gpio.h",),
    begins_output=(
        "(void)gpio_set_level((gpio_num_t)pin, level ? 1u : 0u);",
        "pinMode(pin, OUTPUT);",
        "digitalWrite(pin, level ? HIGH : LOW);",
    ),
)
_RP2040 = Core(
    why=(
        "This core's pinMode makes an output low first, so the chip's own calls set the level "
        "while the pin still reads."
    ),
    includes=("hardware/gpio.h",),
    begins_output=("gpio_init(pin);", "gpio_put(pin, level);", "gpio_set_dir(pin, true);"),
    waits_to_trace=False,
)
_CORES = {"avr": _AVR, "esp32": _ESP32, "rp2040": _RP2040}


def core(name: str) -> Core:
    """Give a core by the name that controllers have for it."""
    return _CORES[name]


def is_arduino(name: str) -> bool:
    """Tell whether a controller's firmware is an Arduino folder."""
    return controller(name).core in _CORES


SERVO_TIMERS = {"uno": 1, "nano": 1, "mega": 5}
"""The timer that pulses servos: its pins lose their PWM, as the controllers' data say."""


@dataclass(frozen=True, slots=True)
class WatchdogCalls:
    """How a watchdog is begun and fed, and the headers for it."""

    includes: tuple[str, ...]
    begins: tuple[str, ...]
    feeds: tuple[str, ...]
    first: tuple[str, ...] = ()
    """What comes before all else: a watchdog that fired is still on."""


def watchdog_calls(board: Controller, milliseconds: int) -> WatchdogCalls:
    """Give the calls of a controller's watchdog for a time that it has."""
    match board.core:
        case "avr":
            time = f"{milliseconds // 1000}S" if milliseconds >= 1000 else f"{milliseconds}MS"  # noqa: PLR2004
            return WatchdogCalls(
                includes=("avr/wdt.h",),
                first=("MCUSR = 0u;", "wdt_disable();"),
                begins=(f"wdt_enable(WDTO_{time});",),
                feeds=("wdt_reset();",),
            )
        case "esp32":
            return WatchdogCalls(
                includes=("esp_task_wdt.h",),
                begins=(
                    "esp_task_wdt_config_t watched;",
                    "",
                    f"watched.timeout_ms = {milliseconds}u;",
                    "watched.idle_core_mask = 0u;",
                    "watched.trigger_panic = true;",
                    "(void)esp_task_wdt_reconfigure(&watched);",
                    "(void)esp_task_wdt_add(NULL);",
                ),
                feeds=("(void)esp_task_wdt_reset();",),
            )
        case _:
            return WatchdogCalls(
                includes=("hardware/watchdog.h",),
                begins=(f"watchdog_enable({milliseconds}u, true);",),
                feeds=("watchdog_update();",),
            )
